// A comparison of few plots: nothing found, indices without spread, and several factors to blame.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "made_season.hpp"
#include "swardline/compare/compare_parts.hpp"

namespace few_plots_test {

using namespace swardline;
using compare_test::made_season;

namespace {

bool any_says(const std::vector<std::string>& sentences, const std::string& part) {
  return std::any_of(sentences.begin(), sentences.end(),
                     [&](const std::string& sentence) { return sentence.find(part) != std::string::npos; });
}

}  // namespace

TEST_CASE("the most there may be is that of a season's estimates: one-sided, by the ground of each stratum") {
  // Strata of 600 and 50 m² with two plots of 20 m² each, none occupied: the first has the more ground by the
  // square metre searched. −ln(0.05) · 600/40 over 650 m² (Garwood 1936; Fay & Feuer 1997).
  const auto made = made_season({{.stratum = "a"}, {.stratum = "a"}, {.stratum = "b"}, {.stratum = "b"}},
                                {{"a", 600}, {"b", 50}});
  const Comparison comparison = made->compare();
  const ComparedPart& part = comparison.species[0].bands.parts.front();
  CHECK(part.plots == 4);
  CHECK(part.limits->high == doctest::Approx(-std::log(0.05) * 600 / 40 / 650 * 1e4));
  const std::string csv = compare_csv(comparison);
  INFO(csv);
  const std::size_t at = csv.find("stems per hectare");
  const std::string row = csv.substr(at, csv.find('\n', at) - at);
  CHECK(row.find(",95,4,0,") != std::string::npos);
  const std::string words = in_words(comparison, made->season, made->counted);
  CHECK(words.find("limits of 90 % (under: none found, 95 %, one-sided)\n") != std::string::npos);
}

TEST_CASE("no standard error of 0 beside the area under the curve") {
  const auto made = made_season({{.stratum = "a", .stems = 1},
                                 {.stratum = "a", .stems = 2},
                                 {.stratum = "a", .stems = 4},
                                 {.stratum = "a", .moisture = 21},
                                 {.stratum = "a", .moisture = 21}},
                                {{"a", 1000}});
  const Comparison comparison = made->compare();
  const SpeciesComparison& ptub = comparison.species[0];
  CHECK(ptub.pairs->value == doctest::Approx(1));
  CHECK(ptub.pairs->variance == 0);
  CHECK(any_says(ptub.indices, "; 1.00 if every plot stood for the same ground"));
  CHECK_FALSE(any_says(ptub.indices, "standard error"));
  const std::string csv = compare_csv(comparison);
  INFO(csv);
  CHECK(csv.find("pairs in order,1,,,,,5,3,") != std::string::npos);
}

TEST_CASE("without an empty plot alike nothing is said of those that would rise") {
  const auto made =
      made_season({{.stratum = "a", .cover = "DP", .stems = 3}, {.stratum = "a"}}, {{"a", 1000}});
  const SpeciesComparison ptub = made->ptub();
  REQUIRE(ptub.false_lows.size() == 1);
  CHECK(ptub.false_lows[0].remedy.find("With cover at its best it would score about 1.00.") == 0);
  CHECK(ptub.false_lows[0].remedy.find("0 of 0") == std::string::npos);
}

TEST_CASE("where two factors give nothing, neither is blamed alone") {
  const auto made = made_season(
      {{.stratum = "a", .moisture = 15, .cover = "CF", .stems = 3}, {.stratum = "a"}}, {{"a", 1000}});
  const SpeciesComparison ptub = made->ptub();
  REQUIRE(ptub.false_lows.size() == 1);
  const MisfitGroup& group = ptub.false_lows[0];
  INFO(group.sentence);
  INFO(group.remedy);
  CHECK(group.sentence == "1 occupied plot: moisture and cover together give 0.00 (score about 0.00)");
  CHECK(group.remedy.find(" alone at its best it would still score about 0.00; with moisture and cover "
                          "together at their best, about 1.00.") != std::string::npos);
}

}  // namespace few_plots_test
