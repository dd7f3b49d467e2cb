// Distances to lines and round things, exact for every cell, worked out window by window.
#pragma once

#include <vector>

#include "view.hpp"

namespace swardline::landscape {

/// Everything within a radius of the segment a–b; a = b is a disc. The radius runs evenly from one end
/// to the other, changing by less than half the segment's length.
struct Capsule {
  double ax = 0, ay = 0, bx = 0, by = 0;
  double radius = 0, radius_b = 0;
};
[[nodiscard]] inline Capsule disc(double x, double y, double radius) { return {x, y, x, y, radius, radius}; }

/// Metres from every cell centre to the nearest of `shapes`, negative inside, `farthest` where all
/// are farther (or there are none). The value of a cell does not depend on the view: shapes are only
/// passed over where they cannot be the nearest.
[[nodiscard]] std::vector<double> nearest(const std::vector<Capsule>& shapes, double farthest,
                                          const View& view);

/// Metres from one position; same arithmetic.
[[nodiscard]] double nearest(const std::vector<Capsule>& shapes, double farthest, Spot spot);

/// The capsules of a broken line.
void add_line(const std::vector<Spot>& line, double radius, std::vector<Capsule>& shapes);

}  // namespace swardline::landscape
