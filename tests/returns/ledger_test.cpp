// Files taken in: copies, their list, and what a killed run leaves.
#include "swardline/returns/ledger.hpp"

#include <doctest/doctest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>

#include "returned_season.hpp"

namespace ledger_test {

using namespace swardline;

namespace {

const std::string form = "plot,visit_date,species,flowering_stems\nQPR07E,2027-05-28,PTUB,";
const std::string north = form + "14\n", south = form + "9\n";

}  // namespace

TEST_CASE("a file is copied untouched, named by day and content, and listed") {
  ReturnedSeason at;
  const auto file = at.put("north team.csv", north);
  const TakenIn taken = take_in({file}, at.season.plan, day_2027_06_14, at.flags);
  REQUIRE(taken.taken.size() == 1);
  const ReceivedFile& one = taken.taken.front();
  CHECK(one.file == "2027-06-14-" + content_fingerprint(file).substr(0, 8) + "-north_team.csv");
  CHECK(one.original == "north team.csv");
  CHECK(one.fingerprint == content_fingerprint(file));
  CHECK(one.received == "2027-06-14");
  CHECK(one.version == 1);
  CHECK(read_whole(at.season.plan.returns.folder / one.file) == north);
  const auto ledger = read_ledger(at.season.plan);
  REQUIRE(ledger.size() == 1);
  CHECK(ledger[0].file == one.file);
  CHECK(ledger[0].original == "north team.csv");
  CHECK(at.kept().size() == 1);
}

TEST_CASE("the same content again is said and not taken, other content under the same name is") {
  ReturnedSeason at;
  take_in({at.put("north.csv", north)}, at.season.plan, day_2027_06_14, at.flags);
  const TakenIn again =
      take_in({at.put("copy of north.csv", north)}, at.season.plan, day_2027_06_14 + 1, at.flags);
  CHECK(again.taken.empty());
  REQUIRE(again.there_already.size() == 1);
  CHECK(at.said("same file twice") == 1);
  CHECK(at.meaning("same file twice") ==
        "is the same, byte for byte, as north.csv, received on 2027-06-14; it was not taken again.");
  const TakenIn other = take_in({at.put("north.csv", south)}, at.season.plan, day_2027_06_14, at.flags);
  CHECK(other.taken.size() == 1);
  const auto first = at.put("a.csv", form + "1\n"), second = at.put("b.csv", form + "1\n");
  CHECK(take_in({first, second}, at.season.plan, day_2027_06_14, at.flags).taken.size() == 1);
  CHECK(read_ledger(at.season.plan).size() == 3);
}

TEST_CASE("files after an estimate are a new version of the returns") {
  ReturnedSeason at;
  const auto version = [&](const std::string& stems, bool estimated) {
    return take_in({at.put("r.csv", form + stems + "\n")}, at.season.plan, day_2027_06_14, at.flags,
                   estimated)
        .taken.at(0)
        .version;
  };
  CHECK(version("1", true) == 1);  // nothing was there to be estimated
  CHECK(version("2", false) == 1);
  CHECK(version("3", true) == 2);
  CHECK(version("4", false) == 2);
}

TEST_CASE("names of files come back from the list however they look") {
  ReturnedSeason at;
  for (const char* name :
       {"=sum.csv", "a,b \"c\".csv", "-north.csv", "\xC3\xA9t\xC3\xA9.csv", "no ending", ".hidden"})
    take_in({at.put(name, form + std::to_string(at.kept().size()) + "\n")}, at.season.plan, day_2027_06_14,
            at.flags);
  const auto ledger = read_ledger(at.season.plan);
  REQUIRE(ledger.size() == 6);
  CHECK(ledger[0].original == "=sum.csv");
  CHECK(ledger[1].original == "a,b \"c\".csv");
  CHECK(ledger[2].original == "-north.csv");
  CHECK(ledger[3].original == "\xC3\xA9t\xC3\xA9.csv");
  CHECK(ledger[3].file.ends_with("-__t__.csv"));
  CHECK(at.read().rows.size() == 6);
}

TEST_CASE("where one of several files cannot be used none is taken") {
  ReturnedSeason at;
  const auto good = at.put("good.csv", north), bad = at.put("bad.csv", "plot,notes\nQPR07E,x\n");
  CHECK_THROWS_AS(take_in({good, bad}, at.season.plan, day_2027_06_14, at.flags), InputError);
  CHECK(at.kept().empty());
  CHECK(read_ledger(at.season.plan).empty());
}

TEST_CASE("a copy that did not reach the list is taken up when the file is given again") {
  ReturnedSeason at;
  const auto file = at.put("north.csv", north);
  take_in({file}, at.season.plan, day_2027_06_14, at.flags);
  const std::string kept = at.kept().at(0);
  std::filesystem::remove(
      ledger_file(at.season.plan));  // as a process killed just before writing it leaves things
  CHECK(at.read().rows.empty());
  CHECK(at.said("not received") == 1);
  const TakenIn taken = take_in({file}, at.season.plan, day_2027_06_14 + 3, at.flags);
  REQUIRE(taken.taken.size() == 1);
  CHECK(taken.taken[0].file == kept);
  CHECK(at.kept().size() == 1);
  CHECK(at.read().rows.size() == 1);
}

TEST_CASE("killed at any moment, a run loses no earlier return and the next one goes on") {
  // Every file is flushed to the disk, which takes milliseconds: few are enough to be killed among.
  constexpr int rounds = 16, each = 8;
  ReturnedSeason at;
  const auto content = [](int i) { return form + std::to_string(i) + "\n"; };
  std::size_t sure = 0;
  int killed_within = 0;
  for (int round = 0; round < rounds; ++round) {
    std::vector<std::filesystem::path> files;
    for (int i = 0; i < each; ++i) {
      files.push_back(at.put("f" + std::to_string(i) + ".csv", content(round * each + i)));
    }
    const pid_t child = ::fork();
    REQUIRE(child >= 0);
    if (child == 0) {
      Flags flags;
      for (const auto& file : files) take_in({file}, at.season.plan, day_2027_06_14, flags);
      ::_exit(0);
    }
    ::usleep(static_cast<useconds_t>(500 + round * 1100));
    ::kill(child, SIGKILL);
    int status = 0;
    ::waitpid(child, &status, 0);
    killed_within += WIFSIGNALED(status) ? 1 : 0;
    const auto ledger = read_ledger(at.season.plan);
    CHECK(ledger.size() >= sure);
    for (const ReceivedFile& one : ledger)
      CHECK(content_fingerprint(at.season.plan.returns.folder / one.file) == one.fingerprint);
    take_in(files, at.season.plan, day_2027_06_14, at.flags);
    sure = read_ledger(at.season.plan).size();
    CHECK(sure == static_cast<std::size_t>(round + 1) * each);
    CHECK(at.kept().size() == sure);
  }
  CHECK(killed_within > 0);
  CHECK(at.read().rows.size() == sure);
}

TEST_CASE("a file that was received and is lost is put back by giving it again") {
  ReturnedSeason at;
  at.take(north, "north.csv");
  at.take(south, "south.csv");
  const std::vector<std::string> kept = at.kept();
  REQUIRE(kept.size() == 2);
  const std::string list = read_whole(ledger_file(at.season.plan));
  for (const std::string& name : kept) std::filesystem::remove(at.season.plan.returns.folder / name);
  const TakenIn in = take_in({at.put("again.csv", south)}, at.season.plan, day_2027_06_14 + 3, at.flags);
  CHECK(in.taken.empty());
  REQUIRE(in.put_back.size() == 1);
  CHECK(in.put_back[0].original == "south.csv");
  CHECK(at.kept().size() == 1);
  CHECK_THROWS_WITH_AS((void)at.read(), doctest::Contains("or give north.csv to receive again"), InputError);
  (void)take_in({at.folder / "north.csv"}, at.season.plan, day_2027_06_14 + 3, at.flags);
  CHECK(at.read().rows.size() > 1);
  CHECK(read_whole(ledger_file(at.season.plan)) == list);
}

TEST_CASE("messages name the folder of returns as the plan writes it") {
  ReturnedSeason at;
  at.season.plan.returns.folder = at.folder / "." / "returns-2027";
  CHECK(shown_in(at.season.plan, ledger_file(at.season.plan)) == "returns-2027/received.csv");
  CHECK(shown_in(at.season.plan, "/elsewhere/x.csv") == "/elsewhere/x.csv");
}

TEST_CASE("a list or a copy that somebody changed is not read over") {
  ReturnedSeason at;
  at.take(north);
  const std::string kept = at.kept().at(0);
  at.put("returns/" + kept, south);
  CHECK_THROWS_WITH_AS((void)at.read(), doctest::Contains("is not what was received: somebody changed it"),
                       InputError);
  std::filesystem::remove(at.season.plan.returns.folder / kept);
  CHECK_THROWS_WITH_AS((void)at.read(), doctest::Contains("was received but is not there"), InputError);
  at.put("returns/received.csv", "file,when\nx,y\n");
  CHECK_THROWS_WITH_AS((void)at.read(), doctest::Contains("returns/received.csv, row 1: does not begin"),
                       InputError);
  at.put("returns/received.csv", "file,original,fingerprint,received,version\n../x.csv,x,1,2027-06-14,1\n");
  CHECK_THROWS_WITH_AS((void)at.read(), doctest::Contains("returns/received.csv, row 2"), InputError);
}

}  // namespace ledger_test
