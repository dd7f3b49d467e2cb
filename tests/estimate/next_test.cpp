// Next season from this one.
#include "swardline/estimate/next.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>

#include "made_seasons.hpp"
#include "swardline/effort/pilot.hpp"
#include "swardline/season/revisit.hpp"

namespace next_test {

using namespace swardline;
using namespace swardline::testing;

namespace {

const std::string good = "ANL|score=50-75|v1", poor = "ANL|score=0-25|v1";

MadeSeason meadow(int year) {
  MadeSeason season(year);
  season.site("ANL", 140000).stratum(good, "ANL", 42000).stratum(poor, "ANL", 98000);
  season.season.strata[0].planned = 6;
  season.season.strata[1].planned = 6;
  const double stems[2][6] = {{12, 0, 5, 9, 3, 7}, {0, 0, 1, 0, 0, 2}};
  for (int i = 0; i < 6; ++i) {
    season.plot("ANL1" + std::to_string(i), stems[0][i] + (2027 - year) * (i % 3), 20, good);
    season.plot("ANL2" + std::to_string(i), stems[1][i], 20, poor);
  }
  return season;
}

Season plan() {
  Season season;
  season.plan.sample.total = 12;
  season.plan.sample.least_per_stratum = 2;
  season.plan.effort.given = true;
  season.plan.effort.change = 0.20;
  season.plan.effort.precision = 0.25;
  Sheet sheet;
  sheet.code = "PTUB";
  season.sheets = {sheet};
  return season;
}

const std::vector<SiteWork> sites = {{"ANL", 140000, 0, 0}};

NextSeason next_of(const Season& season, const MadeSeason& now, const MadeSeason* earlier = nullptr) {
  Flags flags;
  return next_season(season, sites, now.season, earlier != nullptr ? &earlier->season : nullptr, flags);
}

}  // namespace

TEST_CASE("means and spreads are those of the ground, not of the plots") {
  const SeasonSpread spread = spreads_of(meadow(2027).season, nullptr, plan()).front();
  // Strata of 30 and 70 %; means 6 and 0.5, variances 18.4 and 0.7 (of six plots each), by hand.
  CHECK(spread.plots == 12);
  CHECK(spread.empty_plots == 5);
  CHECK(near(spread.mean, 0.3 * 6 + 0.7 * 0.5, 1e-12));
  const double good_s2 = (36.0 + 36 + 1 + 9 + 9 + 1) / 5, poor_s2 = (4 * 0.25 + 0.25 + 2.25) / 5;
  CHECK(near(spread.sd, std::sqrt(12 * (0.09 * good_s2 / 6 + 0.49 * poor_s2 / 6)), 1e-12));
  REQUIRE(spread.occupied);
  CHECK(near(*spread.occupied, 0.3 * 5 / 6 + 0.7 * 2 / 6, 1e-12));
  CHECK(near(spread.stratum_sd.at(good), std::sqrt(good_s2), 1e-12));
  CHECK(near(spread.stratum_mean.at(poor), 0.5, 1e-12));
  CHECK_FALSE(spread.sd_of_differences);
}

TEST_CASE("a stratum with too few plots borrows from its band over all sites") {
  MadeSeason now = meadow(2027);
  const std::string far = "QPR|score=50-75|v1";
  now.site("QPR", 60000).stratum(far, "QPR", 42000);
  now.plot("QPR01", 2, 20, far);
  now.plot("QPR02", 4, 20, far);
  const SeasonSpread spread = spreads_of(now.season, nullptr, plan()).front();
  // Spread within strata: (92 + 2) / (5 + 1); mean by equal ground: (6 + 3) / 2.
  CHECK(near(spread.stratum_sd.at(far), std::sqrt(94.0 / 6), 1e-12));
  CHECK(near(spread.stratum_mean.at(far), 4.5, 1e-12));
  CHECK(near(spread.stratum_mean.at(good), 6, 1e-12));
}

TEST_CASE("pairs with the earlier season give the spread of differences") {
  const MadeSeason then = meadow(2026), now = meadow(2027);
  const SeasonSpread spread = spreads_of(now.season, &then.season, plan()).front();
  CHECK(spread.pairs == 12);
  REQUIRE(spread.sd_of_differences);
  // Differences in the good stratum 0, 1, 2, 0, 1, 2: variance 0.8; none in the other; 12 pairs.
  CHECK(near(*spread.sd_of_differences, std::sqrt(12 * 0.09 * 0.8 / 6), 1e-9));
  REQUIRE(spread.correlation);
  CHECK(near(sd_of_differences(spread.sd, *spread.correlation), *spread.sd_of_differences, 1e-9));
}

TEST_CASE("effort is asked again with this season's spread and refusals") {
  const MadeSeason then = meadow(2026);
  MadeSeason now = meadow(2027);
  now.lost("ANL30", "no permission");
  now.lost("ANL31", "no permission");
  now.lost("ANL32", "under water");
  const NextSeason next = next_of(plan(), now, &then);
  CHECK(next.refusals.sent == 15);
  CHECK(near(next.refusals.share(), 0.2, 1e-12));
  REQUIRE(next.refusals.reasons.size() == 2);
  CHECK(next.refusals.reasons[0].first == "no permission");
  CHECK(next.year == 2028);
  REQUIRE(next.effort);
  const SpeciesEffort& species = next.effort->species.front();
  CHECK(near(species.spread.mean, 2.15, 1e-12));
  const Answer* change = species.answer(Question::change);
  REQUIRE(change != nullptr);
  REQUIRE(change->need);
  const ChangeTest test{0.10, 0.80, false};
  CHECK(near(change->need->by_formula,
             plots_for_change(*species.spread.sd_of_differences, 0.2 * 2.15, test, Revisit::same_plots),
             1e-9));
  // One plot in five will not be counted.
  CHECK(change->need->planned == int(std::ceil(change->need->counted / 0.8 - 1e-9)));
  const std::string words = in_words(next, plan());
  INFO(words);
  CHECK(holds(words,
              "In 2027 teams were sent to 15 plots and counted 12; 20 % were not counted: 2 no permission "
              "and 1 under water."));
  CHECK(holds(words, "12 plots of 2027, 5 of them empty; differences of 12 pairs"));
  CHECK(holds(words, "refused = 0.2\n"));
}

TEST_CASE("no target change: nothing to plan for") {
  Season season = plan();
  season.plan.effort = {};
  Flags flags;
  const NextSeason next = next_season(season, sites, meadow(2027).season, nullptr, flags);
  CHECK_FALSE(next.effort);
  REQUIRE(flags.all().size() == 1);
  CHECK(flags.all()[0].severity == Severity::ask);
  CHECK(holds(flags.all()[0].meaning, "nothing to plan for: how big a change matters?"));
  CHECK(holds(in_words(next, season), "how big a change matters?"));
  // What does not hang on it is told all the same.
  CHECK(next.strata.size() == 2);
}

TEST_CASE("plots go where they lower the error most") {
  const NextSeason next = next_of(plan(), meadow(2027));
  REQUIRE(next.strata.size() == 2);
  CHECK(next.total == 12);
  CHECK(next.strata[0].next + next.strata[1].next == 12);
  // Neyman: 0.3 × 4.29 against 0.7 × 0.837, so 8.2 and 3.8 of 12.
  CHECK(next.strata[0].next == 8);
  CHECK(next.strata[1].next == 4);
  CHECK(next.strata[0].counted == 6);
}

TEST_CASE("counts that tell nothing of a spread") {
  MadeSeason now = meadow(2027);
  SUBCASE("none found") {
    for (EvaluatedUnit& unit : now.season.units) unit.counts[0].sure = 0;
    const NextSeason next = next_of(plan(), now);
    CHECK(next.spreads[0].silent == "12 plots all zero tell nothing about spread");
    CHECK(holds(in_words(next, plan()), "PTUB: 12 plots all zero tell nothing about spread."));
    CHECK_FALSE(next.no_allocation.empty());
    CHECK_FALSE(next.effort);
  }
  SUBCASE("none found, but the plan expects some") {
    for (EvaluatedUnit& unit : now.season.units) unit.counts[0].sure = 0;
    Season season = plan();
    season.plan.effort.expected["PTUB"] = {2.4, 3.6, 2.9, {}, {}};
    const NextSeason next = next_of(season, now);
    REQUIRE(next.effort);
    CHECK(next.effort->species.front().spread.basis == "the plan");
  }
  SUBCASE("not counted") {
    now.season.species = {"PDIG"};
    CHECK(next_of(plan(), now).spreads[0].silent == "not counted in 2027");
  }
}

TEST_CASE("who is due and who rests") {
  Season season = plan();
  std::string problem;
  PanelsSpec& panels = season.plan.panels;
  panels.given = true;
  panels.pattern = "[1-0,1-3]";
  panels.parts = read_pattern(panels.pattern, problem);
  panels.start = 2026;
  panels.year = 2027;
  MadeSeason now = meadow(2027);
  for (std::size_t i = 0; i < now.season.units.size(); ++i)
    now.season.units[i].panel = i < 6 ? "A" : i < 8 ? "B1" : i < 10 ? "B2" : "B3";
  const NextSeason next = next_of(season, now);
  REQUIRE(next.panels.size() == 5);
  CHECK(next.year == 2028);
  CHECK(next.panels[0].name == "A");
  CHECK(next.panels[0].due);
  CHECK(next.panels[0].plots == 6);
  CHECK_FALSE(next.panels[1].due);  // met in 2026
  CHECK(next.panels[1].due_in == 2030);
  CHECK_FALSE(next.panels[2].due);
  CHECK(next.panels[2].due_in == 2031);
  CHECK(next.panels[3].due);
  CHECK(next.panels[4].due_in == 2029);
  const std::string words = in_words(next, season);
  INFO(words);
  CHECK(holds(words, "Panels [1-0,1-3] in 2028:"));
  CHECK(holds(words, "rests until 2030"));
  CHECK(holds(next.plan_lines, "[panels]\nyear = 2028"));
  panels.years = 2;
  CHECK(next_of(season, now).panels_end == "plots were drawn for 2026 to 2027: 2028 needs a new draw");
}

TEST_CASE("lines for the plan name bands as the plan does") {
  const NextSeason next = next_of(plan(), meadow(2027));
  INFO(next.plan_lines);
  CHECK(holds(next.plan_lines, "[sample.spread.PTUB]\nmean = { \"0.00-0.25\" = 0.5, \"0.50-0.75\" = 6 }\n"));
  CHECK(holds(next.plan_lines, "sd   = { \"0.00-0.25\" = 0.837, \"0.50-0.75\" = 4.29 }"));
}

TEST_CASE("plots that nothing came back of are no refusals") {
  MadeSeason now = meadow(2027);
  now.lost("ANL30", "no permission");
  now.lost("ANL31", "no return");
  now.lost("ANL32", "");
  const NextSeason next = next_of(plan(), now);
  CHECK(next.refusals.sent == 13);
  CHECK(next.refusals.no_return == 2);
  CHECK(near(next.refusals.share(), 1.0 / 13, 1e-12));
  const std::string words = in_words(next, plan());
  INFO(words);
  CHECK(holds(words,
              "counted 12; 7.69 % were not counted: 1 no permission.\nNothing came back of 2 plots: left "
              "out of that share.\n"));
  CHECK(holds(next.plan_lines, "refused = 0.0769\n"));
  CHECK(holds(to_json(next), "\"no_return\": 2"));
}

TEST_CASE("a band that too few plots tell of says so where it has the mean of all") {
  MadeSeason now = meadow(2027);
  const std::string middle = "ANL|score=25-50|v1";
  now.stratum(middle, "ANL", 20000);
  now.plot("ANL41", 3, 20, middle);
  const NextSeason next = next_of(plan(), now);
  INFO(next.plan_lines);
  CHECK(holds(next.plan_lines,
              "[sample.spread.PTUB]\n# \"0.25-0.50\": too few plots: the mean of all\nmean = {"));
  CHECK_FALSE(holds(next_of(plan(), meadow(2027)).plan_lines, "too few plots"));
}

TEST_CASE("the pilot's table is what the plan's pilot reads") {
  const MadeSeason then = meadow(2026);
  MadeSeason now = meadow(2027);
  now.season.units[0].east += 14;              // moved
  now.season.units[1].counts[0].area_m2 = 10;  // half a plot, 0 stems
  now.season.units[2].counts[0].sure = 2.5;
  now.season.units[2].counts[0].area_m2 = 10;  // 5 on a whole plot
  const std::filesystem::path file = std::filesystem::temp_directory_path() / "swardline_next_pilot_test.csv";
  std::ofstream(file) << next_pilot_csv(plan(), now.season, &then.season);
  Flags flags;
  GDALAllRegister();
  const Pilot pilot = read_pilot(file, {"PTUB"}, flags);
  std::filesystem::remove(file);
  for (const Flag& flag : flags.all()) FAIL(flag.meaning);
  REQUIRE(pilot.count("PTUB") == 1);
  CHECK(pilot.at("PTUB").plots == 12);
  CHECK(pilot.at("PTUB").pairs == 11);
  CHECK(near(pilot.at("PTUB").mean, (36.0 + 1 * 0 + 3) / 12, 0.5));
}

}  // namespace next_test
