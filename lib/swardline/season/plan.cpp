#include "swardline/season/plan.hpp"

#include <algorithm>
#include <cmath>

namespace swardline {

const LayerSpec* Plan::layer(const std::string& layer_name) const {
  const auto at = std::find_if(layers.begin(), layers.end(),
                               [&](const LayerSpec& spec) { return spec.name == layer_name; });
  return at == layers.end() ? nullptr : &*at;
}

double SampleSpec::unit_area_m2() const {
  switch (shape) {
    case UnitShape::circle:
      return 3.141592653589793 * size_m[0] * size_m[0];
    case UnitShape::square:
      return size_m[0] * size_m[0];
    case UnitShape::belt:
      break;
  }
  return size_m[0] * size_m[1];
}

double SampleSpec::reach_m() const {
  switch (shape) {
    case UnitShape::circle:
      return size_m[0];
    case UnitShape::square:
      return size_m[0] * std::sqrt(0.5);
    case UnitShape::belt:
      break;
  }
  return 0.5 * std::sqrt(size_m[0] * size_m[0] + size_m[1] * size_m[1]);
}

}  // namespace swardline
