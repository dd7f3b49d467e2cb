#include "swardline/habitat/lane_reasons.hpp"

#include <algorithm>

namespace swardline {

std::vector<Reason> reasons_in_order(const SpeciesPlan& plan, const ScoredSpecies& species) {
  std::vector<Reason> reasons;
  for (const FactorColumn& factor : plan.factors) {
    for (std::size_t category = 1; category < species.categories.size(); ++category) {
      const auto& of = factor.excluded_of;
      if (std::find(of.begin(), of.end(), std::uint8_t(category)) != of.end())
        reasons.push_back({&factor, nullptr, MaskState::keep, true, std::uint8_t(category)});
    }
  }
  for (const MaskColumn& mask : plan.masks)
    reasons.push_back({nullptr, &mask, MaskState::out, false, mask.excluded});
  for (const FactorColumn& factor : plan.factors)
    if (factor.must_have) reasons.push_back({&factor, nullptr, MaskState::keep, false, factor.missing});
  for (const MaskColumn& mask : plan.masks)
    reasons.push_back({nullptr, &mask, MaskState::none, false, mask.missing});
  return reasons;
}

}  // namespace swardline
