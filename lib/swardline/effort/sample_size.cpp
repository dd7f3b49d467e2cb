#include "swardline/effort/sample_size.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/fisher_f.hpp>
#include <boost/math/distributions/non_central_t.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <boost/math/tools/roots.hpp>
#include <cmath>
#include <cstdint>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"

namespace swardline {
namespace {

namespace math = boost::math;

void need_share(double value, const char* what) {
  if (!(value > 0 && value < 1))
    throw InputError({}, fmt::format("{} is {}.", what, shortest(value)), "Give a share between 0 and 1.");
}

void need_positive(double value, const char* what) {
  if (!(value > 0) || !std::isfinite(value))
    throw InputError({}, fmt::format("{} is {}.", what, shortest(value)), "Give a number above 0.");
}

double z_beyond(double tail) { return math::quantile(math::complement(math::normal(), tail)); }

double z_of(double confidence) {
  need_share(confidence, "the confidence");
  return z_beyond((1 - confidence) / 2);
}

/// The tail beyond which the test calls a change.
double tail_of(const ChangeTest& test) {
  need_share(test.false_change, "the false-change rate");
  need_share(test.power, "the power");
  return test.one_direction ? test.false_change : test.false_change / 2;
}

double z_sum(const ChangeTest& test) { return z_beyond(tail_of(test)) + z_beyond(1 - test.power); }

double seasons(Revisit revisit) { return revisit == Revisit::same_plots ? 1 : 2; }

double square(double v) { return v * v; }

double change_of_share(double before, double after) {
  need_share(before, "the share before");
  need_share(after, "the share after");
  need_positive(std::abs(after - before), "the change of the share");
  return after - before;
}

}  // namespace

double plots_for_mean(double sd, double half_width, double confidence) {
  need_positive(sd, "the standard deviation");
  need_positive(half_width, "the half width");
  return square(z_of(confidence) * sd / half_width);
}

int plots_for_mean_by_t(double sd, double half_width, double confidence) {
  const double by_normal = plots_for_mean(sd, half_width, confidence);
  if (by_normal > 1e9)
    throw InputError({}, "limits this narrow need more than a thousand million plots.",
                     "Ask for wider ones.");
  // The normal formula is a floor, and t brings a plot or two more unless n is tiny.
  int n = std::max(2, int(std::ceil(by_normal)));
  while (half_width_of_mean(sd, n, confidence) > half_width) ++n;
  return n;
}

int plots_with_assurance(int n, double confidence, double assurance) {
  need_share(confidence, "the confidence");
  need_share(assurance, "the assurance");
  const double chi_of_confidence = math::quantile(math::chi_squared(1), confidence);
  const auto enough = [&](int more) {
    const double df = more - 1;
    const double chi = math::quantile(math::chi_squared(df), assurance);
    const double f = math::quantile(math::fisher_f(1, df), confidence);
    return double(more) * df >= n * chi * f / chi_of_confidence;
  };
  int more = std::max(2, n);
  while (!enough(more)) ++more;
  return more;
}

double plots_in_finite_area(double n, double possible) {
  need_positive(possible, "the number of plots that fit");
  return n / (1 + n / possible);
}

double half_width_of_mean(double sd, double n, double confidence, double possible) {
  need_share(confidence, "the confidence");
  const double t = math::quantile(math::complement(math::students_t(n - 1), (1 - confidence) / 2));
  const double left = possible > 0 ? std::max(0.0, 1 - n / possible) : 1;
  return t * sd * std::sqrt(left / n);
}

double plots_for_change(double sd, double change, const ChangeTest& test, Revisit revisit) {
  need_positive(sd, "the standard deviation");
  need_positive(change, "the change");
  return seasons(revisit) * square(sd * z_sum(test) / change);
}

double power_of_change(double sd, double change, double n, const ChangeTest& test, Revisit revisit) {
  need_positive(sd, "the standard deviation");
  need_positive(change, "the change");
  const double df = seasons(revisit) * (n - 1);
  const double shift = std::sqrt(n / seasons(revisit)) * change / sd;
  const double limit = math::quantile(math::complement(math::students_t(df), tail_of(test)));
  return math::cdf(math::complement(math::non_central_t(df, shift), limit));
}

double plots_for_change_by_t(double sd, double change, const ChangeTest& test, Revisit revisit) {
  const double by_z = plots_for_change(sd, change, test, revisit);
  const auto short_of = [&](double n) { return power_of_change(sd, change, n, test, revisit) - test.power; };
  double low = std::max(2.0, by_z);  // t needs more than z, and fewer than two plots mean nothing
  if (short_of(low) >= 0) return low;
  double high = low + 8;
  while (short_of(high) < 0) high *= 2;
  std::uintmax_t steps = 100;
  const auto found =
      math::tools::toms748_solve(short_of, low, high, math::tools::eps_tolerance<double>(40), steps);
  return (found.first + found.second) / 2;
}

double detectable_change(double sd, double n, const ChangeTest& test, Revisit revisit) {
  need_positive(sd, "the standard deviation");
  need_positive(n, "the number of plots");
  return sd * z_sum(test) * std::sqrt(seasons(revisit) / n);
}

double sd_of_differences(double sd, double correlation) {
  if (!(correlation >= -1 && correlation < 1))
    throw InputError({}, fmt::format("the correlation between seasons is {}.", shortest(correlation)),
                     "Give a number from -1 to below 1.");
  return sd * std::sqrt(2 * (1 - correlation));
}

double plots_for_share(double share, double half_width, double confidence) {
  need_share(share, "the share");
  need_positive(half_width, "the half width");
  return square(z_of(confidence) / half_width) * share * (1 - share);
}

double plots_for_share_in_finite_area(double n0, double possible) {
  need_positive(possible, "the number of plots that fit");
  return n0 / (1 + (n0 - 1) / possible);
}

double plots_for_change_of_share(double before, double after, const ChangeTest& test) {
  const double change = change_of_share(before, after);
  return square(z_sum(test) / change) * (before * (1 - before) + after * (1 - after));
}

double plots_for_change_of_share_pooled(double before, double after, const ChangeTest& test) {
  const double change = change_of_share(before, after);
  const double pooled = (before + after) / 2;
  const double here = z_beyond(tail_of(test)) * std::sqrt(2 * pooled * (1 - pooled));
  const double there = z_beyond(1 - test.power) * std::sqrt(before * (1 - before) + after * (1 - after));
  return square((here + there) / change);
}

double half_width_of_share(double share, double n, double confidence, double possible) {
  need_share(share, "the share");
  need_positive(n, "the number of plots");
  const double left = possible > 1 ? std::max(0.0, (possible - n) / (possible - 1)) : 1;
  return z_of(confidence) * std::sqrt(share * (1 - share) / n * left);
}

std::optional<double> share_after(double before, double change) {
  need_share(before, "the share before");
  need_positive(change, "the change of the share");
  const double after = before > 0.5 ? before - change : before + change;
  return after > 0 && after < 1 ? std::optional(after) : std::nullopt;
}

std::optional<double> detectable_change_of_share(double before, double n, const ChangeTest& test) {
  need_share(before, "the share before");
  need_positive(n, "the number of plots");
  const double sign = before > 0.5 ? -1 : 1;
  const auto needed = [&](double change) {
    return plots_for_change_of_share_pooled(before, before + sign * change, test);
  };
  double low = 1e-6;
  double high = std::max(before, 1 - before) - 1e-6;
  if (needed(high) > n) return std::nullopt;
  for (int halvings = 0; halvings < 60; ++halvings) {
    const double middle = (low + high) / 2;
    (needed(middle) > n ? low : high) = middle;
  }
  return high;
}

double plots_to_find_one(double share, double certainty) {
  need_share(share, "the share");
  need_share(certainty, "the certainty");
  return std::log1p(-certainty) / std::log1p(-share);
}

double chance_to_find_one(double share, double n) {
  need_share(share, "the share");
  return -std::expm1(n * std::log1p(-share));
}

double sd_by_taylor(double mean, double a, double b) {
  need_positive(mean, "the mean");
  need_positive(a, "Taylor's a");
  return std::sqrt(a * std::pow(mean, b));
}

}  // namespace swardline
