// Which rows are a visit, and what became of a plot by them.
#include "made_store.hpp"

namespace visits_test {

using namespace swardline;
using namespace swardline::testing;

TEST_CASE("rows of a blank form that nobody filled in are no visit, and put no spare into use") {
  const Made made;
  made.draw();
  // As the form prints them: plot, species, area, and 0 where no zone counts twice.
  made.receive(
      "QPR01,2027-05-28,041,PDIG,sure,7,0,counted,20,counted,,,,1\n"
      "QPR03,,,PDIG,,,0,,20,,,,,\n"
      "QPR02,,,PDIG,,,,,14,,,,,\n"
      "QPR51,,,PDIG,,,0,,20,,,,,\n"
      "QPR52,2027-05-28,041,PDIG,,,0,,20,,,,,1\n"
      "QPR53,2027-05-28,041,,,,,,,unsafe,,,,1\n",
      [](const ReturnRow& row) { return row.stems < 0 && row.species >= 0 ? Use::kept_out : Use::used; });
  CHECK(made.ask("select plot from visits order by visit") == "QPR01\nQPR52\nQPR53");
  CHECK(made.ask("select count(*), sum(visit is null) from counts") == "5|3");
  const EvaluatedSeason season = read_evaluated(made.store());
  CHECK(unit(season, "QPR03").fate == "no return");
  CHECK_FALSE(unit(season, "QPR51").in_use);
  CHECK_FALSE(unit(season, "QPR52").in_use);  // a name and a day, and no box: somebody walked past
  CHECK(unit(season, "QPR53").in_use);
  CHECK(unit(season, "QPR53").fate == "unsafe");
}

TEST_CASE("a plot whose rows were all kept out was not counted, and its fate says so") {
  const Made made;
  made.draw();
  made.receive(
      "QPR01,2027-05-28,041,PDIG,sure,7,0,counted,20,counted,,,,1\n"
      "QPR03,2027-05-28,041,PDIG,sure,5,0,counted,20,counted,,,,1\n"
      "QPR51,2027-05-28,041,PDIG,sure,5,0,counted,20,,,,,1\n",
      [](const ReturnRow& row) { return row.stems == 5 ? Use::kept_out : Use::used; });
  const EvaluatedSeason season = read_evaluated(made.store());
  CHECK(unit(season, "QPR03").fate == "rows kept out");
  CHECK(unit(season, "QPR03").why ==
        "counted on 2027-05-28, but of its rows 0 cannot be used and 1 are kept out");
  CHECK(unit(season, "QPR51").in_use);  // its box is filled, though not to be used
}

TEST_CASE("rows that a correction left out say nothing of a plot") {
  const Made made;
  made.draw();
  made.receive(
      "QPR51,2027-05-29,041,PDIG,sure,1,0,counted,20,counted,,,,3\n"
      "QPR01,2027-05-28,041,,,,,,,part counted,37.8,-96.6,4,1\n"
      "QPR01,2027-05-28,041,PDIG,sure,7,0,counted,,counted,37.9,-96.7,4,1\n"
      "QPR01,2027-05-28,041,PTUB,sure,2,0,counted,,,,,,1\n");
  const std::string list = "file,row,column,old,new,who,when,why,evidence\n";
  const std::string file = made.ask("select file from returns");
  write_whole(made.folder / "returns" / "corrections.csv",
              list + file + ",2,row,kept,left out,MB,2027-06-20,another plot,\n" + file +
                  ",3,row,kept,left out,MB,2027-06-20,slip,\n");
  Flags flags;
  const Expected all = made.expected();
  const Returns returns = read_returns(made.season, all, flags, 1);
  const std::vector<Use> uses = use_of_rows(returns, {});
  (void)write_returns(made.store(), {made.season, all, returns, {}, uses},
                      {"correct", "0.1", "in", "", "", 7});
  CHECK(made.ask("select plot, status, fix_lat from visits") == "QPR01|counted|37.9");
  CHECK(made.ask("select visit is null, stems, use from counts order by row") ==
        "1|1|left out\n0|7|used\n0|2|used");
  const EvaluatedSeason season = read_evaluated(made.store());
  CHECK_FALSE(unit(season, "QPR51").in_use);
  CHECK(unit(season, "QPR01").counts[0].sure == 7);
  CHECK(unit(season, "QPR01").counts[0].area_m2 == 20);
  CHECK(unit(season, "QPR01").fate == "counted");
  const KnownReturns known = known_returns(made.store());
  CHECK(known.files == std::vector<std::string>{file});
  CHECK(known.corrections == 2);
}

TEST_CASE("three visits of three observers are one recount pair, not two that share a count") {
  const Made made;
  made.draw();
  made.receive(
      "QPR01,2027-05-28,041,PDIG,sure,7,0,counted,20,counted,,,,1\n"
      "QPR01,2027-05-29,052,PDIG,sure,9,0,counted,20,counted,,,,2\n"
      "QPR01,2027-05-30,063,PDIG,sure,4,0,counted,20,counted,,,,3\n"
      "QPR03,2027-05-28,041,PDIG,sure,3,0,counted,20,counted,,,,1\n"
      "QPR03,2027-05-30,063,PDIG,sure,3,0,counted,20,counted,,,,3\n");
  const EvaluatedSeason season = read_evaluated(made.store());
  REQUIRE(season.recounts.size() == 2);
  CHECK(season.recounts[0].second_observer == "052");
  CHECK(season.recounts[1].first == 3);
}

}  // namespace visits_test
