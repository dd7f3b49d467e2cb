#include "swardline/estimate/change_paired.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <limits>

#include "swardline/estimate/stratified.hpp"

namespace swardline {
namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();
constexpr double rounding = 1e-12;  // as in residual()

struct StratumSums {
  int pairs = 0;
  double weights = 0;
  double stems_then = 0, area_then = 0, stems_now = 0, area_now = 0;
};

/// What each pair adds to the densities' errors, as a share of its stratum: Σ over a stratum of weight ×
/// mean.
struct Residual {
  std::size_t stratum = 0;
  double then = 0, now = 0;
  double size = 0;  ///< of what was subtracted: rounding leaves a tiny part of it
};

struct Variance {
  double value = 0;
  double degrees_freedom = 0;
};

/// Variance of Σ share_h · (mean over the stratum's pairs of `residual`), the residuals' spread taken within
/// strata. Strata with one pair take the spread of all the others.
template <class Value>
std::optional<Variance> stratified(const std::vector<Residual>& residuals, const std::vector<int>& pairs,
                                   const std::vector<double>& share, const Value& value) {
  std::vector<double> mean(pairs.size()), squares(pairs.size());
  std::vector<int> without = pairs;  // pairs outside the domain: their residual is 0
  for (const Residual& r : residuals) {
    if (std::abs(value(r)) > rounding * r.size) mean[r.stratum] += value(r) / pairs[r.stratum];
    --without[r.stratum];
  }
  for (std::size_t h = 0; h < pairs.size(); ++h) squares[h] = without[h] * mean[h] * mean[h];
  for (const Residual& r : residuals) {
    const double off = value(r) - mean[r.stratum];
    if (std::abs(off) <= rounding * r.size) continue;
    squares[r.stratum] += off * off;
  }
  double lone = 0;  // squared shares of strata with one pair
  int free = 0;
  for (std::size_t h = 0; h < pairs.size(); ++h) {
    if (pairs[h] == 1) lone += share[h] * share[h];
    if (pairs[h] > 1) free += pairs[h] - 1;
  }
  if (free == 0) return {};
  Variance variance;
  double below = 0;
  for (std::size_t h = 0; h < pairs.size(); ++h) {
    if (pairs[h] < 2) continue;
    const double df = pairs[h] - 1;
    const double part = (share[h] * share[h] / pairs[h] + lone * df / free) * squares[h] / df;
    variance.value += part;
    below += part * part / df;
  }
  variance.degrees_freedom = below > 0 ? variance.value * variance.value / below : free;
  return variance;
}

class Pairs {
 public:
  Pairs(const std::vector<PairedCount>& pairs, const std::vector<double>& ground, DomainCut cut,
        const std::vector<StratumPairs>& all_pairs)
      : pairs_(pairs), sums_(ground.size()), share_(ground.size()), numbers_(ground.size()) {
    for (const PairedCount& pair : pairs) add(pair);
    for (std::size_t h = 0; h < all_pairs.size(); ++h) {
      numbers_[h] = all_pairs[h].pairs;
      sums_[h].weights = all_pairs[h].weights;
    }
    double all = 0;
    for (std::size_t h = 0; h < ground.size(); ++h)
      if (numbers_[h] > 0) all += ground[h];
    for (std::size_t h = 0; h < ground.size(); ++h) share_[h] = numbers_[h] > 0 ? ground[h] / all : 0;
    if (cut == DomainCut::whole_strata)
      by_stratum();
    else
      over_strata();
  }

  PairedChange result() {
    if (change_.pairs == 0) return change_;
    change_.change = change_.now - change_.then;
    for (const int n : numbers_) {
      change_.strata += n > 0 ? 1 : 0;
      change_.alone += n == 1 ? 1 : 0;
    }
    const auto spread = [&](const auto& value) { return stratified(residuals_, numbers_, share_, value); };
    const auto of_change = spread([](const Residual& r) { return r.now - r.then; });
    if (!of_change) return change_;
    change_.standard_error = std::sqrt(of_change->value);
    change_.degrees_freedom = of_change->degrees_freedom;
    change_.variance_then = spread([](const Residual& r) { return r.then; })->value;
    change_.variance_now = spread([](const Residual& r) { return r.now; })->value;
    change_.covariance = (change_.variance_then + change_.variance_now - of_change->value) / 2;
    return change_;
  }

 private:
  void add(const PairedCount& pair) {
    ++numbers_[pair.stratum];
    StratumSums& sums = sums_[pair.stratum];
    sums.weights += pair.weight;
    if (!pair.inside) return;
    ++change_.pairs;
    ++sums.pairs;
    sums.stems_then += pair.weight * pair.stems_then;
    sums.area_then += pair.weight * pair.area_then_m2;
    sums.stems_now += pair.weight * pair.stems_now;
    sums.area_now += pair.weight * pair.area_now_m2;
  }

  void by_stratum() {
    for (std::size_t h = 0; h < sums_.size(); ++h) {
      if (numbers_[h] == 0) continue;
      change_.then += share_[h] * sums_[h].stems_then / sums_[h].area_then;
      change_.now += share_[h] * sums_[h].stems_now / sums_[h].area_now;
    }
    for (const PairedCount& pair : pairs_) {
      const StratumSums& sums = sums_[pair.stratum];
      add_residual(pair, numbers_[pair.stratum] * pair.weight, sums);
    }
  }

  /// `times`: pairs of the stratum × the pair's weight there; `sums`: of the ratio.
  void add_residual(const PairedCount& pair, double times, const StratumSums& sums) {
    const double then = sums.stems_then / sums.area_then, now = sums.stems_now / sums.area_now;
    const double a = times / sums.area_then, b = times / sums.area_now;
    residuals_.push_back(
        {pair.stratum, a * residual(pair.stems_then, then, pair.area_then_m2),
         b * residual(pair.stems_now, now, pair.area_now_m2),
         a * (pair.stems_then + then * pair.area_then_m2) + b * (pair.stems_now + now * pair.area_now_m2)});
  }

  void over_strata() {
    StratumSums all;
    for (std::size_t h = 0; h < sums_.size(); ++h) {
      if (numbers_[h] == 0) continue;
      const double g = share_[h] / sums_[h].weights;
      all.stems_then += g * sums_[h].stems_then;
      all.area_then += g * sums_[h].area_then;
      all.stems_now += g * sums_[h].stems_now;
      all.area_now += g * sums_[h].area_now;
    }
    if (change_.pairs == 0) return;
    change_.then = all.stems_then / all.area_then;
    change_.now = all.stems_now / all.area_now;
    for (const PairedCount& pair : pairs_)
      if (pair.inside)
        add_residual(pair, numbers_[pair.stratum] * pair.weight / sums_[pair.stratum].weights, all);
    // Strata that the domain does not touch add nothing to its spread, nor tell of that of single pairs.
    for (std::size_t h = 0; h < sums_.size(); ++h)
      if (sums_[h].pairs == 0) numbers_[h] = 0;
  }

  const std::vector<PairedCount>& pairs_;
  std::vector<StratumSums> sums_;
  std::vector<double> share_;
  std::vector<int> numbers_;  ///< pairs by stratum, those outside the domain too
  std::vector<Residual> residuals_;
  PairedChange change_;
};

}  // namespace

PairedChange paired_change(const std::vector<PairedCount>& pairs, const std::vector<double>& ground_m2,
                           DomainCut cut, const std::vector<StratumPairs>& all) {
  return Pairs(pairs, ground_m2, cut, all).result();
}

std::optional<LowHigh> fieller_limits(const PairedChange& of, double confidence) {
  if (!of.standard_error || !(of.degrees_freedom > 0)) return {};
  const double t = student_t(confidence, of.degrees_freedom), t2 = t * t;
  // a R² − 2 b R + c = 0
  const double a = of.then * of.then - t2 * of.variance_then;
  const double b = of.then * of.now - t2 * of.covariance;
  const double c = of.now * of.now - t2 * of.variance_now;
  if (!(a > 0)) return {};
  const double root = std::sqrt(std::max(0.0, b * b - a * c));
  return LowHigh{(b - root) / a, (b + root) / a};
}

std::optional<TwoSeasonsMeans> two_seasons(const TwoSeasons& of) {
  if (of.matched + of.only_then < 1 || of.matched + of.only_now < 1) return {};
  // A season in which all plots are alike has a mean without error; a variance far below the other season's
  // stands for it, so that nothing is divided by 0.
  double then = of.sd_then * of.sd_then, now = of.sd_now * of.sd_now;
  const double least = 1e-12 * std::max(then, now);
  then = std::max(then, least);
  now = std::max(now, least);
  if (!(least > 0)) then = now = 1;  // no spread at all: any weights give the same means
  Eigen::Matrix2d information = Eigen::Matrix2d::Zero();
  Eigen::Vector2d weighted = Eigen::Vector2d::Zero();
  TwoSeasonsMeans means;
  means.variance_matched = infinite;
  const auto of_change = [](const Eigen::Matrix2d& c) { return c(0, 0) + c(1, 1) - 2 * c(0, 1); };
  if (of.matched > 0) {
    const double together = of.correlation * std::sqrt(then * now);
    Eigen::Matrix2d covariance;
    covariance << then, together, together, now;
    covariance /= of.matched;
    const Eigen::Matrix2d inverse = covariance.inverse();
    information += inverse;
    weighted += inverse * Eigen::Vector2d(of.matched_then, of.matched_now);
    means.variance_matched = of_change(covariance);
  }
  if (of.only_then > 0) {
    information(0, 0) += of.only_then / then;
    weighted(0) += of.only_then / then * of.alone_then;
  }
  if (of.only_now > 0) {
    information(1, 1) += of.only_now / now;
    weighted(1) += of.only_now / now * of.alone_now;
  }
  const Eigen::Matrix2d covariance = information.inverse();
  const Eigen::Vector2d estimate = covariance * weighted;
  means.then = estimate(0);
  means.now = estimate(1);
  means.change = estimate(1) - estimate(0);
  const double real = least > 0 ? 1 : 0;
  means.variance_then = real * covariance(0, 0);
  means.variance_now = real * covariance(1, 1);
  means.variance_change = real * of_change(covariance);
  means.variance_matched *= real > 0 || of.matched == 0 ? 1 : 0;
  return means;
}

}  // namespace swardline
