// Rows to records: columns, words, doubts of a whole file, fixes.
#include "swardline/returns/read_returns.hpp"

#include <doctest/doctest.h>
#include <fmt/format.h>

#include <cmath>

#include "returned_season.hpp"

namespace read_returns_test {

using namespace swardline;

namespace {

const std::string heading = "plot,visit_date,species,flowering_stems";

/// One row of the four columns, and one more.
Returns with(ReturnedSeason& at, const std::string& column, const std::vector<std::string>& cells) {
  std::string text = heading + ',' + column + '\n';
  for (const std::string& cell : cells) text += "QPR07E,2027-05-28,PTUB,14,\"" + cell + "\"\n";
  return at.take(text);
}

}  // namespace

TEST_CASE("every column of the form reaches its place") {
  ReturnedSeason at;
  std::string headings;
  for (std::size_t i = 0; i < return_columns; ++i)
    headings += (i > 0 ? "," : "") + std::string(word(static_cast<ReturnColumn>(i)));
  const Returns returns = at.take(
      headings +
      "\nQPR07E,2027-05-28,9:05,10:20,041,042,PTUB,not certain,14,3,2,half counted,12.5,4,0.5,10.4,2,capsule,"
      "38.00412,-96.02184,4.5,WGS84,part counted,p1.jpg,\"a note, long\",0412,088\n");
  REQUIRE(returns.rows.size() == 1);
  const ReturnRow& row = returns.rows[0];
  CHECK(row.at == RowAt{0, 2});
  CHECK(row.unread == 0);
  CHECK(row.plot == 2);
  CHECK(row.date == 20966);
  CHECK(row.start == 545);
  CHECK(row.finish == 620);
  CHECK(returns.texts.text(row.observer) == "041");
  CHECK(returns.texts.text(row.second_observer) == "042");
  CHECK(row.species == 2);
  CHECK(row.certainty == Certainty::not_certain);
  CHECK(row.stems == 14);
  CHECK(row.twice_stems == 3);
  CHECK(row.rosettes == 2);
  CHECK(row.method == CountMethod::half_counted);
  CHECK(row.area_searched_m2 == 12.5F);
  CHECK(row.frames == 4);
  CHECK(row.frame_m2 == 0.5F);
  CHECK(row.tape_m == 10.4F);
  CHECK(row.station == 2);
  CHECK(row.phase == Phase::capsule);
  CHECK(row.lat == 38.00412);
  CHECK(row.lon == -96.02184);
  CHECK(row.fix_accuracy_m == 4.5F);
  CHECK(row.fate == Fate::part_counted);
  CHECK(row.has_photo);
  CHECK(returns.texts.text(row.sheet) == "0412");
  CHECK(returns.original(row.at, ReturnColumn::notes) == "a note, long");
  CHECK(returns.text(row.at, ReturnColumn::entered_by) == "088");
}

TEST_CASE("what cannot be read is as if blank, has its bit, and keeps its text") {
  ReturnedSeason at;
  const Returns returns =
      at.take(heading + ",status,lat\nQPR7,soon,PZZZ,~100,gone fishing,north\nQPR07E,2027-05-28,PTUB,,,\n");
  REQUIRE(returns.rows.size() == 2);
  const ReturnRow& row = returns.rows[0];
  CHECK(row.plot == -1);
  CHECK(row.date == no_day);
  CHECK(row.species == -1);
  CHECK(row.stems == -1);
  CHECK(row.fate == Fate::unknown);
  CHECK(std::isnan(row.lat));
  for (const ReturnColumn column : {ReturnColumn::plot, ReturnColumn::visit_date, ReturnColumn::species,
                                    ReturnColumn::flowering_stems, ReturnColumn::status, ReturnColumn::lat})
    CHECK(row.cannot_read(column));
  CHECK_FALSE(row.cannot_read(ReturnColumn::lon));
  CHECK(returns.text(row.at, ReturnColumn::flowering_stems) == "~100");
  CHECK(returns.rows[1].unread == 0);
  CHECK(returns.rows[1].stems == -1);
}

TEST_CASE("words are read however they are written") {
  ReturnedSeason at;
  CHECK(with(at, "certainty", {"", "Sure", "NOT CERTAIN", "uncertain", "maybe"})
            .rows[4]
            .cannot_read(ReturnColumn::certainty));
  ReturnedSeason second;
  const Returns phases = with(second, "phase", {"", "Bud", "in flower", "Capsules", "past", "withered"});
  CHECK(phases.rows[0].phase == Phase::none);
  CHECK(phases.rows[1].phase == Phase::bud);
  CHECK(phases.rows[2].phase == Phase::flower);
  CHECK(phases.rows[3].phase == Phase::capsule);
  CHECK(phases.rows[4].phase == Phase::past);
  CHECK(phases.rows[5].cannot_read(ReturnColumn::phase));
  ReturnedSeason third;
  const Returns photos = with(third, "photos", {"", "no", "none", "0", "yes", "p1.jpg"});
  for (std::size_t i = 0; i < 6; ++i) CHECK(photos.rows[i].has_photo == (i > 3));
}

TEST_CASE("plots and species are found in small letters, species by name too") {
  ReturnedSeason at;
  const Returns returns =
      at.take(heading + "\nqpr07e,2027-05-28,ptub,1\nQPR07E,2027-05-28,penstemon tubaeflorus,1\n");
  CHECK(returns.rows[0].plot == 2);
  CHECK(returns.rows[0].species == 2);
  CHECK(returns.rows[1].species == 2);
}

TEST_CASE("headings of the plan's map, of the form, and others") {
  ReturnedSeason at;
  at.season.plan.returns.columns = {{"Plot no.", "plot"}, {"Stems", "flowering_stems"}};
  const Returns returns =
      at.take("Weather,PLOT NO.,Visit date,Species,Stems\nrain,QPR07E,2027-05-28,PTUB,14\n");
  CHECK(returns.rows[0].plot == 2);
  CHECK(returns.rows[0].stems == 14);
  CHECK(at.said("other columns") == 1);
  CHECK(at.meaning("other columns") == "\"Weather\" is not on the form: kept in the file, not read.");
}

TEST_CASE("wrong headings and maps are one clear line each") {
  ReturnedSeason at;
  at.season.plan.returns.place = {"plan.toml", 12, "[returns]"};
  CHECK(at.refused("plots,visit_date,species,flowering_stems\nQPR07E,2027-05-28,PTUB,1\n") ==
        "north.csv, row 1: no heading is the column plot. Is it \"plots\"? Say so under [returns.columns].");
  CHECK(at.refused("plot,species,flowering_stems\nQPR07E,PTUB,1\n")
            .starts_with("north.csv, row 1: no heading is the column visit_date. Headings stand in row 1"));
  CHECK(at.refused("plot,visit_date,flowering_stems\nQPR07E,2027-05-28,1\n").find("column species") !=
        std::string::npos);
  CHECK(at.refused("plot,visit_date,species,lat,lon\nQPR07E,2027-05-28,PTUB,1,1\n")
            .find("column flowering_stems") != std::string::npos);
  CHECK(at.refused(heading + ",Plot\nQPR07E,2027-05-28,PTUB,1,QPR07E\n") ==
        "north.csv, row 1: two headings are the column plot: \"plot\" and \"Plot\". Leave one out, or give "
        "it another "
        "heading.");
  at.season.plan.returns.columns = {{"Plot no.", "plto"}};
  CHECK(at.refused(heading + "\nQPR07E,2027-05-28,PTUB,1\n") ==
        "plan.toml:12 [returns]: the heading \"Plot no.\" is said to be \"plto\", but the form has no such "
        "column. "
        "Did you mean plot?");
  at.season.plan.returns.columns = {{"Plot no.", "plot"}};
  CHECK(at.refused(heading + ",Plot nr.\nQPR07E,2027-05-28,PTUB,1,7\n") ==
        "plan.toml:12 [returns]: \"Plot no.\" is a heading in no file of the season's returns. Write each as "
        "it stands in "
        "the file, or leave it out of [returns.columns].");
  CHECK(at.kept().empty());
  // A file that has all headings of its own says nothing of the map; in one file of the season is enough.
  at.flags = {};  // what was said of the file before
  CHECK(at.refused(heading + "\nQPR07E,2027-05-28,PTUB,1\n").empty());
  CHECK(at.refused("Plot no.,visit_date,species,flowering_stems\nQPR07E,2027-05-28,PTUB,1\n").empty());
  CHECK(at.refused(heading + "\nQPR07E,2027-05-28,PTUB,2\n").empty());
}

TEST_CASE("a table of statuses alone is a return") {
  ReturnedSeason at;
  const Returns returns = at.take("plot,visit_date,status\nQPR07E,2027-05-28,mown\n");
  REQUIRE(returns.rows.size() == 1);
  CHECK(returns.rows[0].fate == Fate::mown);
  CHECK(returns.rows[0].species == -1);
}

TEST_CASE("dates both ways: by the plan, else doubtful") {
  const std::string text = heading + "\nQPR07E,06/07/2027,PTUB,1\nQPR07E,28/05/2027,PTUB,1\n";
  {
    ReturnedSeason at;
    const Returns returns = at.take(text);
    CHECK(returns.rows[0].date_doubtful);
    CHECK_FALSE(returns.rows[1].date_doubtful);
    CHECK(returns.rows[1].date == 20966);
  }
  {
    ReturnedSeason at;
    at.season.plan.returns.day_first = true;
    const Returns returns = at.take(text);
    CHECK_FALSE(returns.rows[0].date_doubtful);
    CHECK(returns.rows[0].date == 20966 + 39);  // 6 July
    CHECK(at.said("dates the other way") == 0);
  }
  {
    ReturnedSeason at;
    at.season.plan.returns.day_first = false;
    const Returns returns = at.take(text);
    CHECK(returns.rows[0].date == 20966 + 10);  // 7 June
    CHECK(returns.rows[0].date_doubtful);       // the file's other date can only be day first
    CHECK(at.meaning("dates the other way") ==
          "'28/05/2027' in row 3 can only be day first, but the plan says month first; a date of this file "
          "that could "
          "be both are doubtful.");
  }
}

TEST_CASE("a date without a year is read by the day its file came, the same on any day") {
  ReturnedSeason at;
  at.take(heading + "\nQPR07E,May 28,PTUB,1\nQPR01K,June 20,PTUB,2\n");
  for (const Day later : {0, 30, 400, 1000}) {
    at.expected.today = day_2027_06_14 + later;
    const Returns read = at.read();
    CHECK(read.rows[0].date == day_2027_06_14 - 17);       // 2027-05-28
    CHECK(read.rows[1].date == day_2027_06_14 - 365 + 6);  // 2026-06-20
  }
}

TEST_CASE("a count beyond ten million is not one") {
  ReturnedSeason at;
  const Returns read = at.take(heading +
                               "\nQPR07E,2027-05-28,PTUB,10000000\nQPR01K,2027-05-28,PTUB,10000001\n"
                               "QPR02N,2027-05-28,PTUB,2147483647\n");
  CHECK(read.rows[0].stems == 10000000);
  for (const std::size_t i : {1, 2}) {
    CHECK(read.rows[i].stems == -1);
    CHECK(read.rows[i].cannot_read(ReturnColumn::flowering_stems));
  }
}

TEST_CASE("decimal commas are read; mixed with points they are asked about") {
  const std::string top = heading + ";area_searched_m2;lat;lon\n";
  const auto semicolons = [](std::string text) {
    std::replace(text.begin(), text.end(), ',', ';');
    return text;
  };
  ReturnedSeason at;
  const Returns commas = at.take(semicolons(top) + "QPR07E;2027-05-28;PTUB;14;1,234;38,00412;-96,02184\n");
  CHECK(commas.rows[0].area_searched_m2 == 1.234F);
  CHECK(commas.rows[0].lat == 38.00412);
  CHECK(at.said("points and commas") == 0);
  ReturnedSeason alone;
  const Returns unsure = alone.take(semicolons(top) + "QPR07E;2027-05-28;PTUB;14;1,234;38.00412;-96.02184\n");
  CHECK(unsure.rows[0].cannot_read(ReturnColumn::area_searched_m2));
  CHECK(std::isnan(unsure.rows[0].area_searched_m2));
  ReturnedSeason mixed;
  mixed.take(semicolons(top) +
             "QPR07E;2027-05-28;PTUB;14;12,5;38.00412;\nQPR07E;2027-05-28;PDIG;14;12.5;;\n");
  for (const Flag& flag : mixed.flags.all())  // no correction could answer it
    if (flag.check == "points and commas") CHECK(flag.severity == Severity::note);
  CHECK(mixed.meaning("points and commas") ==
        "has decimal commas (1 cell, first '12,5' in row 2) and decimal points (2 cells, first '38.00412' in "
        "row 2); each "
        "was read as the decimal mark.");
}

TEST_CASE("files come in the order of receipt, the same for any number of threads") {
  ReturnedSeason at;
  std::string text = heading + ",observer,sheet_id,area_searched_m2\n";
  for (int i = 0; i < 30000; ++i)
    text += fmt::format("QPR0{},2027-05-{:02},P{},{},{:03},{:04},{}\n", i % 3 == 0 ? "7E" : "1K", i % 28 + 1,
                        i % 2 == 0 ? "TUB" : "DIG", i % 17 == 0 ? "~" : std::to_string(i), i % 250, i / 24,
                        i % 20 + 0.5);
  at.take(text);
  take_in({at.put("south.csv", heading + "\nQPR02N,2027-05-30,PTUB,7\n")}, at.season.plan, day_2027_06_14,
          at.flags);
  const Returns one = at.read(1), many = at.read(7);
  REQUIRE(one.rows.size() == 30001);
  REQUIRE(many.rows.size() == 30001);
  CHECK(one.rows.back().at == RowAt{1, 2});
  CHECK(one.texts.size() == many.texts.size());
  bool same = true;
  for (std::size_t i = 0; i < one.rows.size(); ++i) {
    const ReturnRow &a = one.rows[i], &b = many.rows[i];
    same = same && a.at == b.at && a.plot == b.plot && a.species == b.species && a.date == b.date &&
           a.stems == b.stems && a.observer == b.observer && a.sheet == b.sheet && a.unread == b.unread &&
           (a.area_searched_m2 == b.area_searched_m2 || std::isnan(a.area_searched_m2));
  }
  CHECK(same);
  CHECK(one.texts.text(one.rows[5].observer) == "005");
}

TEST_CASE("waypoints fill the fixes of visits that have none") {
  ReturnedSeason at;
  const std::string gpx =
      "<?xml version=\"1.0\"?>\n<gpx version=\"1.1\" creator=\"a unit\" "
      "xmlns=\"http://www.topografix.com/GPX/1/1\">\n"
      // 28 May, 20:30 there, is the 29th in Greenwich
      "<wpt lat=\"38.00412\" lon=\"-96.02184\"><time>2027-05-29T02:30:00Z</time><name>QPR07E</name></wpt>\n"
      "<wpt lat=\"38.00500\" lon=\"-96.02200\"><time>2027-05-28T15:00:00Z</time><name>QPR01K</name></wpt>\n"
      "<wpt lat=\"38.00600\" lon=\"-96.02300\"><name>QPR02N</name></wpt>\n"
      "<wpt lat=\"38.00700\" lon=\"-96.02400\"><time>2027-05-28T15:00:00Z</time><name>QPR51G</name></wpt>\n"
      "<wpt lat=\"38.00000\" lon=\"-96.00000\"><name>car</name></wpt>\n</gpx>\n";
  take_in({at.put("unit.gpx", gpx)}, at.season.plan, day_2027_06_14, at.flags);
  const Returns returns = at.take(heading +
                                  ",lat,lon\nQPR07E,2027-05-28,PTUB,14,,\nQPR07E,2027-05-28,PDIG,0,,\n"
                                  "QPR01K,2027-05-28,PTUB,1,38.1,-96.1\nQPR02N,2027-05-27,PTUB,1,,\n");
  REQUIRE(returns.rows.size() == 4);
  CHECK(returns.rows[0].lat == 38.00412);
  CHECK(returns.rows[0].lon == -96.02184);
  CHECK(returns.rows[1].lat == 38.00412);
  CHECK(returns.rows[2].lat == 38.1);    // what the team wrote stands
  CHECK(returns.rows[3].lat == 38.006);  // no time, but only one visit
  CHECK(at.meaning("fixes") ==
        "2 of 5 fixes went to visits that had none; 1 visits had one written down, which stands; no visit of "
        "that day for "
        "QPR51G; 1 is of no plot of this season.");
}

TEST_CASE("two fixes of one visit apart from each other go to none") {
  ReturnedSeason at;
  take_in({at.put("fixes.csv",
                  "plot,visit_date,lat,lon,fix_accuracy_m\nQPR07E,2027-05-28,38.00412,-96.02184,3\n"
                  "QPR07E,2027-05-28,38.00420,-96.02184,3\nQPR01K,2027-05-28,38.00500,-96.02200,3\n"
                  "QPR01K,2027-05-28,38.005001,-96.02200,3\n")},
          at.season.plan, day_2027_06_14, at.flags);
  const Returns returns = at.take(heading + "\nQPR07E,2027-05-28,PTUB,14\nQPR01K,2027-05-28,PTUB,14\n");
  REQUIRE(returns.rows.size() == 2);
  CHECK(std::isnan(returns.rows[0].lat));
  CHECK(returns.rows[1].lat == 38.005);
  CHECK(returns.rows[1].fix_accuracy_m == 3);
  CHECK(at.meaning("fixes").find("neither used, for QPR07E") != std::string::npos);
}

}  // namespace read_returns_test
