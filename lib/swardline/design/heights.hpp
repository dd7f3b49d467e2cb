// Heights of the ground along lines, and which way a site slopes. Private to this stage.
#pragma once

#include <optional>

#include "swardline/geo/geometry.hpp"
#include "swardline/grid/layers.hpp"
#include "swardline/lines/tape.hpp"

namespace swardline {

/// Reads the layer `elevation` where it is asked. One thread at a time.
class Heights {
 public:
  explicit Heights(const Layers& layers);

  /// True where the season has the layer.
  [[nodiscard]] bool known() const { return reader_.has_value(); }
  /// Metres at a place, between the four cells about it. Reads a small window, and keeps it for the next
  /// question near by.
  [[nodiscard]] std::optional<double> at(Point place);
  /// The slope of the plane that fits an area's heights best (least squares over its cells): metres of rise a
  /// metre, eastwards and northwards. Nothing where fewer than three cells have a height.
  [[nodiscard]] std::optional<Point> mean_rise(const Geometry& area);
  /// Side of a cell: heights nearer together than that tell nothing new.
  [[nodiscard]] double cell_m() const { return layers_->grid().cell_m; }

 private:
  void read(const Window& window);
  [[nodiscard]] double value(std::int64_t col, std::int64_t row) const;

  const Layers* layers_;
  std::size_t index_ = 0;
  std::optional<LayerReader> reader_;
  Tile tile_;
};

}  // namespace swardline
