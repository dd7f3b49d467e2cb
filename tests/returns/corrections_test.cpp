// Corrections: what is refused, how they replay, and that all are added or none.
#include "swardline/returns/corrections.hpp"

#include <doctest/doctest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>

#include "returned_season.hpp"

namespace corrections_test {

using namespace swardline;

namespace {

const std::string counts =
    "plot,visit_date,species,flowering_stems,notes\nQPR7,2027-05-28,PTUB,~100,\nQPR01K,2027-05-28,PTUB,312,="
    "1+1\n"
    "QPR02N,2027-05-28,PTUB,4,\"two\nlines\"\n\n";
const std::string top = "file,row,column,old,new,who,when,why,evidence\n";

std::string refused(ReturnedSeason& at, const std::string& lines, const std::string& headings = top) {
  try {
    append_corrections(at.put("answers.csv", headings + lines), at.season.plan, day_2027_06_14 + 14);
  } catch (const InputError& error) {
    return error.what();
  }
  return {};
}

bool holds(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

}  // namespace

TEST_CASE("corrections lie over the rows; the file stays as it came") {
  ReturnedSeason at;
  at.take(counts);
  CHECK(refused(at,
                "north.csv,2,plot,QPR7,QPR07E,MB,2027-06-20,asked the team,call\n"
                "north.csv,2,flowering_stems,~100,98,MB,2027-06-20,counted on the photo,p12.jpg\n")
            .empty());
  const Returns returns = at.read();
  REQUIRE(returns.rows.size() == 3);
  CHECK(returns.rows[0].plot == 2);
  CHECK(returns.rows[0].stems == 98);
  CHECK(returns.rows[0].unread == 0);
  CHECK(returns.original(returns.rows[0].at, ReturnColumn::flowering_stems) == "~100");
  CHECK(returns.text(returns.rows[0].at, ReturnColumn::flowering_stems) == "98");
  REQUIRE(returns.corrections.size() == 2);
  CHECK(returns.corrections[0].file == returns.files[0].file);
  CHECK(returns.corrections[1].evidence == "p12.jpg");
  CHECK(read_whole(at.season.plan.returns.folder / returns.files[0].file) == counts);
}

TEST_CASE("the day of a correction is a day, and not one to come") {
  ReturnedSeason at;
  at.take(counts);
  const auto of = [&](const std::string& when) {
    return refused(at, "north.csv,2,flowering_stems,~100,98,MB," + when + ",photo,\n");
  };
  CHECK(holds(of("soon"), "answers.csv, row 2: 'soon' in when is no date. Write it like 2027-06-20."));
  CHECK(holds(of("2027-13-41"), "is no date"));
  CHECK(holds(of("2027-06-29"), "was made on 2027-06-29, which is after 2027-06-28."));
  CHECK(of("2027-06-28").empty());
}

TEST_CASE("several corrections of one cell follow each other") {
  ReturnedSeason at;
  at.take(counts);
  const std::string first = "north.csv,2,flowering_stems,~100,98,MB,2027-06-20,photo,\n";
  CHECK(refused(at, first + "north.csv,2,flowering_stems,98,97,KL,2027-06-21,photo again,\n").empty());
  CHECK(at.read().rows[0].stems == 97);
  CHECK(holds(refused(at, "north.csv,2,flowering_stems,~100,90,MB,2027-06-22,photo,\n"),
              "answers.csv, row 2: says that flowering_stems in row 2 was '~100', but it is '97' (corrected; "
              "it came as "
              "'~100')."));
  CHECK(refused(at, "north.csv,2,flowering_stems,97,~100,MB,2027-06-22,back,\n").empty());
  CHECK(at.read().rows[0].cannot_read(ReturnColumn::flowering_stems));
}

TEST_CASE("a value that is confirmed stands; a row is left out and put back") {
  ReturnedSeason at;
  at.take(counts);
  CHECK(refused(at,
                "north.csv,3,flowering_stems,312,312,MB,2027-06-20,seen by two,\n"
                "north.csv,4,row,kept,left out,MB,2027-06-20,keyed twice,\n")
            .empty());
  Returns returns = at.read();
  CHECK(returns.rows[1].stems == 312);
  CHECK(returns.corrections[0].confirms());
  CHECK(returns.rows[2].left_out);
  CHECK(holds(refused(at, "north.csv,4,row,kept,left out,KL,2027-06-20,keyed twice,\n"),
              "row 4 is kept, but it is left out"));
  CHECK(holds(refused(at, "north.csv,4,row,,gone,KL,2027-06-20,keyed twice,\n"),
              "neither \"kept\" nor \"left out\""));
  CHECK(refused(at, "north.csv,4,row,left out,kept,MB,2027-06-21,a visit of its own,\n").empty());
  CHECK_FALSE(at.read().rows[2].left_out);
}

TEST_CASE("a cell of a column that the file does not have can be filled") {
  ReturnedSeason at;
  at.take(counts);
  CHECK(refused(at, "north.csv,3,status,,mown,MB,2027-06-20,the team said so,\n").empty());
  CHECK(at.read().rows[1].fate == Fate::mown);
}

TEST_CASE("cells with signs of formulas and line breaks are compared as they are") {
  ReturnedSeason at;
  at.take(counts);
  CHECK(refused(at,
                "north.csv,3,notes,'=1+1,two,MB,2027-06-20,tidy,\nnorth.csv,4,notes,\"two\nlines\",-one,MB,"
                "2027-06-20,tidy,\n")
            .empty());
  const Returns returns = at.read();
  CHECK(returns.text({0, 3}, ReturnColumn::notes) == "two");
  CHECK(returns.text({0, 4}, ReturnColumn::notes) == "-one");
}

TEST_CASE("what is not complete or does not fit is refused, and nothing is added") {
  ReturnedSeason at;
  at.take(counts);
  const auto line = [](const std::string& file, const std::string& row, const std::string& column,
                       const std::string& old_text, const std::string& who, const std::string& why) {
    return file + ',' + row + ',' + column + ',' + old_text + ",5," + who + ",2027-06-20," + why + ",\n";
  };
  const std::string good = line("north.csv", "2", "flowering_stems", "~100", "MB", "photo");
  CHECK(refused(at, line("north.csv", "2", "flowering_stems", "~100", "MB", " ")) ==
        "answers.csv, row 2: gives no reason. Say why the value is changed, or why it stands.");
  CHECK(refused(at, good + line("north.csv", "2", "flowering_stems", "5", "", "photo")) ==
        "answers.csv, row 3: does not say who made it. Fill in who.");
  CHECK(holds(refused(at, line("nort.csv", "2", "flowering_stems", "~100", "MB", "photo")),
              "no file nort.csv was received. Is it north.csv?"));
  CHECK(
      holds(refused(at, line("north.csv", "x", "flowering_stems", "~100", "MB", "photo")), "'x' is no row"));
  CHECK(holds(refused(at, line("north.csv", "1", "flowering_stems", "~100", "MB", "photo")),
              "there is no row 1 in"));
  CHECK(holds(refused(at, line("north.csv", "9", "flowering_stems", "~100", "MB", "photo")),
              "its rows are 2 to 5"));
  CHECK(holds(refused(at, line("north.csv", "5", "flowering_stems", "", "MB", "photo")), "row 5 of"));
  CHECK(holds(refused(at, line("north.csv", "2", "flowering_stem", "~100", "MB", "photo")),
              "the form has no column flowering_stem. Is it flowering_stems?"));
  CHECK(holds(refused(at, line("north.csv", "2", "flowering_stems", "100", "MB", "photo")),
              "says that flowering_stems in row 2 was '100', but it is '~100'."));
  CHECK(holds(refused(at, good + good), "row 3: is in the season's corrections already"));
  CHECK(holds(refused(at, good + line("north.csv", "3", "flowering_stems", "1", "MB", "photo") +
                              line("north.csv", "4", "flowering_stems", "1", "MB", "photo")),
              "(1 more line is wrong)"));
  CHECK(holds(refused(at, "", top), "holds no correction"));
  CHECK(holds(refused(at, "2,flowering_stems,~100,5,MB\n", "row,column,old,new,who\n"), "has no column why"));
  CHECK_FALSE(std::filesystem::exists(corrections_file(at.season.plan)));
}

TEST_CASE("a table without file, day and evidence will do where nothing is in doubt") {
  ReturnedSeason at;
  at.take(counts);
  CHECK(refused(at, "2;Flowering stems;~100;98;MB;photo\n", "row;column;old;new;who;reason\n").empty());
  const Returns returns = at.read();
  CHECK(returns.corrections[0].when == "2027-06-28");
  CHECK(returns.corrections[0].column == "flowering_stems");
  CHECK(returns.rows[0].stems == 98);
  take_in({at.put("south.csv", counts + "QPR01K,2027-05-29,PTUB,1,\n")}, at.season.plan, day_2027_06_14,
          at.flags);
  CHECK(holds(refused(at, "2;plot;QPR7;QPR07E;MB;asked\n", "row;column;old;new;who;reason\n"),
              "does not say in which file"));
}

TEST_CASE("the list of corrections keeps every byte when it grows, and replays to the same table") {
  ReturnedSeason at;
  at.take(counts);
  const auto list = corrections_file(at.season.plan);
  CHECK(refused(at, "north.csv,2,plot,QPR7,QPR07E,MB,2027-06-20,asked,\n").empty());
  const std::string before = read_whole(list);
  CHECK(refused(at, "north.csv,2,flowering_stems,~100,98,MB,2027-06-20,photo,\n").empty());
  CHECK(read_whole(list).starts_with(before));
  const Returns once = at.read(), again = at.read(2);
  for (std::size_t i = 0; i < once.rows.size(); ++i) {
    CHECK(once.rows[i].plot == again.rows[i].plot);
    CHECK(once.rows[i].stems == again.rows[i].stems);
  }
  // Somebody took the first line out: the second still stands by itself, but a changed old value does not.
  std::string changed = read_whole(list);
  changed.replace(changed.find("~100"), 4, "~110");
  at.put("returns/corrections.csv", changed);
  CHECK_THROWS_WITH_AS((void)at.read(),
                       doctest::Contains("corrections.csv, correction 2: says that flowering_stems"),
                       InputError);
}

TEST_CASE("killed at any moment, correcting leaves the old list or the new one") {
  ReturnedSeason at;
  at.take(counts);
  const auto list = corrections_file(at.season.plan);
  std::size_t before = 0;
  for (int round = 0; round < 20; ++round) {
    const pid_t child = ::fork();
    REQUIRE(child >= 0);
    if (child == 0) {
      for (int i = 0; i < 200; ++i) {
        const std::string tag = std::to_string(round) + "-" + std::to_string(i);
        const auto file =
            at.put("answers" + tag + ".csv",
                   top + "north.csv,3,flowering_stems,312,312,MB,2027-06-20,seen " + tag + ",\n");
        append_corrections(file, at.season.plan, day_2027_06_14 + 14);
      }
      ::_exit(0);
    }
    // The first is killed once there is something to lose, however slow the machine is.
    for (int wait = 0; round == 0 && wait < 60'000 && !std::filesystem::exists(list); ++wait) ::usleep(1000);
    ::usleep(static_cast<useconds_t>(1000 + round * 900));
    ::kill(child, SIGKILL);
    int status = 0;
    ::waitpid(child, &status, 0);
    const std::size_t now = at.read().corrections.size();
    CHECK(now >= before);
    before = now;
  }
  CHECK(before > 0);
  CHECK(read_whole(list).ends_with("\n"));
}

}  // namespace corrections_test
