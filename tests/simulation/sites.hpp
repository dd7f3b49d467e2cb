// Ground that designs and estimators are judged on.
#pragma once

#include <cmath>
#include <numbers>

#include "swardline/geo/geometry.hpp"

namespace swardline {

/// A wavy outline, r(t) = q(t)·scale with q = 1 + 0.25 sin 3t + 0.15 sin(7t + 1), scaled to 2.5 ha with its
/// round pond of radius 15 m at (5, 5) from the centre cut out afterwards; centre at (1000, 1000).
inline Geometry wavy_site_with_pond() {
  const auto ring = [](double scale, double x, double y, bool wavy) {
    std::vector<Point> points;
    for (int i = 0; i < 720; ++i) {
      const double t = i * std::numbers::pi / 360;
      const double q = wavy ? 1 + 0.25 * std::sin(3 * t) + 0.15 * std::sin(7 * t + 1) : 1;
      points.push_back({x + scale * q * std::cos(t), y + scale * q * std::sin(t)});
    }
    return polygon(points);
  };
  const double scale = std::sqrt(25000 / ring(1, 0, 0, true).area());
  return snapped_mm(difference(ring(scale, 1000, 1000, true), ring(15, 1005, 1005, false)));
}

/// A square of 2.5 ha.
inline Geometry square_site() { return box_polygon({1000, 1000, 1158, 1158.25}); }

/// Three of the four quarters of a square of 300 m.
inline Geometry l_shaped_site() {
  return polygon({{1000, 1000}, {1300, 1000}, {1300, 1150}, {1150, 1150}, {1150, 1300}, {1000, 1300}});
}

/// Two discs of 1 ha, their centres 400 m apart.
inline Geometry two_discs() {
  const auto disc = [](double x, double y) {
    std::vector<Point> points;
    for (int i = 0; i < 360; ++i) {
      const double t = i * std::numbers::pi / 180;
      points.push_back({x + std::cos(t), y + std::sin(t)});
    }
    return scaled(polygon(points), std::sqrt(10000 / polygon(points).area()), {x, y});
  };
  return snapped_mm(united({disc(1100, 1100), disc(1500, 1100)}));
}

/// A strip of 60 × 18.3 m (0.11 ha).
inline Geometry small_strip() { return box_polygon({503, 707, 563, 725.3}); }

}  // namespace swardline
