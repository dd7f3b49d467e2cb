// Sums over strata: what must hold whatever the numbers.
#include <doctest/doctest.h>

#include <cmath>

#include "swardline/base/error.hpp"
#include "swardline/estimate/stratified.hpp"
#include "swardline/estimate/unequal_chances.hpp"

namespace stratified_test {

using namespace swardline;

namespace {

StratumCounts counts(double ground, std::vector<double> y, std::vector<double> a = {}) {
  StratumCounts one;
  one.ground = ground;
  one.counts = std::move(y);
  one.areas = std::move(a);
  return one;
}

}  // namespace

TEST_CASE("a ratio of equal areas is a mean") {
  const Estimated mean = ratio_of_totals(counts(1, {3, 0, 5, 8})),
                  ratio = ratio_of_totals(counts(1, {3, 0, 5, 8}, {20, 20, 20, 20}));
  CHECK(mean.value == doctest::Approx(4));
  CHECK(mean.variance == doctest::Approx(34.0 / 3 / 4));  // s² / n
  CHECK(ratio.value == doctest::Approx(mean.value / 20));
  CHECK(ratio.variance == doctest::Approx(mean.variance / 400));
  CHECK(mean.df == 3);
}

TEST_CASE("weights that are equal change nothing, unequal ones are Hájek's") {
  StratumCounts one = counts(100, {3, 0, 5, 8}, {20, 12, 20, 7});
  const Estimated plain = ratio_of_totals(one);
  one.weights = {2.5, 2.5, 2.5, 2.5};
  CHECK(ratio_of_totals(one).value == doctest::Approx(plain.value));
  CHECK(ratio_of_totals(one).variance == doctest::Approx(plain.variance));
  StratumCounts units = counts(100, {3, 0, 5, 8});
  const std::vector<double> chances = {0.1, 0.2, 0.4, 0.05};
  for (const double chance : chances) units.weights.push_back(1 / chance);
  CHECK(ratio_of_totals(units).value == doctest::Approx(hajek_mean(units.counts, chances)));
}

TEST_CASE("a domain that is everything is the combined ratio, and parts of it add up") {
  StratumCounts high = counts(120'000, {0, 14, 3, 0, 22, 9}, {20, 20, 20, 12, 20, 20}),
                low = counts(300'000, {0, 0, 2, 0, 0}, {20, 20, 20, 20, 20});
  const Stratified all = combined_ratio(std::vector{high, low}),
                   apart = stratified_ratio(std::vector{high, low});
  CHECK(all.ground == doctest::Approx(420'000));
  CHECK(all.density.value == doctest::Approx(apart.density.value));
  double total = 0, ground = 0;
  for (const bool first : {true, false}) {
    high.inside = first ? std::vector<char>{1, 1, 0, 0, 1, 0} : std::vector<char>{0, 0, 1, 1, 0, 1};
    low.inside = first ? std::vector<char>{1, 0, 1, 0, 0} : std::vector<char>{0, 1, 0, 1, 1};
    const Stratified part = combined_ratio(std::vector{high, low});
    CHECK(part.density.variance > 0);
    total += part.total.value;
    ground += part.ground;
  }
  CHECK(total == doctest::Approx(all.total.value));
  CHECK(ground == doctest::Approx(all.ground));
}

TEST_CASE("a finite population that is counted whole has no variance") {
  StratumCounts one = counts(4, {3, 0, 5, 8});
  one.share_taken = 1;
  CHECK(stratified_ratio(std::vector{one}).total.value == doctest::Approx(16));
  CHECK(stratified_ratio(std::vector{one}).total.variance == 0);
}

TEST_CASE("degrees of freedom lie between the smallest stratum's and all together") {
  Satterthwaite sum;
  sum.add(4, 5);
  CHECK(sum.df() == doctest::Approx(5));
  sum.add(4, 7);
  CHECK(sum.df() == doctest::Approx(64 / (16.0 / 5 + 16.0 / 7)));
  sum.add(0, 100);
  CHECK(sum.df() < 12);
  CHECK(Satterthwaite().df() == 0);
}

TEST_CASE("what cannot be estimated is refused") {
  CHECK_THROWS_AS((void)ratio_of_totals(counts(1, {})), InputError);
  CHECK_THROWS_AS((void)ratio_of_totals(counts(1, {1, 2}, {0, 0})), InputError);
  CHECK_THROWS_AS((void)ratio_of_totals(counts(1, {1, 2}, {1})), Defect);
  CHECK_THROWS_AS((void)horvitz_thompson_total(std::vector{1.0}, std::vector{0.0}), InputError);
  StratumCounts nobody = counts(1, {1, 2});
  nobody.inside = {0, 0};
  CHECK_THROWS_AS((void)combined_ratio(std::vector{nobody}), InputError);
}

}  // namespace stratified_test
