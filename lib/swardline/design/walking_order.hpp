// The order in which a team walks a site's plots: the shortest open route from a start.
#pragma once

#include <cstddef>
#include <vector>

#include "swardline/geo/geometry.hpp"

namespace swardline {

struct Walk {
  std::vector<std::size_t> order;  ///< indices of the points, in walking order
  std::vector<double> leg_m;       ///< metres to each from the one before (the start for the first)
  double total_m = 0;
  bool exact = false;  ///< up to 12 points: no shorter route exists
};

/// Shortest open route over straight legs: exact for up to 12 points (Held & Karp 1962), nearest
/// neighbour improved by 2-opt and or-opt beyond. Deterministic.
[[nodiscard]] Walk walking_order(Point start, const std::vector<Point>& points);

}  // namespace swardline
