#include "swardline/estimate/limits.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <boost/math/distributions/beta.hpp>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <vector>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"

namespace swardline {
namespace {

namespace math = boost::math;

void need_inside(double value, const char* what) {
  if (!(value > 0 && value < 1))
    throw InputError({}, fmt::format("{} is {}.", what, shortest(value)), "Give a share between 0 and 1.");
}

void need_above(double value, const char* what) {
  if (!(value > 0) || !std::isfinite(value))
    throw InputError({}, fmt::format("{} is {}.", what, shortest(value)), "Give a number above 0.");
}

double tail_of(double confidence) {
  need_inside(confidence, "the confidence");
  return (1 - confidence) / 2;
}

double chi_squared(double df, double below) { return math::quantile(math::chi_squared(df), below); }

double chi_squared_beyond(double df, double above) {
  return math::quantile(math::complement(math::chi_squared(df), above));
}

double square(double v) { return v * v; }

/// Profile of the negative binomial likelihood over its shape, as a function of the mean.
class Clumped {
 public:
  Clumped(std::span<const double> counts, std::span<const double> areas, double all_area) : area_(all_area) {
    double area = 0;
    for (std::size_t i = 0; i < counts.size(); ++i) {
      sum_ += counts[i];
      area += areas[i];
    }
    // Shapes per plot from nearly all clumps of one kind to nearly random.
    const double plot = area / double(counts.size());
    constexpr int steps = 56;
    for (int s = 0; s <= steps; ++s) {
      const double shape = std::exp(-8 + 14.0 * s / steps) / plot;
      double own = 0;
      for (std::size_t i = 0; i < counts.size(); ++i)
        own += std::lgamma(counts[i] + shape * areas[i]) - std::lgamma(shape * areas[i]);
      shapes_.push_back(shape);
      own_.push_back(own - sum_ * std::log(shape));
    }
  }

  [[nodiscard]] double mean() const { return sum_ / area_; }

  [[nodiscard]] double profile(double mean) const {
    const double of_mean = sum_ * std::log(mean);
    double best = 0;
    for (std::size_t s = 0; s < shapes_.size(); ++s) {
      // Σ y ln(m / (m + k)) − k a ln(1 + m / k)
      const double value = own_[s] + of_mean - (sum_ + shapes_[s] * area_) * std::log1p(mean / shapes_[s]);
      if (s == 0 || value > best) best = value;
    }
    return best;
  }

  /// The multiple of the estimate, in the direction of `step`, where the profile has fallen by `drop`.
  [[nodiscard]] double limit(double step, double drop) const {
    const double least = profile(mean()) - drop;
    const auto above = [&](double at) { return profile(mean() * std::exp(at)) - least; };
    double inside = 0, outside = step, over_inside = drop, over_outside = above(step);
    constexpr double farthest = 16;  // nine million times the estimate: as good as no limit
    while (over_outside > 0 && std::abs(outside) < farthest) {
      inside = outside;
      over_inside = over_outside;
      outside *= 2;
      over_outside = above(outside);
    }
    if (over_outside > 0) return std::exp(outside);
    for (int i = 0; i < 8; ++i) {
      const double middle = (inside + outside) / 2, over = above(middle);
      (over > 0 ? inside : outside) = middle;
      (over > 0 ? over_inside : over_outside) = over;
    }
    return std::exp(inside + (outside - inside) * over_inside / (over_inside - over_outside));
  }

 private:
  double sum_ = 0, area_ = 0;
  std::vector<double> shapes_, own_;
};

}  // namespace

double student_t(double confidence, double df) {
  const double tail = tail_of(confidence);
  need_above(df, "the degrees of freedom");
  return math::quantile(math::complement(math::students_t(df), tail));
}

LowHigh log_based_limits(double value, double standard_error, double df, double confidence) {
  need_above(value, "the estimate");
  const double cv = standard_error / value;
  const double factor = std::exp(student_t(confidence, df) * std::sqrt(std::log1p(cv * cv)));
  return {value / factor, value * factor};
}

LowHigh symmetric_limits(double value, double standard_error, double df, double confidence) {
  const double half = student_t(confidence, df) * standard_error;
  return {value - half, value + half};
}

LowHigh wilson_limits(double with, double n, double confidence) {
  need_above(n, "the number of plots");
  if (!(with >= 0 && with <= n))
    throw InputError({}, "more plots hold the plant than were looked at.", "Give a number up to n.");
  const double z = math::quantile(math::complement(math::normal(), tail_of(confidence)));
  const double p = with / n, z2 = z * z / n;
  const double middle = (p + z2 / 2) / (1 + z2);
  const double half = z / (1 + z2) * std::sqrt(p * (1 - p) / n + z2 / (4 * n));
  return {with == 0 ? 0 : std::max(0.0, middle - half), with == n ? 1 : std::min(1.0, middle + half)};
}

LowHigh exact_share_limits(int with, int n, double confidence) {
  need_above(n, "the number of plots");
  if (with < 0 || with > n)
    throw InputError({}, "more plots hold the plant than were looked at.", "Give a number up to n.");
  const double tail = tail_of(confidence);
  LowHigh limits{0, 1};
  if (with > 0) limits.low = math::quantile(math::beta_distribution<>(with, n - with + 1), tail);
  if (with < n)
    limits.high = math::quantile(math::complement(math::beta_distribution<>(with + 1, n - with), tail));
  return limits;
}

LowHigh poisson_limits(int count, double confidence) {
  const double tail = tail_of(confidence);
  if (count < 0) throw InputError({}, "a count is below 0.", "Give a whole number from 0.");
  return {count == 0 ? 0 : chi_squared(2.0 * count, tail) / 2, chi_squared_beyond(2.0 * count + 2, tail) / 2};
}

double most_share_if_none(double n, double alpha) {
  need_above(n, "the number of plots");
  need_inside(alpha, "alpha");
  return -std::expm1(std::log(alpha) / n);
}

double most_density_if_none(double area, double alpha) {
  need_above(area, "the area searched");
  need_inside(alpha, "alpha");
  return -std::log(alpha) / area;
}

double most_share_if_none(std::span<const SearchedGround> strata, double alpha) {
  need_inside(alpha, "alpha");
  double ground = 0;
  for (const SearchedGround& one : strata) ground += one.ground;
  need_above(ground, "the ground searched");
  // Shares empty q = min(1, c · plots / ground) leave the most ground to the plant; c is what makes the
  // chance of missing it, Π q^plots, alpha. Strata best looked at for their ground come to 1 (no plant)
  // first.
  std::vector<SearchedGround> sorted(strata.begin(), strata.end());
  std::sort(sorted.begin(), sorted.end(), [](const SearchedGround& a, const SearchedGround& b) {
    return a.plots / a.ground < b.plots / b.ground;
  });
  for (std::size_t last = sorted.size(); last > 0; --last) {
    double plots = 0, logs = 0;
    for (std::size_t i = 0; i < last; ++i) {
      plots += sorted[i].plots;
      logs += sorted[i].plots * std::log(sorted[i].plots / sorted[i].ground);
    }
    need_above(plots, "the number of plots");
    const double c = std::exp((std::log(alpha) - logs) / plots);
    if (c * sorted[last - 1].plots / sorted[last - 1].ground > 1) continue;
    double held = 0;
    for (std::size_t i = 0; i < last; ++i) held += sorted[i].ground - c * sorted[i].plots;
    return held / ground;
  }
  throw Defect("no share of ground is left to a plant that was not found");
}

double most_total_if_none(std::span<const SearchedGround> strata, double alpha) {
  need_inside(alpha, "alpha");
  double heaviest = 0;
  for (const SearchedGround& one : strata) {
    need_above(one.area, "the area searched");
    heaviest = std::max(heaviest, one.ground / one.area);
  }
  return -std::log(alpha) * heaviest;
}

LowHigh weighted_events_limits(std::span<const double> weights, double heaviest, double confidence) {
  const double tail = tail_of(confidence);
  double sum = 0, squares = 0;
  for (const double w : weights) {
    sum += w;
    squares += w * w;
  }
  need_above(heaviest, "the heaviest weight");
  LowHigh limits;
  if (sum > 0) limits.low = squares / (2 * sum) * chi_squared(2 * square(sum) / squares, tail);
  sum += heaviest;
  squares += square(heaviest);
  limits.high = squares / (2 * sum) * chi_squared_beyond(2 * square(sum) / squares, tail);
  return limits;
}

LowHigh clumped_limits(std::span<const double> counts, std::span<const double> areas, double all_area,
                       double confidence) {
  if (counts.size() < 2 || counts.size() != areas.size())
    throw Defect("limits of clumped counts need two counts and the areas beside them");
  need_above(all_area, "the area searched");
  const double z = math::quantile(math::complement(math::normal(), tail_of(confidence)));
  const Clumped clumped(counts, areas, all_area);
  return {clumped.limit(-0.5, z * z / 2), clumped.limit(0.5, z * z / 2)};
}

}  // namespace swardline
