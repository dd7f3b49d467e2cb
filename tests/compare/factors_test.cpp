// Counts along a factor's value, beside its response.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "made_season.hpp"

namespace factors_test {

using namespace swardline;
using compare_test::made_season;
using compare_test::MadePlot;

namespace {

const std::map<std::string, double> ground = {{"a", 1000}};

/// Forty plots over 16 to 45 % of moisture, two values to a pair; stems where it is 26 or more.
std::vector<MadePlot> along_moisture() {
  std::vector<MadePlot> plots;
  for (int i = 0; i < 40; ++i) {
    MadePlot plot{.stratum = "a"};
    plot.moisture = 16 + 3 * (i / 4);
    plot.stems = plot.moisture >= 26 && i % 2 == 0 ? 1 + i % 3 : 0;
    plots.push_back(plot);
  }
  return plots;
}

const FactorAlong& factor(const SpeciesComparison& species, const std::string& layer) {
  const auto found = std::find_if(species.factors.begin(), species.factors.end(),
                                  [&](const FactorAlong& each) { return each.layer == layer; });
  REQUIRE(found != species.factors.end());
  return *found;
}

}  // namespace

TEST_CASE("ranges of a measure hold every plot once, and plots of one value stay together") {
  const auto made = made_season(along_moisture(), ground);
  const SpeciesComparison ptub = made->ptub();
  const FactorAlong& moisture = factor(ptub, "moisture");
  REQUIRE(moisture.parts.size() == 5);
  int plots = 0, occupied = 0;
  double before = -1;
  for (const ComparedPart& part : moisture.parts) {
    CHECK(part.from > before);
    CHECK(part.from <= part.to);
    before = part.to;
    plots += part.plots;
    occupied += part.occupied;
    CHECK(part.plots % 4 == 0);
  }
  CHECK(plots == ptub.compared);
  CHECK(occupied == ptub.occupied);
  CHECK(moisture.parts.front().what == "16–19 %");
  CHECK(moisture.parts.front().occupied == 0);
  CHECK(moisture.parts.front().response == 0);
  CHECK(moisture.agreement);
  CHECK(*moisture.agreement > 0.2);
}

TEST_CASE("the rule's line has its corners and reaches every plot") {
  const auto made = made_season(along_moisture(), ground);
  const SpeciesComparison ptub = made->ptub();
  const auto& line = factor(ptub, "moisture").response;
  REQUIRE_FALSE(line.empty());
  CHECK(line.front().first == 16);
  CHECK(line.back().first == doctest::Approx(46));
  const auto at = [&](double value) {
    const auto found =
        std::find_if(line.begin(), line.end(), [&](const auto& point) { return point.first == value; });
    return found == line.end() ? -1 : found->second;
  };
  CHECK(at(20) == 0);
  CHECK(at(26) == 1);
  CHECK(at(38) == 1);
  CHECK(at(46) == 0);
  CHECK(std::is_sorted(line.begin(), line.end()));
}

TEST_CASE("the upper line is spoken of over the responses that plots have") {
  std::vector<MadePlot> plots;
  for (int i = 0; i < 20; ++i)
    plots.push_back(
        {.stratum = "a", .canopy = i < 10 ? 32.0 : 10.0, .stems = i < 10 ? double(i % 2) : double(i % 5)});
  const auto made = made_season(plots, ground);
  const SpeciesComparison ptub = made->ptub();
  const FactorAlong& canopy = factor(ptub, "canopy");
  REQUIRE(canopy.upper);
  CHECK(canopy.upper->at(0.8) ==
        doctest::Approx(1 / 20.0 * 1e4));  // of 0 and 1 by turns, the 0.9 quantile is 1
  CHECK(canopy.upper->at(1) == doctest::Approx(4 / 20.0 * 1e4));
  CHECK(canopy.sentence.find(
            "begin at 500 stems/ha where the response is 0.80 and at 2,000 where it is 1.00.") !=
        std::string::npos);
  // A factor that is the same everywhere has no line and nothing to rank.
  CHECK_FALSE(factor(ptub, "moisture").upper);
  CHECK(factor(ptub, "moisture").sentence.find("nothing to rank") != std::string::npos);
}

TEST_CASE("classes come best first, each with its own plots, and doubtful ones are said") {
  const auto made = compare_test::story_of_the_glade();
  const SpeciesComparison ptub = made->ptub();
  const FactorAlong& cover = factor(ptub, "cover");
  std::vector<std::string> codes;
  for (const ComparedPart& part : cover.parts) codes.push_back(part.what);
  CHECK(codes == std::vector<std::string>{"WM", "MP", "WD", "GL", "DP", "CF"});
  CHECK(cover.parts[3].plots == 12);
  CHECK(cover.parts[3].occupied == 3);
  CHECK(cover.parts[3].response == doctest::Approx(0.3));
  CHECK(cover.sentence.find(
            "Stems stand at cover GL (3 of 12 plots, 958 stems/ha) too, where the rule gives only 0.30.") !=
        std::string::npos);
}

TEST_CASE("many plots set aside are one line with their reasons") {
  std::vector<MadePlot> plots;
  for (int i = 0; i < 6; ++i) plots.push_back({.stratum = "a", .accuracy_m = 10.4 + i});
  plots.push_back({.stratum = "a", .stems = 1});
  const auto made = made_season(plots, ground);
  const SpeciesComparison ptub = made->ptub();
  REQUIRE(ptub.apart.size() == 1);
  CHECK(ptub.apart.front() ==
        "6 plots set aside, because nobody can tell which cell they stand in: P001 (fix accuracy 10.4 m), "
        "P002 (fix "
        "accuracy 11.4 m), P003 (fix accuracy 12.4 m), P004 (fix accuracy 13.4 m), P005 (fix accuracy 14.4 "
        "m) and P006 "
        "(fix accuracy 15.4 m).");
}

}  // namespace factors_test
