// How a site is laid out on its map: whole, or a long narrow one in parts. Private to this folder.
#pragma once

#include <vector>

#include "swardline/design/site.hpp"
#include "swardline/report/map_drawing.hpp"

namespace swardline {

struct MapLayout {
  /// One view of the whole site, or parts of one scale that follow each other along it; each ground belongs
  /// to one part, though a part shows a little of its neighbours.
  std::vector<MapView> parts;
  bool west_to_east = true;  ///< the order of parts; else north to south
  double right = 0, bottom = 0;
  /// The part a point's mark and name belong in.
  [[nodiscard]] std::size_t part_of(Point point) const;
};

/// `names` plots will be named on it, so that crowded sites get a larger map. A verge of a few metres' width
/// over kilometres would be a bare line: it is cut into parts that show its width.
[[nodiscard]] MapLayout map_layout(const Site& site, std::size_t names, double reach_m);

}  // namespace swardline
