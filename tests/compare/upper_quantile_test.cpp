#include "swardline/compare/upper_quantile.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <vector>

#include "swardline/base/error.hpp"
#include "swardline/base/random.hpp"

namespace upper_quantile_test {

using namespace swardline;

namespace {

/// A best line passes through two points (Koenker & Bassett 1978, theorem 3.1): try every pair.
double least_loss(const std::vector<double>& x, const std::vector<double>& y, const std::vector<double>& w,
                  double quantile) {
  double least = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < x.size(); ++i)
    for (std::size_t j = i + 1; j < x.size(); ++j) {
      if (x[i] == x[j]) continue;
      const double slope = (y[j] - y[i]) / (x[j] - x[i]);
      least = std::min(least, quantile_loss(x, y, w, quantile, y[i] - slope * x[i], slope));
    }
  return least;
}

int points_on(const QuantileLine& line, const std::vector<double>& x, const std::vector<double>& y) {
  int on = 0;
  for (std::size_t i = 0; i < x.size(); ++i) on += std::abs(y[i] - line.at(x[i])) < 1e-7 ? 1 : 0;
  return on;
}

}  // namespace

TEST_CASE("the line has the least loss of all lines through two points") {
  RandomStream random(RandomKey(11, "lines"));
  for (int round = 0; round < 600; ++round) {
    const int n = 3 + int(random.below(28));
    const bool tied = round % 2 == 0;  // responses that repeat, and many zeros
    const bool weighted = round % 3 == 0;
    const double quantile = 0.05 + 0.9 * random.uniform();
    std::vector<double> x, y, w;
    for (int i = 0; i < n; ++i) {
      x.push_back(tied ? double(random.below(4)) / 3 : random.uniform());
      const double most = 5 + 20 * x.back();
      y.push_back(tied ? double(random.below(3)) * std::floor(most * random.uniform())
                       : most * random.uniform());
      if (weighted) w.push_back(0.5 + double(random.below(5)));
    }
    const auto line = quantile_line(x, y, w, quantile);
    if (!line) {
      CHECK(std::equal(x.begin() + 1, x.end(), x.begin()));
      continue;
    }
    const double least = least_loss(x, y, w, quantile);
    CAPTURE(round);
    CHECK(line->loss <= least * (1 + 1e-9) + 1e-9);
    CHECK(line->loss >= least * (1 - 1e-9) - 1e-9);
    CHECK(points_on(*line, x, y) >= 2);
  }
}

TEST_CASE("weights are repeats") {
  const std::vector<double> x = {0, 1, 2, 3, 4}, y = {1, 5, 2, 8, 3}, w = {1, 2, 1, 3, 1};
  std::vector<double> xs, ys;
  for (std::size_t i = 0; i < x.size(); ++i)
    for (int k = 0; k < int(w[i]); ++k) {
      xs.push_back(x[i]);
      ys.push_back(y[i]);
    }
  CHECK(quantile_line(x, y, w, 0.9)->loss == doctest::Approx(quantile_line(xs, ys, {}, 0.9)->loss));
}

TEST_CASE("moving and stretching the axes moves the line along") {
  const std::vector<double> x = {1, 2, 3, 4, 5, 6, 7}, y = {0, 3, 1, 6, 2, 9, 4};
  std::vector<double> far, high;
  for (const double v : x) far.push_back(4.2e6 + 10 * v);
  for (const double v : y) high.push_back(1000 * v);
  const auto here = quantile_line(x, y, {}, 0.8), there = quantile_line(far, high, {}, 0.8);
  CHECK(there->slope == doctest::Approx(100 * here->slope));
  CHECK(there->loss == doctest::Approx(1000 * here->loss).epsilon(1e-6));
}

TEST_CASE("about the share asked for lies at or below the line") {
  RandomStream random(RandomKey(12, "share"));
  std::vector<double> x, y;
  for (int i = 0; i < 2000; ++i) {
    x.push_back(random.uniform());
    y.push_back((1 + 9 * x.back()) * random.uniform());
  }
  const auto line = quantile_line(x, y, {}, 0.9);
  REQUIRE(line);
  int below = 0;
  for (std::size_t i = 0; i < x.size(); ++i) below += y[i] <= line->at(x[i]) + 1e-12 ? 1 : 0;
  CHECK(below >= 1799);
  CHECK(below <= 1802);
  // The true quantile is 0.9 (1 + 9 x).
  CHECK(line->at_zero == doctest::Approx(0.9).epsilon(0.2));
  CHECK(line->slope == doctest::Approx(8.1).epsilon(0.06));
}

TEST_CASE("one value of x has no line, and two points are the line") {
  CHECK_FALSE(quantile_line(std::vector<double>{2, 2, 2}, std::vector<double>{1, 2, 3}, {}, 0.9));
  CHECK_FALSE(quantile_line({}, {}, {}, 0.9));
  const auto two = quantile_line(std::vector<double>{0, 2}, std::vector<double>{1, 5}, {}, 0.5);
  REQUIRE(two);
  CHECK(two->at_zero == doctest::Approx(1));
  CHECK(two->slope == doctest::Approx(2));
  CHECK(two->loss == doctest::Approx(0));
  CHECK_THROWS_AS((void)quantile_line(std::vector<double>{0, 2}, std::vector<double>{1, 5}, {}, 1.0),
                  InputError);
}

TEST_CASE("nothing anywhere is a line at nothing") {
  const auto none = quantile_line(std::vector<double>{0, 0.5, 1}, std::vector<double>{0, 0, 0}, {}, 0.9);
  REQUIRE(none);
  CHECK(none->at_zero == 0);
  CHECK(none->slope == 0);
}

TEST_CASE("a weighted quantile is a value, the first that reaches the share") {
  const std::vector<double> values = {5, 1, 3};
  CHECK(weighted_quantile(values, {}, 0.5) == 3);
  CHECK(weighted_quantile(values, {}, 1.0 / 3) == 1);
  CHECK(weighted_quantile(values, std::vector<double>{1, 8, 1}, 0.8) == 1);
  CHECK(weighted_quantile(values, std::vector<double>{1, 8, 1}, 0.9) == 3);
  CHECK(weighted_quantile(values, std::vector<double>{1, 8, 1}, 0.95) == 5);
}

}  // namespace upper_quantile_test
