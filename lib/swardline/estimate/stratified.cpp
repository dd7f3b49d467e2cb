#include "swardline/estimate/stratified.hpp"

#include <cmath>

#include "swardline/base/error.hpp"

namespace swardline {
namespace {

/// Sums of one stratum's units within the domain, and of all of its units.
struct DomainSums {
  double count = 0, over = 0, all_area = 0;
};

/// The i-th value; 1 of an empty list.
double at(const std::vector<double>& values, std::size_t i) { return values.empty() ? 1 : values[i]; }

const std::vector<double>& over(const StratumCounts& stratum) {
  return stratum.over.empty() ? stratum.areas : stratum.over;
}

bool inside(const StratumCounts& stratum, std::size_t i) {
  return stratum.inside.empty() || stratum.inside[i] != 0;
}

DomainSums sums_of(const StratumCounts& stratum) {
  const std::size_t n = stratum.counts.size();
  const auto fits = [n](const auto& list) { return list.empty() || list.size() == n; };
  if (!fits(stratum.areas) || !fits(stratum.weights) || !fits(stratum.over) || !fits(stratum.inside))
    throw Defect("counts, areas and weights of a stratum differ in number");
  DomainSums sums;
  for (std::size_t i = 0; i < n; ++i) {
    const double w = at(stratum.weights, i);
    sums.all_area += w * at(stratum.areas, i);
    if (!inside(stratum, i)) continue;
    sums.over += w * at(over(stratum), i);
    sums.count += w * stratum.counts[i];
  }
  if (!(sums.all_area > 0))
    throw InputError({}, "a stratum has no plot with an area searched.",
                     "Leave it out: nothing is known of it.");
  return sums;
}

/// By unit, what it adds to Σ (A/Σwa) w (y − ratio · x).
std::vector<double> contributions(const StratumCounts& stratum, double all_area, double ratio) {
  std::vector<double> u(stratum.counts.size(), 0);
  for (std::size_t i = 0; i < u.size(); ++i) {
    if (!inside(stratum, i)) continue;
    u[i] = stratum.ground / all_area * at(stratum.weights, i) *
           residual(stratum.counts[i], ratio, at(over(stratum), i));
  }
  return u;
}

}  // namespace

double Estimated::standard_error() const { return std::sqrt(variance); }

double residual(double y, double ratio, double a) {
  constexpr double rounding = 1e-12;
  const double off = y - ratio * a;
  return std::abs(off) <= rounding * (std::abs(y) + std::abs(ratio * a)) ? 0 : off;
}

double variance_of_sum(std::span<const double> contributions, double share_taken) {
  const auto n = double(contributions.size());
  if (contributions.size() < 2) return 0;
  double mean = 0, squares = 0;
  for (const double u : contributions) mean += u / n;
  for (const double u : contributions) squares += std::pow(residual(u, mean, 1), 2);
  return (1 - share_taken) * n / (n - 1) * squares;
}

void Satterthwaite::add(double variance, double df) {
  if (!(variance > 0) || !(df > 0)) return;
  sum_ += variance;
  squares_ += variance * variance / df;
}

Estimated ratio_of_totals(const StratumCounts& stratum) {
  const DomainSums sums = sums_of(stratum);
  const double ratio = sums.count / sums.over;
  std::vector<double> u = contributions(stratum, sums.all_area, ratio);
  for (double& one : u) one /= stratum.ground;
  return {ratio, variance_of_sum(u, stratum.share_taken), double(u.size()) - 1};
}

Stratified stratified_ratio(std::span<const StratumCounts> strata) {
  Stratified all;
  Satterthwaite variance;
  for (const StratumCounts& stratum : strata) {
    const Estimated one = ratio_of_totals(stratum);
    all.ground += stratum.ground;
    all.total.value += stratum.ground * one.value;
    variance.add(stratum.ground * stratum.ground * one.variance, one.df);
  }
  all.total.variance = variance.variance();
  all.total.df = variance.df();
  all.density = {all.total.value / all.ground, all.total.variance / (all.ground * all.ground), all.total.df};
  return all;
}

Stratified combined_ratio(std::span<const StratumCounts> strata) {
  Stratified all;
  std::vector<DomainSums> sums;
  for (const StratumCounts& stratum : strata) {
    sums.push_back(sums_of(stratum));
    all.total.value += stratum.ground / sums.back().all_area * sums.back().count;
    all.ground += stratum.ground / sums.back().all_area * sums.back().over;
  }
  if (!(all.ground > 0))
    throw InputError({}, "no plot lies in the part asked for.", "Leave it out: nothing is known of it.");
  all.density.value = all.total.value / all.ground;
  Satterthwaite of_total, of_ratio;
  for (std::size_t h = 0; h < strata.size(); ++h) {
    const double df = double(strata[h].counts.size()) - 1, taken = strata[h].share_taken;
    of_total.add(variance_of_sum(contributions(strata[h], sums[h].all_area, 0), taken), df);
    of_ratio.add(variance_of_sum(contributions(strata[h], sums[h].all_area, all.density.value), taken), df);
  }
  all.total.variance = of_total.variance();
  all.total.df = of_total.df();
  all.density.variance = of_ratio.variance() / (all.ground * all.ground);
  all.density.df = of_ratio.df();
  return all;
}

}  // namespace swardline
