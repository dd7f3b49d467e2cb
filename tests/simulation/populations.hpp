// Stems placed by known processes, so that the truth is known. Densities are in stems per square metre.
#pragma once

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <numbers>
#include <vector>

#include "swardline/base/random.hpp"
#include "swardline/geo/geometry.hpp"

namespace swardline {

/// Distances to an area's boundary, ponds included.
class EdgeDistance {
 public:
  explicit EdgeDistance(const Geometry& area) : rings_(rings_of(area)) {}
  [[nodiscard]] double operator()(Point at) const {
    double least = std::numeric_limits<double>::infinity();
    for (const std::vector<Point>& ring : rings_.rings) {
      for (std::size_t i = 0; i + 1 < ring.size(); ++i) {
        const double sx = ring[i + 1].x - ring[i].x, sy = ring[i + 1].y - ring[i].y;
        const double ax = at.x - ring[i].x, ay = at.y - ring[i].y, length2 = sx * sx + sy * sy;
        const double t = length2 > 0 ? std::clamp((ax * sx + ay * sy) / length2, 0.0, 1.0) : 0.0;
        const double dx = ax - t * sx, dy = ay - t * sy;
        least = std::min(least, dx * dx + dy * dy);
      }
    }
    return std::sqrt(least);
  }

 private:
  Rings rings_;
};

/// Poisson number by exponential gaps.
inline int poisson(double mean, RandomStream& random) {
  int count = 0;
  for (double sum = -std::log(1 - random.uniform()); sum < mean; sum -= std::log(1 - random.uniform()))
    ++count;
  return count;
}

/// Poisson stems of at most `most` a square metre, thinned to `density`.
inline std::vector<Point> poisson_stems(const Geometry& area, double most,
                                        const std::function<double(Point)>& density, RandomStream random) {
  const PreparedArea inside(area);
  const Box box = area.box();
  const double width = box.x1 - box.x0, height = box.y1 - box.y0;
  std::vector<Point> stems;
  for (int left = poisson(most * width * height, random); left > 0; --left) {
    const Point at{box.x0 + width * random.uniform(), box.y0 + height * random.uniform()};
    const double kept = random.uniform() * most;
    if (inside.contains(at) && kept < density(at)) stems.push_back(at);
  }
  return stems;
}

/// Cluster process: parents also outside the site; offspring Poisson with a Gaussian spread; clipped.
inline std::vector<Point> clustered_stems(const Geometry& area, double parent_m2, double offspring,
                                          double spread, RandomStream random) {
  const PreparedArea inside(area);
  Box box = area.box();
  const double rim = 5 * spread;
  box = {box.x0 - rim, box.y0 - rim, box.x1 + rim, box.y1 + rim};
  const double width = box.x1 - box.x0, height = box.y1 - box.y0;
  std::vector<Point> stems;
  for (int parents = poisson(width * height / parent_m2, random); parents > 0; --parents) {
    const Point parent{box.x0 + width * random.uniform(), box.y0 + height * random.uniform()};
    for (int left = poisson(offspring, random); left > 0; --left) {
      const double away = spread * std::sqrt(-2 * std::log(1 - random.uniform()));
      const double turn = 2 * std::numbers::pi * random.uniform();
      const Point at{parent.x + away * std::cos(turn), parent.y + away * std::sin(turn)};
      if (inside.contains(at)) stems.push_back(at);
    }
  }
  return stems;
}

inline std::vector<Point> trend_stems(const Geometry& area, RandomStream random) {
  const Box box = area.box();
  return poisson_stems(
      area, 0.4, [&](Point at) { return 0.4 * (at.x - box.x0) / (box.x1 - box.x0); }, random);
}
inline std::vector<Point> clumped_stems(const Geometry& area, RandomStream random) {
  return clustered_stems(area, 400, 20, 3, random);
}
inline std::vector<Point> rare_stems(const Geometry& area, RandomStream random) {
  return clustered_stems(area, 4000, 8, 2, random);
}
inline std::vector<Point> edge_loving_stems(const Geometry& area, RandomStream random) {
  const EdgeDistance edge(area);
  return poisson_stems(
      area, 0.8, [&](Point at) { return 0.8 * std::exp(-edge(at) / 3); }, random);
}
inline std::vector<Point> edge_band_stems(const Geometry& area, RandomStream random) {
  const EdgeDistance edge(area);
  const PreparedArea amid(buffered(area, -2.01));  // spares most of the distances
  return poisson_stems(
      area, 0.5, [&](Point at) { return !amid.contains(at) && edge(at) < 2 ? 0.5 : 0.0; }, random);
}

}  // namespace swardline
