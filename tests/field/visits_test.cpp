// The fewest visits that catch every species, and what stands in their way.
#include <doctest/doctest.h>

#include <algorithm>

#include "swardline/base/random.hpp"
#include "visit_season.hpp"

namespace visits_test {

using namespace swardline;
using namespace swardline::testing;

namespace {

ClosureSpec closure(std::vector<std::string> sites, DayOfYear from, DayOfYear until, std::string reason) {
  return {std::move(sites), from, until, {}, std::move(reason), {}};
}

SiteSpecies meadow(const Season& season) {
  return site_with(season, "ANL", "Arnley Meadow", {"PTUB", "PTEN", "PDIG", "PALU"});
}
SiteSpecies woods(const Season& season) {
  return site_with(season, "NBK", "Ninebark Woods", {"PLAX", "PCAL", "PDIG", "PPAL"});
}

}  // namespace

// The two stories were worked by hand from the windows.
TEST_CASE("one visit of 12 days to Arnley Meadow, two to Ninebark Woods") {
  const Season season = story_season();
  const SeasonVisits visits = planned(season, {woods(season), meadow(season)});
  CHECK(lines(season, visits) ==
        "ANL 1 of 1: 20–31 May PALU PDIG PTEN PTUB\n"
        "NBK 1 of 2: 15 Apr–15 May PLAX\n"
        "NBK 2 of 2: 15 May–5 Jun PCAL PDIG PPAL\n");
  CHECK(conflicts(visits) == "");
  REQUIRE(visits.visits.size() == 3);
  CHECK(visits.visits[0].open_days() == 12);
  CHECK(visits.visits[1].also.empty());
  CHECK(visits.visits[2].also.empty());
}

TEST_CASE("a season 8 days early moves all of them by 8 days") {
  Season season = story_season();
  const SeasonVisits usual = planned(season, {woods(season), meadow(season)});
  season.plan.returns.shift_days = -8;
  const SeasonVisits early = planned(season, {woods(season), meadow(season)});
  REQUIRE(early.visits.size() == usual.visits.size());
  for (std::size_t i = 0; i < usual.visits.size(); ++i) {
    CHECK(early.visits[i].from == usual.visits[i].from - 8);
    CHECK(early.visits[i].until == usual.visits[i].until - 8);
    CHECK(early.visits[i].species == usual.visits[i].species);
  }
}

TEST_CASE("without a margin for weather one day is enough for Ninebark Woods") {
  Season season = story_season();
  season.plan.visits.weather_days = 0;
  CHECK(lines(season, planned(season, {woods(season)})) == "NBK 1 of 1: 15 May PCAL PDIG PLAX PPAL\n");
}

TEST_CASE("a species that can be counted on every day of another visit is named there") {
  Season season = story_season();
  // Between 1 and 15 May: P. pallidus can be counted then, but goes with those that come later.
  season.plan.visits.closures = {closure({"NBK"}, {4, 1}, {4, 30}, "burn")};
  const SeasonVisits visits = planned(season, {woods(season)});
  CHECK(lines(season, visits) == "NBK 1 of 2: 1–15 May PLAX\nNBK 2 of 2: 15 May–5 Jun PCAL PDIG PPAL\n");
  CHECK(codes(season, visits.visits.at(0).also) == "PPAL");
}

TEST_CASE("closures take days out of a visit and are named with it") {
  Season season = story_season();
  season.plan.visits.closures = {
      closure({"ANL"}, {5, 18}, {5, 22}, "flood"), closure({}, {5, 26}, {5, 27}, "mowing"),
      closure({"NBK"}, {5, 1}, {6, 30}, "burn"), closure({"ANL"}, {6, 5}, {6, 9}, "hunt")};
  const SeasonVisits visits = planned(season, {meadow(season)});
  REQUIRE(lines(season, visits) == "ANL 1 of 1: 23–31 May PALU PDIG PTEN PTUB\n");
  const Visit& visit = visits.visits[0];
  CHECK(visit.open_days() == 7);
  REQUIRE(visit.open.size() == 2);
  CHECK(short_range(visit.open[0].from, visit.open[0].until) == "23–25 May");
  REQUIRE(visit.closed.size() == 2);
  CHECK(visit.closed[0].why == "flood");
  CHECK(short_range(visit.closed[0].from, visit.closed[0].until) == "18–22 May");
  CHECK(visit.closed[1].why == "mowing");
  // One day more, and the days left are too few for the margin.
  season.plan.visits.closures[1].from = {5, 25};
  CHECK(planned(season, {meadow(season)}).visits.size() == 1);
  season.plan.visits.closures[1].from = {5, 24};
  CHECK(planned(season, {meadow(season)}).visits.size() == 2);
}

TEST_CASE("a closure of one year holds in that year only, one over New Year in both") {
  Season season = story_season();
  ClosureSpec once = closure({}, {5, 20}, {5, 31}, "flood");
  once.year = 2028;
  season.plan.visits.closures = {once};
  CHECK(planned(season, {meadow(season)}, 2027).visits.size() == 1);
  CHECK(planned(season, {meadow(season)}, 2028).visits.size() == 2);
  season.plan.visits.closures = {closure({}, {11, 1}, {5, 24}, "hunt")};
  CHECK(lines(season, planned(season, {meadow(season)})) == "ANL 1 of 1: 25–31 May PALU PDIG PTEN PTUB\n");
}

TEST_CASE("what no visit can catch is said in words") {
  Season season = story_season();
  season.plan.visits.closures = {closure({"NBK"}, {5, 10}, {6, 25}, "turkey season")};
  SeasonVisits visits = planned(season, {woods(season)});
  CHECK(
      conflicts(visits) ==
      "P. calycosus at Ninebark Woods: turkey season closes all of 10 May–25 Jun. No visit can catch it.\n"
      "P. digitalis at Ninebark Woods: only 5 of 15 May–30 Jun are open, and a visit wants 6 (5 of them for "
      "bad weather).\n");
  CHECK(lines(season, visits) == "NBK 1 of 2: 20 Apr–9 May PLAX PPAL\nNBK 2 of 2: 26–30 Jun PDIG\n");
  REQUIRE(visits.conflict_of.size() == 2);
  CHECK(visits.conflict_of[0].site == "NBK");

  season.plan.visits.closures = {closure({}, {5, 1}, {5, 31}, "flood"),
                                 closure({}, {6, 1}, {6, 30}, "mowing")};
  CHECK(conflicts(planned(season, {woods(season)}))
            .find("P. calycosus at Ninebark Woods: flood and mowing "
                  "close all of 10 May–25 Jun.") == 0);
}

TEST_CASE("permission opens days and closes the others") {
  Season season = story_season();
  PermissionSpec& permission = season.plan.visits.permission["NBK"];
  permission.status = "yes";
  permission.from = {5, 20};
  SeasonVisits visits = planned(season, {woods(season)});
  CHECK(lines(season, visits) == "NBK 1 of 1: 20 May–5 Jun PCAL PDIG PPAL\n");
  CHECK(
      conflicts(visits) ==
      "P. laxiflorus at Ninebark Woods: no permission before 20 May, and it can be counted 15 Apr–15 May. No "
      "visit can catch it.\n");
  permission.from = {4, 1};
  permission.until = {5, 12};
  visits = planned(season, {woods(season)});
  CHECK(
      conflicts(visits) ==
      "P. calycosus at Ninebark Woods: only 3 of 10 May–25 Jun are open, and a visit wants 6 (5 of them for "
      "bad weather).\nP. digitalis at Ninebark Woods: no permission after 12 May, and it can be counted 15 "
      "May–30 Jun. No visit can catch it.\n");
  // The margin of two species is not given away for the third.
  CHECK(lines(season, visits) == "NBK 1 of 2: 20 Apr–12 May PLAX PPAL\nNBK 2 of 2: 10–12 May PCAL\n");
  CHECK(codes(season, visits.visits[1].also) == "PLAX PPAL");

  for (const auto& [status, said] : std::map<std::string, std::string>{
           {"no", "Ninebark Woods: there is no permission. No visit can be made.\n"},
           {"withdrawn", "Ninebark Woods: permission was withdrawn. No visit can be made.\n"}}) {
    permission = {};
    permission.status = status;
    visits = planned(season, {woods(season)});
    CHECK(visits.visits.empty());
    CHECK(conflicts(visits) == said);
  }
  permission.status = "asked";
  visits = planned(season, {woods(season)});
  CHECK(visits.visits.size() == 2);
  CHECK(conflicts(visits) ==
        "Ninebark Woods: permission is asked and not given yet. Nobody enters before there is an answer.\n");
}

TEST_CASE("species without a window, sites without species or plots") {
  Season season = story_season();
  season.sheets[5].window.reset();  // PTEN
  const SeasonVisits visits = planned(season, {site_with(season, "HDR", "", {"PALU", "PTEN"})});
  CHECK(lines(season, visits) == "HDR 1 of 1: 10 May–20 Jun PALU PTEN\n");
  CHECK(conflicts(planned(season, {site_with(season, "HDR", "", {"PTEN"})})) ==
        "HDR: no visit can be planned, for the sheet of PTEN has no window.\n");
  CHECK(conflicts(planned(season, {site_with(season, "HDR", "", {})})) ==
        "HDR: no species is likely there, so no visit is planned.\n");
  const SeasonVisits none = planned(season, {site_with(season, "HDR", "", {"PALU"}, 0)});
  CHECK(none.visits.empty());
  CHECK(none.conflicts.empty());
}

TEST_CASE("a window over New Year, and the season's year") {
  Season season = story_season();
  season.sheets = {sheet_of("PW", "Winter plant", {12, 20}, {1, 10}),
                   sheet_of("PX", "Other", {1, 2}, {1, 31})};
  const SeasonVisits visits = planned(season, {site_with(season, "HDR", "", {"PW", "PX"})});
  CHECK(lines(season, visits) == "HDR 1 of 2: 2–31 Jan PX\nHDR 2 of 2: 20 Dec–10 Jan PW\n");
  Plan plan;
  const Day today = day_of(2031, 3, 1);
  CHECK(season_year(plan, today) == 2031);
  plan.panels.given = true;
  plan.panels.year = 2028;
  CHECK(season_year(plan, today) == 2028);
  plan.visits.year = 2029;
  CHECK(season_year(plan, today) == 2029);
}

namespace {

/// A random site: windows of a few weeks in May and June, closures between.
struct RandomSite {
  Season season;
  SiteSpecies site;
  std::vector<std::vector<Day>> open;  ///< days of each species
  int wanted = 1;

  explicit RandomSite(std::uint64_t number) {
    RandomStream random(RandomKey(7, "visits").under(number));
    const auto day = [](std::uint64_t at) {  // of a leap year's spring
      return at < 31 ? DayOfYear{5, int(at) + 1} : DayOfYear{6, int(at) - 30};
    };
    const std::size_t species = 1 + std::size_t(random.below(6));
    std::vector<std::string> names;
    for (std::size_t i = 0; i < species; ++i) {
      const std::uint64_t from = random.below(45), length = 1 + random.below(16);
      names.push_back("P" + std::to_string(i));
      season.sheets.push_back(sheet_of(names.back(), "Plant " + names.back(), day(from), day(from + length)));
    }
    const std::uint64_t closures = random.below(4);
    for (std::uint64_t i = 0; i < closures; ++i) {
      const std::uint64_t from = random.below(55);
      season.plan.visits.closures.push_back(
          closure({}, day(from), day(std::min<std::uint64_t>(60, from + random.below(6))), "flood"));
    }
    season.plan.visits.weather_days = int(random.below(7));
    wanted = 1 + season.plan.visits.weather_days;
    site = site_with(season, "HDR", "Hadrel", names);
    for (const Sheet& sheet : season.sheets) {
      std::vector<Day> days;
      const DayWindow window = window_in(*sheet.window, 2027, 0);
      for (Day at = window.from; at <= window.until; ++at) {
        const bool closed = std::any_of(season.plan.visits.closures.begin(),
                                        season.plan.visits.closures.end(), [&](const ClosureSpec& one) {
                                          return window_in({one.from, one.until}, 2027, 0).holds(at);
                                        });
        if (!closed) days.push_back(at);
      }
      open.push_back(days);
    }
  }

  /// Whether one visit can catch these: straight from the rule, day by day.
  [[nodiscard]] bool together(const std::vector<std::size_t>& group) const {
    std::vector<Day> shared = open[group.front()];
    std::size_t needed = 0;
    for (const std::size_t one : group) {
      std::vector<Day> both;
      std::set_intersection(shared.begin(), shared.end(), open[one].begin(), open[one].end(),
                            std::back_inserter(both));
      shared = both;
      needed = std::max(needed, std::min(std::size_t(wanted), open[one].size()));
    }
    return shared.size() >= needed;
  }

  /// The fewest groups over all ways to part the species that have an open day.
  [[nodiscard]] std::size_t fewest() const {
    std::vector<std::size_t> there;
    for (std::size_t i = 0; i < open.size(); ++i)
      if (!open[i].empty()) there.push_back(i);
    std::size_t best = there.size();
    std::vector<std::vector<std::size_t>> groups;
    part(there, 0, groups, best);
    return best;
  }
  void part(const std::vector<std::size_t>& there, std::size_t next,
            std::vector<std::vector<std::size_t>>& groups, std::size_t& best) const {
    if (groups.size() > best) return;
    if (next == there.size()) {
      best = std::min(best, groups.size());
      return;
    }
    for (std::size_t i = 0; i < groups.size(); ++i) {
      groups[i].push_back(there[next]);
      if (together(groups[i])) part(there, next + 1, groups, best);
      groups[i].pop_back();
    }
    groups.push_back({there[next]});
    part(there, next + 1, groups, best);
    groups.pop_back();
  }
};

}  // namespace

TEST_CASE("no way to part the species gives fewer visits") {
  std::size_t several = 0, with_closures = 0, uncaught = 0;
  for (std::uint64_t number = 0; number < 3000; ++number) {
    const RandomSite one(number);
    const SeasonVisits visits = planned(one.season, {one.site});
    CAPTURE(number);
    REQUIRE(visits.visits.size() == one.fewest());
    several += visits.visits.size() > 1 ? 1 : 0;
    std::vector<int> caught(one.open.size(), 0);
    for (const Visit& visit : visits.visits) {
      REQUIRE(one.together(visit.species));
      with_closures += visit.open.size() > 1 ? 1 : 0;
      REQUIRE(visit.open.front().from == visit.from);
      REQUIRE(visit.open.back().until == visit.until);
      for (const std::size_t sheet : visit.species) ++caught[sheet];
      // Every species caught or named can be counted on every open day.
      std::vector<std::size_t> all = visit.species;
      all.insert(all.end(), visit.also.begin(), visit.also.end());
      for (const std::size_t sheet : all)
        for (const DayRange& range : visit.open)
          for (Day day = range.from; day <= range.until; ++day)
            REQUIRE(std::binary_search(one.open[sheet].begin(), one.open[sheet].end(), day));
    }
    for (std::size_t i = 0; i < caught.size(); ++i) {
      REQUIRE(caught[i] == (one.open[i].empty() ? 0 : 1));
      uncaught += one.open[i].empty() ? 1 : 0;
    }
  }
  // The cases are not all easy ones.
  CHECK(several > 1000);
  CHECK(with_closures > 100);
  CHECK(uncaught > 10);
}

}  // namespace visits_test
