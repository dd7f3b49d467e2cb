// Effort by species, hours, and what fails first.
#include <doctest/doctest.h>

#include <cmath>

#include "swardline/effort/effort.hpp"

using namespace swardline;

namespace {

Season season_of(double mean, double sd, std::optional<double> differences) {
  Season season;
  season.plan.effort.given = true;
  season.plan.effort.precision = 0.25;
  season.plan.effort.change = 0.20;
  season.plan.effort.expected["PTUB"] = {mean, sd, differences};
  return season;
}

Effort effort_of(const Season& season, const std::vector<SiteGround>& sites, int planned) {
  Flags flags;
  return work_out_effort(season, expected_spreads(season, {}, flags), sites, planned);
}

bool holds(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

}  // namespace

TEST_CASE("a worked season: plots for limits and for a change, and what 150 plots show") {
  // BLM TR 1730-1, equations 1 and 3, with its finite-area term; z of 1.6449 and 0.8416. Mean 2.4,
  // SD 3.6, limits of 25 % at 90 %: 97.4; a change of 20 %, SD of differences 2.9, 90 % and 80 %: 225.7.
  Season season = season_of(2.4, 3.6, 2.9);
  season.plan.sample.shape = UnitShape::square;
  season.plan.sample.size_m = {10, 10};
  const std::vector<SiteGround> sites = {{"QPR", 40000, 0, 0}};  // 400 plots fit
  const Effort effort = effort_of(season, sites, 150);
  CHECK(effort.possible_plots == 400);
  REQUIRE(effort.species.size() == 1);
  const SpeciesEffort& species = effort.species.front();
  CHECK(std::ceil(species.precision->by_normal) == 98);
  CHECK(std::ceil(species.change->by_normal) == 226);
  CHECK(species.precision->adjusted > species.precision->by_t);
  const std::string words = in_words(effort, season.plan.effort);
  CHECK(holds(words, "98 plots by the formula (79 where 400 fit)"));
  CHECK(holds(words, "226 plots by the formula"));
  CHECK(holds(words, "which show a change of 24.5 %"));
  REQUIRE(effort.failing.size() == 1);  // 98 plots are among the 150
  CHECK(effort.failing.front().change);
}

TEST_CASE("plots that will be refused are planned for") {
  Season season = season_of(2.4, 3.6, 2.9);
  const std::vector<SiteGround> sites = {{"QPR", 4e6, 0, 0}};
  const Need all = *effort_of(season, sites, 100).species.front().precision;
  season.plan.effort.refused = 0.2;
  const Need fewer = *effort_of(season, sites, 100).species.front().precision;
  CHECK(fewer.in_area == all.in_area);
  CHECK(fewer.planned == std::ceil(all.in_area / 0.8));
}

TEST_CASE("hours: counting, walking and getting there, for all people") {
  EffortSpec spec;
  spec.minutes_per_plot = 20;
  spec.minutes_per_site = 60;
  spec.walk_m_per_minute = 30;
  spec.people = 2;
  const std::vector<SiteGround> one = {{"QPR", 10000, 0, 0}};
  // 16 plots: 320 minutes of counting, 0.7124 x sqrt(16 x 10,000) = 285 m of walking, one hour to get there.
  CHECK(hours_for(16, one, spec) == doctest::Approx(2 * (320 + 284.96 / 30 + 60) / 60));
  const std::vector<SiteGround> walked = {{"QPR", 10000, 4, 300}};
  CHECK(hours_for(16, walked, spec) == doctest::Approx(2 * (320 + 600.0 / 30 + 60) / 60));
  const std::vector<SiteGround> two = {{"QPR", 10000, 0, 0}, {"CND", 30000, 0, 0}};
  CHECK(hours_for(16, two, spec) > hours_for(16, one, spec) + 2);
  for (const int plots : {1, 7, 50, 333}) {
    const double hours = hours_for(plots, two, spec);
    CHECK(plots_for_hours(hours, two, spec) == plots);
    CHECK(plots_for_hours(hours - 1e-6, two, spec) == plots - 1);
  }
  CHECK(plots_for_hours(1, two, spec) == 0);
}

TEST_CASE("hours that do not pay for every answer say which fails first") {
  Season season = season_of(2.4, 3.6, 2.9);
  season.plan.effort.expected["PGRA"] = {0.3, 1.2, 1.0};
  season.plan.effort.hours = 120;
  const std::vector<SiteGround> sites = {{"QPR", 4e6, 0, 0}};
  const Effort effort = effort_of(season, sites, 240);
  REQUIRE(effort.affordable);
  CHECK(hours_for(*effort.affordable, sites, season.plan.effort) <= 120);
  REQUIRE(effort.failing.size() >= 2);
  CHECK(effort.failing.front().species == "PGRA");
  for (std::size_t i = 1; i < effort.failing.size(); ++i)
    CHECK(effort.failing[i - 1].needed >= effort.failing[i].needed);
  CHECK(holds(in_words(effort, season.plan.effort), "The first to fail."));
}

TEST_CASE("what cannot be answered says why") {
  Season season = season_of(2.4, 0, {});
  const std::vector<SiteGround> sites = {{"QPR", 4e6, 0, 0}};
  CHECK(holds(effort_of(season, sites, 10).species.front().spread.unanswered, "standard deviation of 0"));
  season.plan.effort.variance_law = {2.5, 1.4};
  // Taylor 1961: variance 2.5 x 2.4^1.4.
  const SpeciesEffort by_law = effort_of(season, sites, 10).species.front();
  CHECK(by_law.spread.sd == doctest::Approx(std::sqrt(2.5 * std::pow(2.4, 1.4))));
  CHECK(holds(*by_law.change_unanswered, "differences"));
  season.plan.effort.correlation = 0.75;
  const SpeciesEffort correlated = effort_of(season, sites, 10).species.front();
  CHECK(*correlated.spread.sd_of_differences == doctest::Approx(by_law.spread.sd * std::sqrt(0.5)));
  CHECK(correlated.change);
  season.plan.effort.expected["PTUB"].mean.reset();
  CHECK(holds(effort_of(season, sites, 10).species.front().spread.unanswered, "no expected mean"));
}

TEST_CASE("the chart names every species it draws and marks what is asked") {
  Season season = season_of(2.4, 3.6, 2.9);
  season.plan.effort.expected["P<RA"] = {0.3, 1.2, 1.0};
  season.plan.effort.hours = 60;
  const std::string svg =
      effort_chart(effort_of(season, {{"QPR", 4e6, 0, 0}}, 100), season.plan.effort, "A & B");
  CHECK(holds(svg, ">PTUB</text>"));
  CHECK(holds(svg, ">P&lt;RA</text>"));
  CHECK(holds(svg, "A &amp; B"));
  CHECK(holds(svg, "class=\"mark\""));
  CHECK_FALSE(holds(svg, "nan"));
}
