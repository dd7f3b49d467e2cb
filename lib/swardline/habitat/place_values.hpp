// The layers' values at single cells, for places explained, known patches and plots.
#pragma once

#include <string>

#include "swardline/grid/layers.hpp"
#include "swardline/habitat/rule.hpp"

namespace swardline {

class PlaceValues {
 public:
  explicit PlaceValues(const Layers& layers) : layers_(layers), reader_(layers) {}
  /// Reads the cell; `of` then speaks of it.
  void move_to(std::int64_t col, std::int64_t row) { reader_.read({col, row, 1, 1}, tile_); }
  /// No data for a layer that was not opened.
  [[nodiscard]] LayerValue of(const std::string& layer) const;

 private:
  const Layers& layers_;
  LayerReader reader_;
  Tile tile_;
};

}  // namespace swardline
