#include "swardline/estimate/dispersion.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "swardline/base/error.hpp"

namespace swardline {

Dispersion dispersion_of(std::span<const double> counts) {
  Dispersion d;
  const auto n = double(counts.size());
  d.plots = int(counts.size());
  for (const double y : counts) d.mean += y / n;
  if (counts.size() < 2 || !(d.mean > 0))
    throw InputError({}, "counts without a find, or of one plot, tell nothing about clumping.",
                     "Give at least two plots with at least one plant.");
  for (const double y : counts) d.variance += (y - d.mean) * (y - d.mean) / (n - 1);
  d.ratio = d.variance / d.mean;
  d.index = (n - 1) * d.ratio;
  if (d.variance > d.mean) d.k_by_moments = d.mean * d.mean / (d.variance - d.mean);
  return d;
}

std::optional<double> k_by_likelihood(std::span<const double> counts) {
  const Dispersion d = dispersion_of(counts);
  // The likelihood has a greatest value where the variance with n in place of n − 1 is above the mean.
  const auto n = double(counts.size());
  if (!(d.variance * (n - 1) / n > d.mean)) return std::nullopt;
  const auto most = std::size_t(*std::max_element(counts.begin(), counts.end()));
  std::vector<double> above(most, 0);
  for (const double y : counts)
    for (std::size_t j = 0; j < std::size_t(y); ++j) ++above[j];
  const auto slope = [&](double k) {
    double sum = -n * std::log1p(d.mean / k);
    for (std::size_t j = 0; j < most; ++j) sum += above[j] / (k + double(j));
    return sum;
  };
  double low = std::log(1e-8), high = std::log(1e8);  // the slope falls through 0 between
  for (int i = 0; i < 80; ++i) {
    const double middle = (low + high) / 2;
    (slope(std::exp(middle)) > 0 ? low : high) = middle;
  }
  return std::exp((low + high) / 2);
}

}  // namespace swardline
