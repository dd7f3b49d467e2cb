#include <doctest/doctest.h>

#include <algorithm>

#include "made_season.hpp"
#include "swardline/base/error.hpp"

namespace misfits_test {

using namespace swardline;
using compare_test::made_season;
using compare_test::MadePlot;

namespace {

std::string layer_of(const compare_test::Made& made, const std::optional<std::size_t>& factor) {
  return factor ? made.season.sheets[0].factors[*factor].layer : std::string("none");
}

const std::map<std::string, double> ground = {{"a", 1000}};

}  // namespace

TEST_CASE("misfits are grouped by the factor to blame and its side") {
  const auto made = made_season({{.stratum = "a", .moisture = 21, .stems = 3},
                                 {.stratum = "a", .moisture = 44, .stems = 2},
                                 {.stratum = "a", .moisture = 22, .stems = 1},
                                 {.stratum = "a", .moisture = 21, .cover = "MP"},
                                 {.stratum = "a", .moisture = 21, .cover = "DP"},
                                 {.stratum = "a"}},
                                ground);
  CompareOptions options;
  options.low = 0.55;
  const SpeciesComparison ptub = made->ptub(options);
  REQUIRE(ptub.false_lows.size() == 2);
  const MisfitGroup &dry = ptub.false_lows[0], &wet = ptub.false_lows[1];
  CHECK(layer_of(*made, dry.blamed) == "moisture");
  CHECK(dry.where == "below 26 %");
  CHECK(dry.plots.size() == 2);
  CHECK(wet.where == "above 38 %");
  CHECK(dry.sentence ==
        "2 occupied plots: cover 1.00 but moisture 21–22 % gives 0.17–0.33 (score about 0.34–0.52)");
  CHECK(wet.sentence == "1 occupied plot: cover 1.00 but moisture 44 % gives 0.25 (score about 0.44)");
}

TEST_CASE("the factor that would raise a false low most need not be the one that holds it down alone") {
  // Moisture 0.5 and cover 0.2: cover is to blame, and at its best moisture holds at 0.5.
  const auto made =
      made_season({{.stratum = "a", .moisture = 23, .cover = "DP", .stems = 3}, {.stratum = "a"}}, ground);
  const SpeciesComparison ptub = made->ptub();
  REQUIRE(ptub.false_lows.size() == 1);
  const Misfit& one = ptub.false_lows[0].plots.front();
  CHECK(layer_of(*made, ptub.false_lows[0].blamed) == "cover");
  CHECK(layer_of(*made, one.raised_by) == "cover");
  CHECK(one.raised_to == doctest::Approx(0.6598).epsilon(1e-3));  // 0.5^0.6
  CHECK(ptub.false_lows[0].at_best_from == doctest::Approx(one.raised_to));
}

TEST_CASE("false highs are empty plots that score high, highest first") {
  const auto made = made_season({{.stratum = "a", .canopy = 30},
                                 {.stratum = "a"},
                                 {.stratum = "a", .stems = 1},
                                 {.stratum = "a", .cover = "WD"}},
                                ground);
  const SpeciesComparison ptub = made->ptub();
  REQUIRE(ptub.false_highs.size() == 2);
  int plots = 0;
  for (const MisfitGroup& group : ptub.false_highs) plots += int(group.plots.size());
  CHECK(plots == 2);
  const auto full = std::find_if(ptub.false_highs.begin(), ptub.false_highs.end(),
                                 [](const MisfitGroup& group) { return !group.blamed; });
  REQUIRE(full != ptub.false_highs.end());
  CHECK(full->sentence == "1 empty plot: every factor has full marks (score about 1.00)");
  CHECK(ptub.false_lows.empty());
}

TEST_CASE("the bounds are the plan's middle and highest edge, or as asked") {
  const auto made = made_season({{.stratum = "a", .cover = "WD", .stems = 1}, {.stratum = "a"}}, ground);
  CHECK(made->ptub().low == 0.5);
  CHECK(made->ptub().high == 0.75);
  CHECK(made->ptub().false_lows.empty());  // 0.4^0.6 = 0.58
  CompareOptions options;
  options.low = 0.6;
  CHECK(made->ptub(options).false_lows.size() == 1);
  options.high = 0.5;
  CHECK_THROWS_AS((void)made->ptub(options), InputError);
}

TEST_CASE("stems that are not certain alone make a plot neither occupied nor empty") {
  const auto made = made_season(
      {{.stratum = "a", .not_certain = 2}, {.stratum = "a", .stems = 1, .not_certain = 1}, {.stratum = "a"}},
      ground);
  const SpeciesComparison ptub = made->ptub();
  CHECK(ptub.compared == 2);
  CHECK(ptub.occupied == 1);
  CHECK(ptub.plots[0].use == PlotUse::not_certain);
  CHECK(ptub.apart.front() ==
        "P001 is set aside: only stems recorded as not certain (2), so neither occupied nor empty.");
}

TEST_CASE("a fix more than a cell from its plot is set aside, one a cell away is not") {
  const auto made = made_season(
      {{.stratum = "a", .fix_away_m = 10.5}, {.stratum = "a", .accuracy_m = 10, .fix_away_m = 10}}, ground);
  const SpeciesComparison ptub = made->ptub();
  CHECK(ptub.plots[0].use == PlotUse::set_aside);
  CHECK(ptub.plots[1].use == PlotUse::compared);
}

TEST_CASE("plots that nobody looked at for the species, or that were not counted, take no part") {
  auto made = made_season(
      {{.stratum = "a", .stems = 1}, {.stratum = "a", .searched = false}, {.stratum = "a"}}, ground);
  made->counted.units[2].evaluated = false;
  made->counted.units[2].fate = "not countable (mown)";
  const Comparison comparison = made->compare();
  REQUIRE(comparison.species.size() == 1);
  CHECK(comparison.species[0].plots.size() == 1);
  CHECK(std::any_of(comparison.remarks.begin(), comparison.remarks.end(), [](const std::string& remark) {
    return remark.starts_with("1 plot in use was not counted");
  }));
  made->counted.species = {"PDIG"};
  CHECK(made->compare().not_searched == std::vector<std::string>{"PTUB"});
}

TEST_CASE("scores are at the centre, over the plot and over the fix's circle") {
  // The belt runs east from the cell's middle and stays within it; the circle of 12 m reaches its neighbours.
  const auto made = made_season({{.stratum = "a", .cover = "WD", .stems = 1, .accuracy_m = 9}}, ground);
  const PlotAndScore plot = made->ptub().plots.front();
  CHECK(plot.score == doctest::Approx(std::pow(0.4, 0.6)));
  CHECK(plot.over_plot > plot.score - 1e-6);
  CHECK(plot.over_plot < 0.61);
  CHECK(plot.over_fix > 0.7);  // cells about it are wet meadow that scores 1
  CHECK(plot.over_fix < 1);
}

TEST_CASE("plots that score otherwise than when they were drawn are named") {
  const auto made = made_season({{.stratum = "a", .cover = "WD", .stems = 1}, {.stratum = "a"}}, ground);
  CompareOptions options;
  options.drawn_percent = {{"P001", {{"PTUB", 100}}}, {"P002", {{"PTUB", 99}}}};  // one percent is rounding
  const SpeciesComparison ptub = made->ptub(options);
  REQUIRE_FALSE(ptub.cautions.empty());
  CHECK(ptub.cautions.front() ==
        "1 plot scores otherwise than when drawn: a layer or the sheet has changed since. They are judged by "
        "the scores "
        "of now. P001 1.00 then, 0.58 now.");
}

}  // namespace misfits_test
