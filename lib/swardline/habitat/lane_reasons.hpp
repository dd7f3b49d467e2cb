// Why cells of a species have no score, in the order in which a single cell is judged. Private to the stage.
#pragma once

#include <cmath>
#include <vector>

#include "swardline/habitat/model_parts.hpp"

namespace swardline {

/// One reason: a factor's class is excluded, a mask leaves the cell out, or one of them has no data.
struct Reason {
  const FactorColumn* factor = nullptr;  ///< or
  const MaskColumn* mask = nullptr;
  MaskState state = MaskState::keep;  ///< of the mask
  bool excludes = false;              ///< the factor; else it has no data
  std::uint8_t category = 0;          ///< of the held-down map
  [[nodiscard]] std::size_t slot() const { return mask != nullptr ? mask->slot : factor->slot; }
  /// Whether a byte of the layer is one.
  [[nodiscard]] bool met(std::size_t raw) const {
    if (mask != nullptr) return mask->state_of[raw] == state;
    return excludes ? factor->excluded_of[raw] == category : std::isnan(factor->response_of[raw]);
  }
};

/// The first that is met is the cell's.
[[nodiscard]] std::vector<Reason> reasons_in_order(const SpeciesPlan& plan, const ScoredSpecies& species);

}  // namespace swardline
