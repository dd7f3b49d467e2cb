// Limits, rounding, clumping and recounts.
#include <doctest/doctest.h>

#include <cmath>
#include <limits>

#include "swardline/base/error.hpp"
#include "swardline/estimate/dispersion.hpp"
#include "swardline/estimate/limits.hpp"
#include "swardline/estimate/recounts.hpp"
#include "swardline/estimate/rounding.hpp"

namespace limits_test {

using namespace swardline;

TEST_CASE("Student's t with broken degrees of freedom lies between its neighbours") {
  // Tables (common practice): 2.015 with 5, 1.943 with 6 at 90 %.
  CHECK(student_t(0.90, 5) == doctest::Approx(2.015).epsilon(1e-4));
  CHECK(student_t(0.90, 6) == doctest::Approx(1.943).epsilon(1e-4));
  CHECK(student_t(0.90, 5.8) < student_t(0.90, 5.7));
  CHECK_THROWS_AS((void)student_t(1.0, 5), InputError);
  CHECK_THROWS_AS((void)student_t(0.9, 0), InputError);
}

TEST_CASE("log-based limits are multiples and never below zero, symmetric ones are sums") {
  const LowHigh log = log_based_limits(10, 9, 3, 0.95), even = symmetric_limits(10, 9, 3, 0.95);
  CHECK(log.low > 0);
  CHECK(log.low * log.high == doctest::Approx(100));
  CHECK(even.low < 0);
  CHECK(even.low + even.high == doctest::Approx(20));
  CHECK_THROWS_AS((void)log_based_limits(0, 1, 3, 0.95), InputError);
}

TEST_CASE("nothing found in one stratum") {
  // Domain example: 0 in 30 plots of 10 m²: up to 9.5 % of plots, under 100 a hectare.
  CHECK(most_share_if_none(30, 0.05) == doctest::Approx(0.0950).epsilon(1e-3));
  CHECK(most_density_if_none(300, 0.05) * 1e4 == doctest::Approx(99.86).epsilon(1e-4));
  CHECK(poisson_limits(0, 0.90).high == doctest::Approx(-std::log(0.05)));
  CHECK(exact_share_limits(0, 30, 0.90).high == doctest::Approx(most_share_if_none(30, 0.05)));
}

TEST_CASE("nothing found in strata searched alike is as in one, unalike it is where least was searched") {
  const std::vector<SearchedGround> alike = {{1000, 10, 200}, {2000, 20, 400}};
  CHECK(most_share_if_none(alike, 0.05) == doctest::Approx(most_share_if_none(30, 0.05)));
  CHECK(most_total_if_none(alike, 0.05) == doctest::Approx(3000 * most_density_if_none(600, 0.05)));
  const std::vector<SearchedGround> unalike = {{1000, 29, 580}, {2000, 1, 20}};
  CHECK(most_total_if_none(unalike, 0.05) == doctest::Approx(-std::log(0.05) * 100));
  const double share = most_share_if_none(unalike, 0.05);
  CHECK(share > most_share_if_none(30, 0.05));
  // All shares that are missed with chance 0.05, tried one by one: none is larger.
  double largest = 0;
  for (double in_second = 0; in_second < 1; in_second += 1e-4) {
    // (1 − a)^29 (1 − b) = 0.05
    const double in_first = 1 - std::pow(0.05 / (1 - in_second), 1.0 / 29);
    if (in_first >= 0) largest = std::max(largest, (in_first * 1000 + in_second * 2000) / 3000);
  }
  CHECK(share == doctest::Approx(largest).epsilon(1e-4));
}

TEST_CASE("limits of clumped counts") {
  // The profile falls by half of z² at both limits: worked out anew with the likelihood written term by term.
  const std::vector<double> found = {3, 1, 8}, areas(3, 20.0);
  const double all_area = 20 * 60, z = 1.6448536270;
  const auto profile = [&](double mean) {
    double best = -1e300;
    for (double log_k = -9; log_k < 5; log_k += 0.001) {
      const double k = std::exp(log_k), m = mean * 20;
      double value = 57 * k * std::log(k / (k + m));
      for (const double y : found)
        value += std::lgamma(y + k) - std::lgamma(k) + k * std::log(k / (k + m)) + y * std::log(m / (k + m));
      best = std::max(best, value);
    }
    return best;
  };
  const LowHigh limits = clumped_limits(found, areas, all_area, 0.90);
  const double mean = 12 / all_area;
  CHECK(limits.low < 0.4);
  CHECK(limits.high > 2.5);
  CHECK(profile(mean) - profile(mean * limits.low) == doctest::Approx(z * z / 2).epsilon(0.01));
  CHECK(profile(mean) - profile(mean * limits.high) == doctest::Approx(z * z / 2).epsilon(0.01));
  // Scattered at random (all counts one) they come near a Poisson's likelihood limits.
  const std::vector<double> ones(9, 1.0), nine_areas(9, 20.0);
  const LowHigh random = clumped_limits(ones, nine_areas, 20 * 400, 0.90);
  CHECK(random.low == doctest::Approx(0.55).epsilon(0.05));
  CHECK(random.high == doctest::Approx(1.65).epsilon(0.05));
  CHECK_THROWS_AS((void)clumped_limits(std::vector{1.0}, std::vector{20.0}, 100, 0.9), Defect);
}

TEST_CASE("numbers are said no finer than they are known") {
  CHECK(said_estimate(57428.57, 22486.9) == "57,400");
  CHECK(said_error(22486.9) == "22,500");
  CHECK(said_estimate(1367.35, 535.4) == "1,367");
  CHECK(said_error(535.4) == "535");
  CHECK(said_estimate(4285.7, 1806) == "4,286");
  CHECK(said_estimate(200, 200) == "200");
  CHECK(said_limits({652.66, 2864.66}, false, 535.4) == "650–2,860");
  CHECK(said_limits({318.93, 2415.76}, true, 535.4) == "320–2,415");
  CHECK(said_limits({-3.21, 14.7}, true, 5.1) == "−3.20 to 14.70");
  CHECK(in_steps(1043.04, 0.1) == "1,043.0");
  CHECK(in_steps(-1239, 1) == "−1,239");
  CHECK(in_steps(-1239.5, 0) == "−1,239.5");
  CHECK(said_multiple(99.86) == "100");
  CHECK(said_multiple(9.503) == "9.5");
  CHECK(said_multiple(0.01234) == "0.0123");
  CHECK(said_estimate(0.3812, 0.0442) == "0.3812");
  CHECK(said_estimate(0, 0) == "0");
  CHECK(step_of(99.9) == doctest::Approx(0.1));
  CHECK(step_of_symmetric(535.4) == doctest::Approx(5));
}

TEST_CASE("an estimate and its limits are rounded to the second figure of the nearer limit's distance") {
  CHECK(step_beside_limits(1367.35, {652.66, 2864.66}) == doctest::Approx(10));
  CHECK(step_beside_limits(57428.57, {27396, 120250}) == doctest::Approx(1000));
  CHECK(step_beside_limits(0.5283, {0.3114, 0.8911}) == doctest::Approx(0.01));
  CHECK(step_beside_limits(-417, {-1022, 189}) == doctest::Approx(10));
  // Of 11.9 (2.2 to 291.0) the last figures would be noise; of 10,050 (9,940 to 10,160) they are not.
  CHECK(step_beside_limits(11.92, {2.21, 291.4}) == doctest::Approx(1));
  CHECK(step_beside_limits(10050, {9940, 10160}) == doctest::Approx(10));
  // A lower limit above nothing keeps a figure, and its estimate two.
  CHECK(step_beside_limits(959, {227, 11110}) == doctest::Approx(10));
  CHECK(step_beside_limits(110, {3.2, 3700}) == doctest::Approx(1));
  // One limit is the estimate: the other tells how well it is known. Both are: nothing does.
  CHECK(step_beside_limits(0, {0, 117}) == doctest::Approx(10));
  CHECK(step_beside_limits(5, {5, 5}) == 0);
  CHECK(step_beside_limits(5, {5, std::numeric_limits<double>::infinity()}) == 0);
}

TEST_CASE("clumping: what it needs, and what counts at random have") {
  CHECK_THROWS_AS((void)dispersion_of(std::vector<double>{0, 0}), InputError);
  CHECK_THROWS_AS((void)dispersion_of(std::vector<double>{3}), InputError);
  const std::vector<double> even = {2, 2, 2, 2};
  CHECK(dispersion_of(even).ratio == 0);
  CHECK_FALSE(dispersion_of(even).k_by_moments);
  CHECK_FALSE(k_by_likelihood(even));
}

TEST_CASE("second counts of the same plots") {
  const std::vector<TwoCounts> pairs = {{10, 12}, {0, 0}, {5, 5}, {0, 2}, {8, 9}, {3, 0}};
  const auto ratio = recount_ratio(pairs);
  REQUIRE(ratio);
  CHECK(ratio->value == doctest::Approx(28.0 / 26));
  CHECK(ratio->df == 5);
  // Σ(second − r first)² by hand, n/(n − 1), over (Σ first)².
  double squares = 0;
  for (const TwoCounts& p : pairs) squares += std::pow(p.second - 28.0 / 26 * p.first, 2);
  CHECK(ratio->variance == doctest::Approx(squares * 6 / 5 / (26 * 26)));
  const auto two = two_observers(pairs);
  REQUIRE(two);
  CHECK(two->first == 4);
  CHECK(two->second == 4);
  CHECK(two->both == 3);
  CHECK(two->occupied == doctest::Approx(5.0 * 5 / 4 - 1));
  CHECK(two->found_by_first == doctest::Approx(0.75));
  CHECK(two->missed_by_both == doctest::Approx(0.25));
  CHECK(two->variance == doctest::Approx(5.0 * 5 * 1 * 1 / (16 * 5)));
  CHECK_FALSE(two_observers(std::vector<TwoCounts>{{1, 0}, {0, 2}}));
  CHECK_FALSE(recount_ratio(std::vector<TwoCounts>{{1, 1}}));
}

}  // namespace limits_test
