// What came back: written by the library, read by SQLite itself, and joined to what can be evaluated.
#include <sqlite3.h>
#include <sys/wait.h>

#include <csignal>

#include "made_store.hpp"
#include "swardline/base/error.hpp"
#include "swardline/store/rows.hpp"

namespace returned_test {

using namespace swardline;
using namespace swardline::testing;

TEST_CASE("scores at plots tell a score of 0, excluded ground and no score apart") {
  const Made made;
  made.draw();
  CHECK(made.ask("select percent_PDIG, held_down_PDIG, percent_PTUB is null, held_down_PTUB from plots where "
                 "name = 'QPR01'") == "80|canopy|1|excluded: cover OW");
  const Expected expected = made.expected();
  REQUIRE(expected.plots.size() == 11);
  CHECK(expected.plots[0].percent == std::vector<std::int8_t>{80, -1});
  CHECK(expected.plots[1].percent == std::vector<std::int8_t>{80, -2});
  CHECK(expected.held_down.at(std::size_t(expected.plots[0].held_down[1])) == "cover OW");
  CHECK(expected.searched.at("QPR") == std::vector<std::size_t>{0});
  CHECK(expected.plot("QPR52") == 9);
  CHECK(expected.plot("QPR99") == -1);
  CHECK(made.ask("select site, attribute, value from site_attributes") == "QPR|habitat|prairie");
}

TEST_CASE("every reading stands beside the cell it came from, and a visit's rows belong to it") {
  const Made made;
  made.draw();
  made.receive(
      "qpr01,28/05/2027,041,PDIG,sure,07,,counted,20.0,counted,37.9,-96.7,4,0412\n"
      "QPR01,28/05/2027,041,PTUB,not certain,~100,,counted,,,,,,0412\n"
      "QPR7,2027-05-28,041,PDIG,sure,2,,counted,20,counted,,,,0412\n"
      "QPR02,2027-06-02,041,,,,,,,mown,,,,0413\n");
  CHECK(made.ask("select visit, plot, date, observer, status, sheet, plot_cell, date_cell from visits order "
                 "by visit") ==
        "1|QPR01|2027-05-28|041|counted|0412|qpr01|28/05/2027\n"
        "2||2027-05-28|041|counted|0412|QPR7|2027-05-28\n"
        "3|QPR02|2027-06-02|041|not countable (mown)|0413|QPR02|2027-06-02");
  CHECK(made.ask("select visit, row, species, certainty, stems, stems_cell, area_searched_m2, area_cell from "
                 "counts") ==
        "1|2|PDIG|sure|7|07|20.0|20.0\n1|3|PTUB|not certain||~100||\n2|4|PDIG|sure|2|2|20.0|20");
  CHECK(made.ask("select feature_count from gpkg_ogr_contents where table_name = 'counts'") == "3");
  CHECK(made.ask("select count(*) from sqlite_master where name = 'trigger_insert_feature_count_counts'") ==
        "1");
  CHECK(made.ask("select version, rows, original from returns") == "1|4|given.csv");
  CHECK(made.ask("pragma integrity_check") == "ok");
  CHECK(made.ask("select count(*) from visits where fix_east is not null") == "1");
}

TEST_CASE("counts are joined to plots: fates, areas, spares in turn, recounts and what is kept out") {
  const Made made;
  made.draw();
  made.receive(
      "QPR01,2027-05-28,041,PDIG,sure,7,0,counted,20,counted,37.9,-96.7,4,1\n"
      "QPR01,2027-05-28,041,PDIG,not certain,2,0,counted,20,counted,,,,1\n"
      "QPR01,2027-05-30,052,PDIG,sure,10,0,counted,20,counted,,,,9\n"
      "QPR02,2027-05-28,041,PDIG,sure,9,3,counted,14,counted,,,,1\n"
      "QPR03,2027-05-27,041,,,,,,,not reached,,,,1\n"
      "QPR03,2027-06-01,041,PDIG,sure,0,0,counted,20,counted,,,,2\n"
      "QPR04,2027-05-28,041,,,,,,,no permission,,,,1\n"
      "QPR05,2027-05-28,041,PDIG,sure,3,0,counted,8,part counted,,,,1\n"
      "QPR06,2027-05-28,041,PDIG,sure,61,0,half counted,20,counted,,,,1\n"
      "QPR07,2027-05-28,041,PDIG,sure,5,0,counted,20,counted,,,,1\n"
      "QPR51,2027-05-29,041,PDIG,sure,1,0,counted,20,counted,,,,3\n"
      "QPR02,2027-05-28,041,PTUB,sure,4,0,counted,14,counted,,,,1\n",
      [](const ReturnRow& row) { return row.stems == 5 ? Use::kept_out : Use::used; });
  const EvaluatedSeason season = read_evaluated(made.store());
  CHECK(season.season == "Test 2027");
  CHECK(season.year == 2027);
  CHECK(season.returns_version == 1);
  CHECK(season.species == std::vector<std::string>{"PDIG", "PTUB"});
  CHECK(season.sites.at(0).attributes.at("habitat") == "prairie");
  CHECK(season.strata.at(0).kind == "scored");
  CHECK(season.strata.at(0).geodesic_ratio == 1.0004);
  CHECK(season.units.size() == 11);

  const EvaluatedUnit& first = unit(season, "QPR01");
  CHECK(first.evaluated);
  CHECK(first.counts[0].sure == 7);
  CHECK(first.counts[0].not_certain == 2);
  CHECK(first.observer == "041");
  CHECK(first.bearing_deg == 40);
  CHECK(first.fix_accuracy_m == 4);
  // By osr.CoordinateTransformation of GDAL's Python bindings, which may take another route between the
  // datums.
  CHECK(std::abs(first.fix_east - 702221.21) < 2);
  CHECK(std::abs(first.fix_north - 4197213.95) < 2);
  CHECK(unit(season, "QPR02").counts[0].sure == 12);
  CHECK(unit(season, "QPR02").counts[0].area_m2 == 19);
  CHECK(unit(season, "QPR03").evaluated);
  CHECK(unit(season, "QPR03").counts[0].searched);
  CHECK(unit(season, "QPR04").fate == "no permission");
  CHECK(unit(season, "QPR04").why == "no permission on 2027-05-28");
  CHECK(unit(season, "QPR05").fate == "part counted");
  CHECK(unit(season, "QPR05").counts[0].area_m2 == 8);
  CHECK(unit(season, "QPR06").counts[0].sure == 61);
  CHECK(unit(season, "QPR06").counts[0].area_m2 == 10);
  CHECK_FALSE(unit(season, "QPR07").evaluated);
  CHECK(unit(season, "QPR07").why.find("1 are kept out") != std::string::npos);
  CHECK(unit(season, "QPR08").fate == "no return");
  CHECK(unit(season, "QPR51").in_use);
  CHECK(unit(season, "QPR51").why == "in place of QPR04 (no permission)");
  CHECK_FALSE(unit(season, "QPR52").in_use);
  REQUIRE(season.recounts.size() == 1);
  CHECK(season.recounts[0].first == 9);
  CHECK(season.recounts[0].second == 10);
  CHECK(season.recounts[0].second_observer == "052");
  // PTUB was looked for at no plot of the site: one find is no sample.
  CHECK_FALSE(unit(season, "QPR02").counts[1].searched);
  CHECK(std::any_of(season.notes.begin(), season.notes.end(),
                    [](const std::string& note) { return note.find("PTUB at QPR: 1 of 6") == 0; }));
}

TEST_CASE(
    "two sheets of one observer and day are one visit; the second day is not used for what the first has") {
  const Made made;
  made.draw();
  made.receive(
      "QPR01,2027-05-28,041,PDIG,sure,7,0,counted,20,counted,,,,1\n"
      "QPR01,2027-05-28,041,PDIG,not certain,3,0,counted,20,counted,,,,2\n"
      "QPR01,2027-06-08,041,PDIG,sure,30,0,counted,20,counted,,,,3\n");
  const EvaluatedSeason season = read_evaluated(made.store());
  CHECK(unit(season, "QPR01").counts[0].sure == 7);
  CHECK(unit(season, "QPR01").counts[0].not_certain == 3);
  CHECK(season.recounts.empty());
}

TEST_CASE("a grown frame: a plot without survey area is done, the full plot counts elsewhere") {
  Made made;
  made.edge = EdgeRule::grown_frame;
  SeasonDraw draw = made.drawn();
  draw.plots[2].inside_m2 = 0;
  Store(made.store()).write_draw(made.crs, made.sites(), draw, "Test 2027", {"draw", "0.1", "x", "", "", 7});
  made.receive("QPR02,2027-05-28,041,PDIG,sure,9,,counted,14,counted,,,,1\n");
  const EvaluatedSeason season = read_evaluated(made.store());
  CHECK(season.edge == EdgeRule::grown_frame);
  CHECK(unit(season, "QPR02").counts[0].area_m2 == 20);
  CHECK(unit(season, "QPR03").evaluated);
  CHECK(unit(season, "QPR03").counts[0].area_m2 == 20);
  CHECK(unit(season, "QPR03").counts[0].sure == 0);
  CHECK_FALSE(unit(season, "QPR04").evaluated);
}

TEST_CASE("a store without returns evaluates to plots that nothing came back of") {
  const Made made;
  made.draw();
  const EvaluatedSeason season = read_evaluated(made.store());
  CHECK(season.units.size() == 11);
  CHECK(season.returns_version == 0);
  CHECK(unit(season, "QPR01").fate == "no return");
  CHECK_THROWS_AS((void)read_evaluated(made.folder / "none.gpkg"), InputError);
}

TEST_CASE("an estimate made since files were taken in is known") {
  const Made made;
  made.draw();
  made.receive("QPR01,2027-05-28,041,PDIG,sure,7,0,counted,20,counted,,,,1\n");
  CHECK_FALSE(estimated_since_received(made.store()));
  CHECK(inputs_of_returns(made.store()) == "in");
  made.ask("insert into runs(command, schema_version) values('estimate', 3)");
  CHECK(estimated_since_received(made.store()));
}

TEST_CASE("the highest counts of an earlier season are by site and species, of rows in use") {
  Made made;
  made.draw();
  made.receive(
      "QPR01,2027-05-28,041,PDIG,sure,41,0,counted,20,counted,,,,1\n"
      "QPR03,2027-05-28,041,PDIG,sure,312,0,counted,20,counted,,,,1\n",
      [](const ReturnRow& row) { return row.stems > 100 ? Use::cannot_be_used : Use::used; });
  fs::copy(made.store(), made.folder / "2026.gpkg");
  made.season.plan.returns.earlier = {made.folder / "2026.gpkg"};
  const Expected expected = made.expected();
  REQUIRE(expected.highest.contains({"QPR", "PDIG"}));
  CHECK(expected.highest.at({"QPR", "PDIG"}).stems == 41);
  CHECK(expected.highest.at({"QPR", "PDIG"}).seasons == 1);
  made.season.plan.returns.earlier = {made.folder / "2025.gpkg"};
  Flags flags;
  (void)read_expected(made.season, made.crs, july_1, flags);
  CHECK(flags.stopped());
}

TEST_CASE("a store another program is writing is refused and stays as it was") {
  const Made made;
  made.draw();
  made.receive("QPR01,2027-05-28,041,PDIG,sure,7,0,counted,20,counted,,,,1\n");
  sqlite3* other = nullptr;
  REQUIRE(sqlite3_open(made.store().c_str(), &other) == SQLITE_OK);
  REQUIRE(sqlite3_exec(other, "begin immediate", nullptr, nullptr, nullptr) == SQLITE_OK);
  try {
    Store(made.store()).check_writable();
    FAIL("not refused");
  } catch (const IoError& error) {
    CHECK(std::string(error.what()).find("is being written by another program") != std::string::npos);
  }
  CHECK_THROWS_AS(made.receive("QPR02,2027-05-28,041,PDIG,sure,7,0,counted,14,counted,,,,1\n"), IoError);
  sqlite3_exec(other, "rollback", nullptr, nullptr, nullptr);
  sqlite3_close(other);
  CHECK(made.ask("select count(*) from counts") == "1");
}

TEST_CASE("rows past GDAL and through its features make the same table") {
  const Made made;
  made.draw();
  std::string dumps[2];
  for (const RowWriter::Way way : {RowWriter::Way::fastest, RowWriter::Way::features}) {
    OpenStore store(made.store(), OpenStore::Use::write);
    RowWriter rows(
        store,
        store.make_table("try", {{"a", OFTString}, {"b", OFTInteger}, {"c", OFTReal}, {"w", OFTString}}),
        way);
    CHECK(rows.straight() == (way == RowWriter::Way::fastest));
    for (int i = 0; i < 100; ++i) {
      rows.text(0, i % 3 == 0 ? "" : "it's \"" + std::to_string(i) + "\" ÷");
      if (i % 4 != 0) rows.whole(1, i * 40000000LL % 2147483647LL);
      rows.real(2, i % 5 == 0 ? std::nan("") : i / 7.0);
      rows.word(3, "used");
      rows.next();
    }
    rows.finish();
    store.commit();
    dumps[way == RowWriter::Way::fastest ? 0 : 1] = made.ask(
        "select * from try; select feature_count from gpkg_ogr_contents where table_name = 'try'; "
        "select count(*) from sqlite_master where type = 'trigger' and tbl_name = 'try'");
  }
  CHECK(dumps[0].size() > 1000);
  CHECK(dumps[0] == dumps[1]);
}

TEST_CASE("a process killed right after the commit leaves what it wrote") {
  const Made made;
  made.draw();
  const pid_t child = fork();
  if (child == 0) {
    made.receive("QPR01,2027-05-28,041,PDIG,sure,7,0,counted,20,counted,37.9,-96.7,4,1\n");
    kill(getpid(), SIGKILL);
  }
  int status = 0;
  waitpid(child, &status, 0);
  REQUIRE(WIFSIGNALED(status));
  CHECK(made.ask("pragma integrity_check; select count(*) from counts; select count(*) from visits") ==
        "ok\n1\n1");
  CHECK(made.ask("select feature_count from gpkg_ogr_contents where table_name = 'counts'") == "1");
}

}  // namespace returned_test
