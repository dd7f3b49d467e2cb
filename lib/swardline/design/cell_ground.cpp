// The ground of a cell that an edge cuts: points uniform over it, to the whole millimetre.
#include <algorithm>
#include <cmath>

#include "swardline/design/ground.hpp"

namespace swardline {

CellGround::CellGround(const Geometry& ground) {
  if (ground.empty()) return;
  double sum = 0;
  for (const std::array<Point, 3>& t : triangles(ground)) {
    const double area =
        std::abs((t[1].x - t[0].x) * (t[2].y - t[0].y) - (t[2].x - t[0].x) * (t[1].y - t[0].y)) / 2;
    if (!(area > 0)) continue;
    sum += area;
    triangles_.push_back(t);
    up_to_.push_back(sum);
  }
  for (const std::vector<Point>& ring : rings_of(ground).rings) {
    for (std::size_t i = 0; i + 1 < ring.size(); ++i) edges_.push_back({ring[i], ring[i + 1]});
  }
}

bool CellGround::holds(Point at) const {
  constexpr double clear = 1e-5;
  bool inside = false;
  for (const Edge& edge : edges_) {
    const double dx = edge.b.x - edge.a.x, dy = edge.b.y - edge.a.y;
    const double px = at.x - edge.a.x, py = at.y - edge.a.y;
    const double length = dx * dx + dy * dy;
    const double t = length > 0 ? std::clamp((px * dx + py * dy) / length, 0.0, 1.0) : 0.0;
    const double ex = px - t * dx, ey = py - t * dy;
    if (ex * ex + ey * ey < clear * clear) return false;
    if ((edge.a.y > at.y) == (edge.b.y > at.y)) continue;
    if (at.x - edge.a.x < (edge.b.x - edge.a.x) * ((at.y - edge.a.y) / (edge.b.y - edge.a.y)))
      inside = !inside;
  }
  return inside;
}

Point CellGround::point(RandomStream& random) const {
  // A point whose four whole-millimetre neighbours all lie outside is in a sliver: a few more are
  // tried, and at last the sliver's own point is taken as it is.
  Point at;
  for (int attempt = 0; attempt < 32; ++attempt) {
    const double u = random.uniform() * up_to_.back();
    const auto found = std::upper_bound(up_to_.begin(), up_to_.end(), u);
    const std::size_t which = std::min(std::size_t(found - up_to_.begin()), triangles_.size() - 1);
    const auto& [a, b, c] = triangles_[which];
    const double r = std::sqrt(random.uniform()), s = random.uniform();
    at = {(1 - r) * a.x + r * (1 - s) * b.x + r * s * c.x, (1 - r) * a.y + r * (1 - s) * b.y + r * s * c.y};
    const double x = at.x * 1000, y = at.y * 1000;
    const double near_x = std::round(x), near_y = std::round(y);
    const double far_x = near_x > x ? near_x - 1 : near_x + 1, far_y = near_y > y ? near_y - 1 : near_y + 1;
    const bool x_first = std::abs(far_x - x) <= std::abs(far_y - y);
    const std::array<Point, 4> nearby = {{{near_x, near_y},
                                          x_first ? Point{far_x, near_y} : Point{near_x, far_y},
                                          x_first ? Point{near_x, far_y} : Point{far_x, near_y},
                                          {far_x, far_y}}};
    for (const Point& p : nearby) {
      const Point whole{p.x / 1000, p.y / 1000};
      if (holds(whole)) return whole;
    }
  }
  return at;
}

}  // namespace swardline
