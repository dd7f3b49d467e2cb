// What a second, independent count of the same plots says of plants that were missed.
#pragma once

#include <optional>
#include <span>

#include "swardline/estimate/limits.hpp"
#include "swardline/estimate/stratified.hpp"

namespace swardline {

/// Stems of one species on one plot by two observers who did not know each other's count.
struct TwoCounts {
  double first = 0, second = 0;
};

/// Σ second / Σ first with the variance of a ratio (Cochran 1977, 2.11) over pairs; above 1 the first counts
/// missed plants. None where the first found nothing or there is one pair.
[[nodiscard]] std::optional<Estimated> recount_ratio(std::span<const TwoCounts> pairs);

/// Plots that hold the species, from who found it where: a plot is known again, a stem is not, so plots take
/// the place of marked animals. Chapman's (1951) form of the Lincoln–Petersen estimate, (n₁ + 1)(n₂ + 1)/(m +
/// 1) − 1, with Seber's (1970) variance; it assumes that the two found it independently and alike on all
/// plots.
struct TwoObservers {
  int first = 0, second = 0, both = 0;  ///< plots on which each found it
  double occupied = 0;                  ///< estimated number of occupied plots among the pairs
  double variance = 0;
  double found_by_first = 0;  ///< share of the plots where the second found it: m / n₂
  double missed_by_both = 0;  ///< estimated plots of `occupied` that neither found it on
};
/// None where either found nothing, or they share no plot.
[[nodiscard]] std::optional<TwoObservers> two_observers(std::span<const TwoCounts> pairs);

}  // namespace swardline
