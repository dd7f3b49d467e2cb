#include <doctest/doctest.h>

#include <algorithm>

#include "made_season.hpp"
#include "swardline/compare/proposal.hpp"

namespace effect_test {

using namespace swardline;
using compare_test::made_season;
using compare_test::MadePlot;

namespace {

ProposedEffect effect_of(const compare_test::Made& made, Sheet proposed) {
  CompareOptions options;
  options.proposed = {std::move(proposed)};
  const SpeciesComparison ptub = made.ptub(options);
  REQUIRE(ptub.effect);
  return *ptub.effect;
}

bool says(const ProposedEffect& effect, const std::string& words) {
  return std::any_of(effect.sentences.begin(), effect.sentences.end(),
                     [&](const std::string& line) { return line.find(words) != std::string::npos; });
}

const std::map<std::string, double> ground = {{"a", 1000}};
const std::vector<MadePlot> plots = {{.stratum = "a", .cover = "WM", .stems = 2},
                                     {.stratum = "a", .cover = "WM"},
                                     {.stratum = "a", .cover = "GL", .stems = 1},
                                     {.stratum = "a", .cover = "OW", .stems = 1},
                                     {.stratum = "a", .cover = "DP"}};

}  // namespace

TEST_CASE("an edit that lowers scores says so, for occupied and empty plots") {
  const auto made = made_season(plots, ground);
  const ProposedEffect effect =
      effect_of(*made, with_class_score(made->season.sheets[0], "cover", "WM", 0.5));
  CHECK(effect.occupied_fall == 1);
  CHECK(effect.empty_fall == 1);
  CHECK(effect.occupied_rise + effect.empty_rise == 0);
  CHECK(says(effect, "1 occupied and 1 empty plots fall, from about 1.00 to about 0.66."));
}

TEST_CASE("ground that is no longer excluded, or no longer scored, is said") {
  const auto made = made_season(plots, ground);
  const ProposedEffect opened =
      effect_of(*made, with_class_score(made->season.sheets[0], "cover", "OW", 0.5));
  CHECK(says(opened, "1 plot now excluded or without a score would be scored."));
  Sheet closed = made->season.sheets[0];
  closed.masks.front().keep_below = 100;
  const ProposedEffect effect = effect_of(*made, closed);
  CHECK(says(effect, "4 plots now scored would be excluded or without a score."));
  CHECK_FALSE(effect.pairs);
}

TEST_CASE("an edit that no plot feels says that the sample does not reach it") {
  const auto made = made_season(plots, ground);
  const ProposedEffect effect =
      effect_of(*made, with_class_score(made->season.sheets[0], "cover", "RD", 0.9));
  CHECK(says(effect, "No plot would score differently"));
  CHECK(effect.change == "cover RD 0.5 to 0.9");
}

TEST_CASE("indices and bands are those of a season with the proposed sheet") {
  const auto made = compare_test::story_of_the_glade();
  const Sheet proposed = with_class_score(made->season.sheets[0], "cover", "GL", 0.8);
  const ProposedEffect effect = effect_of(*made, proposed);
  auto changed = compare_test::story_of_the_glade();
  changed->season.sheets[0] = proposed;
  Flags flags;
  changed->model = Model::compile(changed->season, changed->layers, flags);
  const SpeciesComparison then = changed->ptub();
  CHECK(effect.pairs->value == doctest::Approx(then.pairs->value).epsilon(1e-12));
  CHECK(*effect.ratio_index == doctest::Approx(*then.ratio.index).epsilon(1e-12));
  CHECK(*effect.agreement == doctest::Approx(*then.agreement).epsilon(1e-12));
  CHECK(effect.bands.back().per_ha == doctest::Approx(then.bands.parts.back().per_ha));
  std::size_t lows = 0, highs = 0;
  for (const MisfitGroup& group : then.false_lows) lows += group.plots.size();
  for (const MisfitGroup& group : then.false_highs) highs += group.plots.size();
  CHECK(lows == std::size_t(effect.false_lows));
  CHECK(highs == std::size_t(effect.false_highs));
}

}  // namespace effect_test
