// What one pass over a layer's cells tells. Private to this folder.
#pragma once

#include <cstdint>
#include <map>
#include <vector>

#include "swardline/grid/layers.hpp"

namespace swardline::check_parts {

struct LayerFacts {
  std::map<long long, std::int64_t> class_cells;  ///< of class layers: value -> cells
  double low = 0, high = 0;                       ///< of measures, as sheets speak of them
  double low_above_zero = 0;                      ///< smallest value that is not 0
  std::int64_t values = 0;                        ///< cells with data
  std::int64_t none = 0;                          ///< cells without, within the layer's own extent
  std::int64_t zeros = 0;

  void add(const LayerInfo& info, const LayerTile& tile, const Window& window);
  void add(const LayerFacts& other);
};

}  // namespace swardline::check_parts
