#include "stretch.hpp"

#include <algorithm>
#include <cmath>

namespace swardline::landscape {

Box box_of(const std::vector<std::vector<Spot>>& rings) {
  Box box;
  for (const auto& ring : rings) {
    for (const Spot s : ring) {
      box = {std::min(box.x0, s.x), std::min(box.y0, s.y), std::max(box.x1, s.x), std::max(box.y1, s.y)};
    }
  }
  return box;
}

double edge_distance(const Stretch& stretch, Spot spot) {
  double least2 = 1e30;
  bool inside = false;
  for (const auto& ring : stretch.rings) {
    for (std::size_t i = 0, j = ring.size() - 1; i < ring.size(); j = i++) {
      const Spot a = ring[j], b = ring[i];
      const double dx = b.x - a.x, dy = b.y - a.y;
      const double px = spot.x - a.x, py = spot.y - a.y;
      const double length2 = dx * dx + dy * dy;
      double t = length2 > 0 ? (px * dx + py * dy) / length2 : 0;
      t = t < 0 ? 0 : t > 1 ? 1 : t;
      const double ex = px - t * dx, ey = py - t * dy;
      least2 = std::min(least2, ex * ex + ey * ey);
      if ((a.y > spot.y) != (b.y > spot.y) && (px * dy < dx * py) == (dy > 0)) inside = !inside;
    }
  }
  const double edge = std::sqrt(least2);
  return inside ? -edge : edge;
}

}  // namespace swardline::landscape
