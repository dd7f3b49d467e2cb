// Published sample sizes.
#include <doctest/doctest.h>

#include <cmath>

#include "swardline/base/error.hpp"
#include "swardline/effort/sample_size.hpp"

namespace sample_size_test {

using namespace swardline;

namespace {

bool near(double value, double expected, double by) { return std::abs(value - expected) <= by; }

}  // namespace

TEST_CASE("plots for a mean, adjusted for small samples and a finite area") {
  // BLM Technical Reference 1730-1 (Elzinga, Salzer & Willoughby 1998), sample-size appendix, equation 1:
  // mean 25, s 7, limits of 20 % at 95 %, 100 plots fit: 8, then 15, then 13.0. Inputs and results from
  // memory, recomputed; the handbook rounds z to 1.96.
  const double n = plots_for_mean(7, 5, 0.95);
  CHECK(near(n, 7.529536, 3e-4));
  CHECK(plots_with_assurance(8, 0.95) == 15);
  CHECK(near(plots_in_finite_area(15, 100), 13.0434783, 1e-6));
}

TEST_CASE("the small-sample adjustment's table") {
  // Kupper & Hafner 1989, The American Statistician 43:101-105, equation 5; recomputed in R.
  const int n[15] = {1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 20, 30, 50, 100, 200};
  const int at_80[15] = {4, 6, 7, 9, 10, 11, 13, 14, 15, 17, 29, 41, 64, 119, 226};
  const int at_90[15] = {5, 6, 8, 9, 11, 12, 13, 15, 16, 17, 29, 41, 64, 119, 227};
  const int at_95[15] = {5, 7, 8, 10, 11, 12, 14, 15, 16, 18, 30, 42, 65, 120, 227};
  const int at_99[10] = {6, 8, 9, 11, 12, 14, 15, 16, 18, 19};
  for (int i = 0; i < 15; ++i) {
    CAPTURE(n[i]);
    CHECK(plots_with_assurance(n[i], 0.80) == at_80[i]);
    CHECK(plots_with_assurance(n[i], 0.90) == at_90[i]);
    CHECK(plots_with_assurance(n[i], 0.95) == at_95[i]);
    if (i < 10) CHECK(plots_with_assurance(n[i], 0.99) == at_99[i]);
  }
}

TEST_CASE("Student's t in place of z") {
  // t of 0.975 with 14 and 9 degrees of freedom is 2.14479 and 2.26216 (tables, common practice).
  CHECK(near(half_width_of_mean(7, 15, 0.95), 2.14479 * 7 / std::sqrt(15), 1e-4));
  CHECK(near(half_width_of_mean(7, 10, 0.95, 40), 2.26216 * 7 / std::sqrt(10) * std::sqrt(0.75), 1e-4));
  const int n = plots_for_mean_by_t(7, 5, 0.95);
  CHECK(n == 11);  // 5.008 with ten
  CHECK(half_width_of_mean(7, n, 0.95) <= 5);
  CHECK(half_width_of_mean(7, n - 1, 0.95) > 5);
}

TEST_CASE("plots for a change on separate plots") {
  // BLM TR 1730-1, equation 2, from memory, recomputed: s 7, change 5, 10 % false-change, power 90 %; by t
  // from R's power.t.test.
  const ChangeTest test{0.10, 0.90, false};
  CHECK(near(plots_for_change(7, 5, test, Revisit::separate_plots), 33.570282, 1e-6));
  CHECK(near(plots_for_change_by_t(7, 5, test, Revisit::separate_plots), 34.268502, 1e-4));
  CHECK(near(plots_in_finite_area(34, 100), 25.373134, 1e-6));
}

TEST_CASE("plots for a change on the same plots") {
  // BLM TR 1730-1, equation 3, from memory, recomputed; power and plots by t in R.
  const ChangeTest test{0.10, 0.90, false};
  CHECK(near(plots_for_change(7, 5, test, Revisit::same_plots), 16.785141, 1e-6));
  CHECK(near(plots_for_change_by_t(7, 5, test, Revisit::same_plots), 18.226541, 1e-4));
  CHECK(near(power_of_change(7, 5, 18, test, Revisit::same_plots), 0.896466986, 1e-6));
  CHECK(near(power_of_change(7, 5, 19, test, Revisit::same_plots), 0.91123731, 1e-6));
  CHECK(near(sd_of_differences(7, 0.75), 4.949747, 1e-6));
}

TEST_CASE("the power of R's documented examples") {
  // R Core Team, help page power.t.test: n = 20, delta = 1, sd = 1; power = .90; one.sided.
  const ChangeTest two{0.05, 0.90, false};
  const ChangeTest one{0.05, 0.90, true};
  CHECK(near(power_of_change(1, 1, 20, two, Revisit::separate_plots), 0.868952802, 1e-6));
  CHECK(near(plots_for_change_by_t(1, 1, two, Revisit::separate_plots), 22.021098, 1e-4));
  CHECK(near(plots_for_change_by_t(1, 1, one, Revisit::separate_plots), 17.847126, 1e-4));
}

TEST_CASE("plots for a share, and for a change of it") {
  // Elzinga et al. 1998, equations 4 and 5 (z rounded there to 1.96, 1.64 and 1.28); Cochran 1977 §4.4, blood
  // groups of an island; R Core Team, help page power.prop.test. From memory, recomputed.
  CHECK(near(plots_for_share(0.65, 0.10, 0.95), 87.3964, 4e-3));
  CHECK(near(plots_for_share_in_finite_area(400, 3200), 355.654348, 1e-6));
  CHECK(near(plots_for_change_of_share(0.65, 0.85, {0.10, 0.90, false}), 75.6718, 0.4));
  CHECK(near(plots_for_change_of_share_pooled(0.50, 0.75, {0.05, 0.90, false}), 76.70693, 1e-4));
}

TEST_CASE("plots until something is found") {
  // McArdle 1990, Oikos 57:276-277; recomputed.
  CHECK(near(plots_to_find_one(0.01, 0.95), 298.072852, 1e-6));
  CHECK(near(plots_to_find_one(0.05, 0.95), 58.403975, 1e-6));
  CHECK(near(plots_to_find_one(0.10, 0.95), 28.433159, 1e-6));
  CHECK(near(plots_to_find_one(0.20, 0.95), 13.425135, 1e-6));
}

TEST_CASE("what cannot be answered is refused") {
  CHECK_THROWS_AS((void)plots_for_mean(0, 1, 0.9), InputError);
  CHECK_THROWS_AS((void)plots_for_mean(1, 0, 0.9), InputError);
  CHECK_THROWS_AS((void)plots_for_mean(1, 1, 90), InputError);
  CHECK_THROWS_AS((void)plots_for_change(1, 0, {}, Revisit::same_plots), InputError);
  CHECK_THROWS_AS((void)plots_for_share(1.2, 0.1, 0.9), InputError);
  CHECK_THROWS_AS((void)sd_of_differences(1, 1), InputError);
}

}  // namespace sample_size_test
