// What one pass over a layer's cells tells. Private to this folder.
#pragma once

#include <cstdint>
#include <limits>
#include <map>
#include <vector>

#include "swardline/grid/layers.hpp"

namespace swardline::check_parts {

/// Lowest and highest of what was added; `any()` is false before.
struct Range {
  double low = std::numeric_limits<double>::infinity();
  double high = -std::numeric_limits<double>::infinity();
  void add(double value) {
    low = value < low ? value : low;
    high = value > high ? value : high;
  }
  [[nodiscard]] bool any() const { return low <= high; }
  void add(const Range& other) {
    if (!other.any()) return;
    add(other.low);
    add(other.high);
  }
};

struct LayerFacts {
  bool readable = true;
  bool whole = true;  ///< every cell was read: what no cell shows, the layer does not hold
  std::map<long long, std::int64_t> class_cells;  ///< of class layers: value -> cells
  std::int64_t other_class_cells = 0;             ///< cells of values beyond the first `most_classes` met
  Range range;                                    ///< of measures, as sheets speak of them
  Range range_without_marks;                      ///< the same without values that usually mark missing data
  std::map<double, std::int64_t> marks;           ///< those values, raw -> cells
  double above_zero[2] = {std::numeric_limits<double>::infinity(),
                          std::numeric_limits<double>::infinity()};  ///< two smallest values over 0
  std::int64_t values = 0;                                           ///< cells with data
  std::int64_t none = 0;  ///< cells without, within the layer's own extent
  std::int64_t zeros = 0;

  static constexpr std::size_t most_classes = 65536;
  /// Only cells of the layer's own extent count.
  void add(const LayerInfo& info, const LayerTile& tile, const Window& window);
  void add(const LayerFacts& other);

 private:
  void take_value(const LayerInfo& info, double raw, std::int64_t cells);
  void take_class(long long value, std::int64_t cells);
  void take_above_zero(double value);
};

}  // namespace swardline::check_parts
