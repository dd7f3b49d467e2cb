// The upper edge of counts along a factor. Where other things limit plants too, the mean along a factor says
// little; what its best places hold shows what the factor allows (Cade & Noon 2003, A gentle introduction to
// quantile regression for ecologists, Frontiers in Ecology and the Environment 1:412-420).
#pragma once

#include <optional>
#include <span>

namespace swardline {

/// y = at_zero + slope · x
struct QuantileLine {
  double at_zero = 0, slope = 0;
  double loss = 0;  ///< Σ w ρ(y − line)
  [[nodiscard]] double at(double x) const { return at_zero + slope * x; }
};

/// Σ w ρ(y − line), ρ(r) = quantile · r above the line and (quantile − 1) · r below (Koenker & Bassett 1978,
/// Econometrica 46:33-50).
[[nodiscard]] double quantile_loss(std::span<const double> x, std::span<const double> y,
                                   std::span<const double> weights, double quantile, double at_zero,
                                   double slope);

/// The straight line of least loss, exactly. A best line passes through two points with different x (Koenker
/// & Bassett 1978, theorem 3.1), so it is found by turning about one point until another is met: the turn is
/// a weighted quantile of slopes, and where no turn about any point on the line lowers the loss, no line
/// does, because the loss is convex and made of planes that meet along such turns (as Wesolowsky 1981,
/// Communications in Statistics B10:479-491, for the median, from memory; with a look at every point on the
/// line, so that ties and many zeros do not stop it early). Each turn costs n log n. Nothing where x has one
/// value only. `weights` empty: equal. 0 < quantile < 1.
[[nodiscard]] std::optional<QuantileLine> quantile_line(std::span<const double> x, std::span<const double> y,
                                                        std::span<const double> weights, double quantile);

/// The smallest value at or below which lies at least the share `quantile` of the weight; values not empty.
[[nodiscard]] double weighted_quantile(std::span<const double> values, std::span<const double> weights,
                                       double quantile);

}  // namespace swardline
