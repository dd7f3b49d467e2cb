#include "swardline/compare/agreement.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "swardline/base/random.hpp"

namespace agreement_test {

using namespace swardline;

namespace {

double pairs_by_hand(const std::vector<WeighedScore>& plots) {
  double in_order = 0, all = 0;
  for (const WeighedScore& a : plots)
    for (const WeighedScore& b : plots) {
      if (!a.occupied || b.occupied) continue;
      const double w = a.weight * b.weight;
      all += w;
      in_order += a.score > b.score ? w : a.score == b.score ? w / 2 : 0;
    }
  return in_order / all;
}

/// Scores in tenths, so that many are tied; the occupied ones tend to be higher.
std::vector<WeighedScore> made_plots(RandomStream& random, int number, int strata) {
  std::vector<WeighedScore> plots;
  for (int i = 0; i < number; ++i) {
    WeighedScore plot;
    plot.stratum = std::size_t(i % strata);
    plot.score = double(random.below(11)) / 10;
    plot.occupied = random.uniform() < 0.15 + 0.6 * plot.score;
    plot.weight = 1 + 3 * double(plot.stratum);
    plots.push_back(plot);
  }
  return plots;
}

}  // namespace

TEST_CASE("pairs in order: one by one, with ties and weights") {
  RandomStream random(RandomKey(5, "pairs"));
  for (int round = 0; round < 50; ++round) {
    const std::vector<WeighedScore> plots = made_plots(random, 40, 3);
    const auto found = pairs_in_order(plots);
    REQUIRE(found);
    CHECK(found->value == doctest::Approx(pairs_by_hand(plots)).epsilon(1e-12));
    CHECK(found->variance > 0);
  }
}

TEST_CASE("pairs in order: equal weights give the plain share, and all on one side gives none") {
  RandomStream random(RandomKey(6, "plain"));
  std::vector<WeighedScore> plots = made_plots(random, 60, 1);
  std::vector<double> occupied, empty;
  for (WeighedScore& plot : plots) {
    plot.weight = 7;
    (plot.occupied ? occupied : empty).push_back(plot.score);
  }
  CHECK(pairs_in_order(plots)->value ==
        doctest::Approx(pairs_in_order(occupied, empty)->share).epsilon(1e-12));
  CHECK_FALSE(pairs_in_order(occupied, {}));
  CHECK_FALSE(pairs_in_order({}, empty));
  for (WeighedScore& plot : plots) plot.occupied = true;
  CHECK_FALSE(pairs_in_order(plots));
}

TEST_CASE("pairs in order: perfect, reversed and no order") {
  const std::vector<double> low = {0.1, 0.2, 0.2}, high = {0.5, 0.7};
  CHECK(pairs_in_order(high, low)->share == 1);
  CHECK(pairs_in_order(low, high)->share == 0);
  const std::vector<double> same = {0.4, 0.4};
  CHECK(pairs_in_order(same, same)->share == 0.5);
  CHECK(pairs_in_order(high, low)->standard_error == doctest::Approx(0));
}

// Draws from a population by strata, again and again: the stated variance against the spread that is seen.
TEST_CASE("pairs in order: the variance is that of repeated draws") {
  RandomStream random(RandomKey(7, "spread"));
  double sum = 0, squares = 0, stated = 0;
  constexpr int draws = 4000;
  for (int i = 0; i < draws; ++i) {
    const auto found = pairs_in_order(made_plots(random, 90, 3));
    REQUIRE(found);
    sum += found->value;
    squares += found->value * found->value;
    stated += found->variance;
  }
  const double seen = squares / draws - sum / draws * sum / draws;
  MESSAGE("variance stated ", stated / draws, ", seen ", seen);
  CHECK(stated / draws / seen == doctest::Approx(1).epsilon(0.08));
}

TEST_CASE("rank agreement: mid-ranks, direction, and weights as repeats") {
  const std::vector<double> x = {1, 2, 2, 4, 5}, y = {3, 1, 4, 4, 9};
  CHECK(*rank_agreement(x, x) == doctest::Approx(1));
  const std::vector<double> back = {5, 4, 4, 2, 1};
  CHECK(*rank_agreement(x, back) == doctest::Approx(-1));
  // A plot that stands for three is three plots.
  const std::vector<double> weights = {1, 3, 2, 1, 1};
  std::vector<double> xs, ys;
  for (std::size_t i = 0; i < x.size(); ++i)
    for (int k = 0; k < int(weights[i]); ++k) {
      xs.push_back(x[i]);
      ys.push_back(y[i]);
    }
  CHECK(*rank_agreement(x, y, weights) == doctest::Approx(*rank_agreement(xs, ys)).epsilon(1e-12));
  const std::vector<double> flat = {2, 2, 2, 2, 2};
  CHECK_FALSE(rank_agreement(x, flat));
  CHECK_FALSE(rank_agreement(std::vector<double>{1}, std::vector<double>{1}));
}

TEST_CASE("limits of a rank agreement lie about it and narrow with plots") {
  const LowHigh few = rank_agreement_limits(0.5, 20, 0.90), many = rank_agreement_limits(0.5, 200, 0.90);
  CHECK(few.low < many.low);
  CHECK(many.low < 0.5);
  CHECK(few.high > many.high);
  CHECK(few.high < 1);
  // By hand: tanh(atanh 0.5 ± 1.6449 √(1.06/17)).
  CHECK(few.low ==
        doctest::Approx(std::tanh(std::atanh(0.5) - 1.644854 * std::sqrt(1.06 / 17))).epsilon(1e-5));
  CHECK(rank_agreement_limits(0.5, 3, 0.90).low == -1);
}

TEST_CASE("the ratio index in windows is the one counted by hand") {
  const std::vector<ScoreAndWeight> ground = {{0.1, 2}, {0.3, 1}, {0.5, 1}, {0.7, 4}, {0.9, 2}};
  const std::vector<ScoreAndWeight> occupied = {{0.5, 1}, {0.9, 2}};
  const std::vector<double> centres = {0.2, 0.6, 0.8};
  const RatioIndex index = ratio_index(occupied, ground, centres, 0.4);
  REQUIRE(index.windows.size() == 3);
  CHECK(index.windows[0].ground == doctest::Approx(0.3));  // 0.1 and 0.3
  CHECK(index.windows[0].ratio == doctest::Approx(0));
  CHECK(index.windows[1].ground == doctest::Approx(0.5));  // 0.5 and 0.7
  CHECK(*index.windows[1].ratio == doctest::Approx(1.0 / 3 / 0.5));
  CHECK(*index.windows[2].ratio == doctest::Approx(2.0 / 3 / 0.6));
  CHECK(*index.index == doctest::Approx(1));  // the ratios rise with the score
}

TEST_CASE("windows without ground are left out, and no plants give no index") {
  const std::vector<ScoreAndWeight> ground = {{0.1, 1}, {0.9, 1}};
  const std::vector<double> centres = {0.1, 0.5, 0.9};
  const RatioIndex index = ratio_index({{0.9, 1}}, ground, centres, 0.2);
  REQUIRE(index.windows.size() == 3);
  CHECK_FALSE(index.windows[1].ratio);
  CHECK(*index.index == doctest::Approx(1));
  CHECK_FALSE(ratio_index({}, ground, centres, 0.2).index);
  const std::vector<double> all = window_centres(0.2, 0.01);
  CHECK(all.size() == 81);
  CHECK(all.front() == doctest::Approx(0.1));
  CHECK(all.back() == doctest::Approx(0.9));
}

TEST_CASE("as many equal plots as weights are worth") {
  CHECK(equal_plots(std::vector<double>{3, 3, 3}) == doctest::Approx(3));
  CHECK(equal_plots(std::vector<double>{1, 0, 0}) == doctest::Approx(1));
  CHECK(equal_plots(std::vector<double>{1, 3}) == doctest::Approx(1.6));
}

}  // namespace agreement_test
