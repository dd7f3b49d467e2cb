// Who goes in which week, and the table of visits that a coordinator changes.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "visit_season.hpp"

namespace assignments_test {

using namespace swardline;
using namespace swardline::testing;

namespace {

/// One species from 3 May (a Monday) to `until`, 2 hours of plots and an hour's way for two people.
Season weeks_season() {
  Season season;
  season.sheets = {sheet_of("PA", "Plant a", {5, 3}, {5, 9}), sheet_of("PB", "Plant b", {5, 3}, {5, 16}),
                   sheet_of("PC", "Plant c", {5, 3}, {5, 23})};
  season.plan.visits.place = {"plan.toml", 3, {}};
  season.plan.visits.weather_days = 0;
  season.plan.visits.hours_per_week = 10;
  return season;
}

std::string weeks(const SeasonVisits& visits) {
  std::string text;
  for (const Assignment& one : visits.assignments)
    text += (one.week == no_day ? "no week" : short_date(one.week)) + " " + one.team + " " + one.site + " " +
            std::to_string(one.visit) + " " + std::to_string(one.people) + " " +
            std::to_string(int(one.hours * 10 + 0.5)) + "\n";
  return text;
}

class VisitFolder {
 public:
  VisitFolder() {
    std::string pattern = (std::filesystem::temp_directory_path() / "swardline-visits-XXXXXX").string();
    REQUIRE(mkdtemp(pattern.data()) != nullptr);
    path_ = pattern;
  }
  ~VisitFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  VisitFolder(const VisitFolder&) = delete;
  VisitFolder& operator=(const VisitFolder&) = delete;
  [[nodiscard]] std::filesystem::path file(const std::string& name) const { return path_ / name; }

 private:
  std::filesystem::path path_;
};

std::string all(const Flags& flags) {
  std::string text;
  for (const Flag& flag : flags.all())
    text += std::string(word(flag.severity)) + ' ' + flag.place.text() + ": " + flag.meaning + ' ' +
            flag.remedy + '\n';
  return text;
}

struct ThreeSites {
  Season season = weeks_season();
  std::vector<SiteSpecies> sites;
  ThreeSites() {
    sites = {site_with(season, "AAA", "Site \"a\", first", {"PA"}),
             site_with(season, "BBB", "=Site b", {"PB"}), site_with(season, "CCC", "Site c", {"PC"})};
    season.plan.teams["north"] = {"AAA", "BBB", "CCC"};
    season.plan.visits.people["north"] = 2;
  }
  SeasonVisits plan(const std::map<std::string, TeamPeople>& teams = {}) {
    Flags flags;
    const SeasonVisits visits = plan_visits(season, sites, teams, 2027, flags);
    CHECK(all(flags) == "");
    return visits;
  }
};

}  // namespace

TEST_CASE("a visit's person-hours: plots, the walk, and the way there for each day") {
  Season season = weeks_season();
  SiteSpecies site = site_with(season, "AAA", "", {"PA"}, 6);
  // 6 × 20 minutes and the way there: 3 hours of two people.
  CHECK(visit_hours(season.plan.effort, site) == doctest::Approx(6));
  site.walk_m = 900;  // 30 minutes
  CHECK(visit_hours(season.plan.effort, site) == doctest::Approx(7));
  site.plots = 21;  // 7.5 hours: a second day, with its way
  CHECK(visit_hours(season.plan.effort, site) == doctest::Approx(2 * (7.5 + 2)));
  season.plan.effort.people = 3;
  CHECK(visit_hours(season.plan.effort, site) == doctest::Approx(3 * (7.5 + 2)));
  season.plan.effort.people = 1;  // nobody goes alone
  CHECK(visit_hours(season.plan.effort, site) == doctest::Approx(2 * (7.5 + 2)));
}

TEST_CASE("what closes first goes first, in the earliest week with room") {
  ThreeSites three;  // 8 plots each: 7.3 person-hours; 20 in a week
  CHECK(weeks(three.plan()) == "3 May north AAA 1 2 73\n3 May north BBB 1 2 73\n10 May north CCC 1 2 73\n");
  three.season.plan.visits.people["north"] = 4;
  CHECK(weeks(three.plan()) == "3 May north AAA 1 2 73\n3 May north BBB 1 2 73\n3 May north CCC 1 2 73\n");
  // The fifth person makes no pair.
  three.season.plan.visits.people["north"] = 3;
  CHECK(weeks(three.plan()) == "3 May north AAA 1 2 73\n3 May north BBB 1 2 73\n10 May north CCC 1 2 73\n");
}

TEST_CASE("a long visit is split over weeks, and what has no room is said") {
  ThreeSites three;
  three.sites[2].plots = 60;  // 20 hours of plots and 3 days: 46 person-hours, 20 a week
  const SeasonVisits visits = three.plan();
  CHECK(weeks(visits) ==
        "3 May north AAA 1 2 73\n3 May north BBB 1 2 73\n3 May north CCC 1 2 53\n10 May north CCC 1 2 200\n"
        "17 May north CCC 1 2 200\nno week north CCC 1 2 7\n");
  CHECK(
      conflicts(visits) ==
      "Site c, visit 1 of 1 (3–23 May): team north has no room for 0.7 person-hours of it in those days.\n");
  REQUIRE(visits.conflict_of.size() == 1);
  CHECK(visits.conflict_of[0].visit == 1);
}

TEST_CASE("a week holds no more than its open days do") {
  ThreeSites three;
  three.season.plan.visits.hours_per_week = 40;
  three.sites[0].plots = 30;  // 10 hours of plots and 2 days: 24 person-hours
  three.season.plan.visits.closures = {{{"AAA"}, {5, 4}, {5, 9}, {}, "mowing", {}}};
  const SeasonVisits visits = three.plan();
  // One open day of two people is 2 × (7 + 1) hours.
  CHECK(visits.assignments.front().hours == doctest::Approx(16));
  CHECK(conflicts(visits) ==
        "Site \"a\", first, visit 1 of 1 (3 May): team north has no room for 8.0 person-hours of it in those "
        "days.\n");
}

TEST_CASE("what can be split always fits where anything does") {
  // Waiting for a week that takes b whole would leave c, which has that week only, 4 hours short.
  ThreeSites three;
  three.season.plan.visits.hours_per_week = 5;  // 10 person-hours
  three.season.sheets[2].window = {{5, 10}, {5, 16}};
  three.sites[0].plots = 6;  // 6 person-hours
  three.sites[1].plots = 6;
  three.sites[2].plots = 9;  // 8
  const SeasonVisits visits = three.plan();
  CHECK(conflicts(visits) == "");
  CHECK(weeks(visits) ==
        "3 May north AAA 1 2 60\n3 May north BBB 1 2 40\n10 May north BBB 1 2 20\n10 May north CCC 1 2 80\n");
}

TEST_CASE("teams: none, one person, unknown, nobody who may record a species") {
  ThreeSites three;
  three.season.plan.teams["north"] = {"AAA", "BBB"};
  CHECK(conflicts(three.plan()) == "Site c: no team goes there. Name it in [teams].\n");
  three.season.plan.teams["south"] = {"CCC"};
  const SeasonVisits visits = three.plan({{"north", {1, {"PA"}}}, {"south", {}}});
  CHECK(
      conflicts(visits) ==
      "=Site b: nobody of team north has passed PB. Send somebody who has, or train and test first.\n"
      "Team north has 1 person, and nobody goes alone: it is given no week.\n"
      "Team south: how many people it has is not known; 2 are reckoned with. Say it in [visits.people] or in "
      "the list of observers.\n");
  CHECK(weeks(visits) == "3 May south CCC 1 2 73\nno week north AAA 1 2 73\nno week north BBB 1 2 73\n");
  three.season.plan.effort.people = 3;
  CHECK(conflicts(three.plan({{"north", {2, {}}}, {"south", {3, {}}}})) ==
        "Team north has 2 people, and 3 go together ([effort] people): it is given no week.\n");
}

TEST_CASE("the table of visits as it is written") {
  ThreeSites three;
  three.season.plan.visits.permission["BBB"].status = "no";
  const VisitFolder folder;
  write_visits_table(folder.file("visits.csv"), three.season, three.sites, three.plan());
  CHECK(read_whole(folder.file("visits.csv")) ==
        "site,name,visit,from,until,open_days,species,team,people,week,hours,conflict\n"
        "BBB,'=Site b,,,,,,,,,,'=Site b: there is no permission. No visit can be made.\n"
        "AAA,\"Site \"\"a\"\", first\",1,2027-05-03,2027-05-09,7,PA,north,2,2027-05-03,7.3,\n"
        "CCC,Site c,1,2027-05-03,2027-05-23,21,PC,north,2,2027-05-03,7.3,\n");
  three.season.plan.visits.table = folder.file("visits.csv");
  const SeasonVisits none;
  CHECK_THROWS_WITH_AS(write_visits_table(folder.file("./visits.csv"), three.season, three.sites, none),
                       "plan.toml:3: the table visits.csv is the coordinator's and would be written over. "
                       "Keep it under another "
                       "name or in another folder, and name that one as table.",
                       InputError);
}

TEST_CASE("what stands in the table's place is kept where it says something else") {
  ThreeSites three;
  const VisitFolder folder;
  const auto write = [&] {
    return write_visits_table(folder.file("visits.csv"), three.season, three.sites, three.plan());
  };
  CHECK_FALSE(write());
  CHECK_FALSE(write());
  const std::string own = read_whole(folder.file("visits.csv"));
  write_whole(folder.file("visits.csv"), "mine");
  CHECK(write() == folder.file("visits-before.csv"));
  CHECK(read_whole(folder.file("visits-before.csv")) == "mine");
  CHECK(read_whole(folder.file("visits.csv")) == own);
  write_whole(folder.file("visits.csv"), "mine too");
  CHECK(write() == folder.file("visits-before-2.csv"));
  CHECK(read_whole(folder.file("visits-before.csv")) == "mine");
  CHECK(read_whole(folder.file("visits-before-2.csv")) == "mine too");
  write_whole(folder.file("visits.csv"), "mine");
  CHECK(write() == folder.file("visits-before.csv"));  // kept already
  CHECK_FALSE(std::filesystem::exists(folder.file("visits-before-3.csv")));
}

TEST_CASE("a table that was not changed reads back as the assignments") {
  ThreeSites three;
  three.sites[2].plots = 60;
  const VisitFolder folder;
  const SeasonVisits own = three.plan();
  write_visits_table(folder.file("mine.csv"), three.season, three.sites, own);
  three.season.plan.visits.table = folder.file("mine.csv");
  Flags flags;
  const SeasonVisits read = plan_visits(three.season, three.sites, {}, 2027, flags);
  CHECK(weeks(read) == weeks(own));
  // The row without a week is the coordinator's to settle.
  CHECK(all(flags) ==
        "ASK mine.csv, row 7: Site c, visit 1 of 1 (3–23 May) has no week. Write the Monday of one.\n");
}

TEST_CASE("a changed table is obeyed, and each doubtful row is named") {
  ThreeSites three;
  const VisitFolder folder;
  three.season.plan.teams["south"] = {};
  const std::map<std::string, TeamPeople> teams = {{"south", {4, {"PB", "PC"}}}};
  SeasonVisits visits;
  const auto reading = [&](const std::string& rows) {
    write_whole(folder.file("mine.csv"), "Site;visit;team;week;people;hours\n" + rows);
    three.season.plan.visits.table = folder.file("mine.csv");
    Flags flags;
    visits = plan_visits(three.season, three.sites, teams, 2027, flags);
    return all(flags);
  };
  const std::string others = "BBB;1;south;17.5.2027;4;\n";
  // 17 May is after the visit's last day. An empty cell is worked out.
  CHECK(reading("AAA;1;north;2027-05-05;2;7,5\n" + others + "CCC;1;north;2027-05-17;;9.5 h\n") ==
        "ASK mine.csv, row 3: no day of the week of 17 May is open for =Site b, visit 1 of 1 (3–16 May). "
        "Sheets leave the week open. Choose a week of its open days.\n");
  CHECK(weeks(visits) == "3 May north AAA 1 2 75\n17 May north CCC 1 2 95\nno week south BBB 1 4 73\n");
  CHECK(conflicts(visits) == "");

  const std::string rest = "BBB;1;south;2027-05-10;2;5\nCCC;1;south;2027-05-10;2;5\n";
  const auto said_of = [&](const std::string& row) { return reading(row + "\n" + rest); };
  const std::string a = "Site \"a\", first, visit 1 of 1 (3–9 May)",
                    missing =
                        "ASK mine.csv: " + a +
                        ": no row of mine.csv takes it. Add one with team and week, if somebody is to go.\n";
  CHECK(said_of("AAA;1;north;2027-05-03;2;20") == "");
  CHECK(
      said_of("AAA;1;north;2027-05-03;2;21") ==
      "ASK mine.csv, row 2: the week of 3 May holds 21.0 person-hours for team north, which has 20.0. Move a "
      "visit to another week or team, or say more people in [visits.people].\n");
  CHECK(said_of("AAA;1;north;2027-05-03;1;5") ==
        "ASK mine.csv, row 2: " + a +
            ": 1 person is on the way to it. Nobody goes alone: send two at least.\n");
  CHECK(said_of("AAB;1;north;2027-05-03;2;5") ==
        "ASK mine.csv, row 2: 'AAB' is the code of no site. The row is left out. Is it AAA?\n" + missing);
  CHECK(conflicts(visits) == a + ": no row of mine.csv takes it.\n");
  CHECK(said_of("AAA;1;nort;2027-05-03;2;5") ==
        "ASK mine.csv, row 2: 'nort' is no team of [teams]. Sheets leave the team open. Is it north?\n");
  CHECK(weeks(visits).find("nort") == std::string::npos);
  // Twice the same row is one visit; half of it in another week is none.
  CHECK(said_of("AAA;1;north;2027-05-03;2;12\nAAA;1;north;2027-05-05;2;12") ==
        "ASK mine.csv, row 3: row 2 has the same visit, team and week. The row is left out. Take one of them "
        "out; if hours were split, write their sum in one.\n");
  CHECK(weeks(visits).starts_with("3 May north AAA 1 2 120\n10 May south BBB"));
  CHECK(
      said_of("AAA;1;north;2027-05-03;2;12\nCCC;1;north;2027-05-04;2;12") ==
      "ASK mine.csv, row 3: the week of 3 May holds 24.0 person-hours for team north, which has 20.0: rows 2 "
      "and 3. Move a visit to another week or team, or say more people in [visits.people].\n");
  CHECK(said_of("AAA;1;;2027-05-03;2;5") ==
        "ASK mine.csv, row 2: " + a + " has no team. Name one of [teams].\n");
  CHECK(said_of("AAA;2;north;2027-05-03;2;5") ==
        "ASK mine.csv, row 2: Site \"a\", first has no visit 2 any more. The row is left out. Take the row "
        "out, or "
        "write the number of one of its visits.\n" +
            missing);
  CHECK(said_of("AAA;x;north;2027-05-03;2;5") ==
        "STOP mine.csv, row 2: 'x' is no number of a visit. Write 1, 2, ….\n" + missing);
  CHECK(said_of("AAA;1;north;5/6/2027;2;5") ==
        "STOP mine.csv, row 2: '5/6/2027' is no day. Write the week's Monday, like 2027-05-17.\n" + missing);
  CHECK(said_of("AAA;1;north;2027-05-03;two;5") ==
        "STOP mine.csv, row 2: 'two' is no number of people. Write a whole number.\n" + missing);
  CHECK(said_of("AAA;1;north;2027-05-03;2;-5") ==
        "STOP mine.csv, row 2: '-5' is no number of hours. Write person-hours, like 12.5.\n" + missing);
  CHECK(said_of("AAA;1;south;2027-05-03;2;5") == "");
  CHECK(conflicts(visits).find("nobody of team south has passed PA.") != std::string::npos);
  three.season.plan.returns.day_first = false;  // 5/6 is 6 May then
  CHECK(said_of("AAA;1;north;5/6/2027;2;5") == "");
}

TEST_CASE("a table of visits that is no such table, or not there") {
  ThreeSites three;
  const VisitFolder folder;
  three.season.plan.visits.table = folder.file("mine.csv");
  Flags flags;
  CHECK(plan_visits(three.season, three.sites, {}, 2027, flags).assignments.empty());
  CHECK(flags.stopped());
  write_whole(folder.file("mine.csv"), "site,visit,team\nAAA,1,north\n");
  CHECK_THROWS_WITH_AS(
      (void)plan_visits(three.season, three.sites, {}, 2027, flags),
      "mine.csv, row 1: has no column week. A table of visits has site, visit, team, week, people "
      "and hours.",
      InputError);
}

TEST_CASE("a visit that moved since the table was written is a note") {
  ThreeSites three;
  const VisitFolder folder;
  write_visits_table(folder.file("mine.csv"), three.season, three.sites, three.plan());
  three.season.plan.visits.table = folder.file("mine.csv");
  three.season.plan.returns.shift_days = 1;
  Flags flags;
  (void)plan_visits(three.season, three.sites, {}, 2027, flags);
  CHECK(flags.count(Severity::note) == 3);
  CHECK(flags.count(Severity::ask) == 0);
  CHECK(
      all(flags).find("NOTE mine.csv, row 2: the row has 2027-05-03 to 2027-05-09, and the visit is 4–10 May "
                      "now. Look whether its week still fits.") == 0);
}

TEST_CASE("hostile names pass through the table") {
  ThreeSites three;
  const VisitFolder folder;
  const std::string hostile = "<script>\"x\",\n=1+1\xE2\x80\xAE" + std::string(300, 'n') + "\xF0\x9F\x8C\xBF";
  three.season.plan.teams = {{hostile, {"AAA", "BBB", "CCC"}}};
  three.season.plan.visits.people = {{hostile, 2}};
  three.sites[0].name = hostile;
  const SeasonVisits own = three.plan();
  write_visits_table(folder.file("mine.csv"), three.season, three.sites, own);
  three.season.plan.visits.table = folder.file("mine.csv");
  Flags flags;
  CHECK(weeks(plan_visits(three.season, three.sites, {}, 2027, flags)) == weeks(own));
  CHECK(all(flags) == "");
}

TEST_CASE("codes of sites and habitats that are none are asked about") {
  ThreeSites three;
  Plan& plan = three.season.plan;
  plan.visits.closures = {{{"AAB"}, {5, 1}, {5, 2}, {}, "burn", {"plan.toml", 9, {}}}};
  plan.visits.permission["XYZ"].place = {"plan.toml", 12, {}};
  CautionSpec caution;
  caution.text = "cattle";
  caution.habitats = {"prairy"};
  caution.place = {"plan.toml", 14, {}};
  plan.cautions = {caution};
  three.sites[0].habitat = "prairie";
  const std::set<std::string> codes = {"AAA", "BBB", "CCC"};
  Flags flags;
  check_named_sites(plan, codes, three.sites, flags);
  CHECK(all(flags) ==
        "STOP plan.toml:9: a closure names AAB, and no site has that code. Did you mean AAA?\n"
        "STOP plan.toml:12: [visits.permission] names XYZ, and no site has that code. There are AAA, BBB and "
        "CCC.\n"
        "ASK plan.toml:14: a caution is for the habitat \"prairy\", which no site has. Did you mean "
        "prairie?\n");
  three.sites[0].habitat.clear();
  Flags without;
  check_named_sites(plan, codes, three.sites, without);
  CHECK(all(without).find("no habitat of any site is known") != std::string::npos);
  plan.sites.only = {"AAA"};
  Flags some;
  check_named_sites(plan, codes, three.sites, some);
  CHECK(all(some) == "");
}

}  // namespace assignments_test
