#include "swardline/lines/chords.hpp"

#include <algorithm>

#include "swardline/geo/plane_vectors.hpp"

namespace swardline {
namespace {

/// The integral over one edge of min(u, limit) dv.
double edge_integral(double u1, double u2, double dv, double limit) {
  if (u1 <= limit && u2 <= limit) return dv * (u1 + u2) / 2;
  if (u1 >= limit && u2 >= limit) return dv * limit;
  const double share = (limit - u1) / (u2 - u1);  // of the edge up to where it meets the limit
  return u1 < limit ? dv * (share * (u1 + limit) / 2 + (1 - share) * limit)
                    : dv * (share * limit + (1 - share) * (limit + u2) / 2);
}

}  // namespace

Chords::Chords(const Geometry& area) {
  for (const std::vector<Point>& ring : rings_of(area).rings)
    for (std::size_t i = 0; i + 1 < ring.size(); ++i) edges_.push_back({ring[i], ring[i + 1]});
}

std::vector<Stretch> Chords::inside(Point origin, Point along) const {
  std::vector<double> at;
  for (const Edge& edge : edges_) {
    const Point a = minus(edge.a, origin), b = minus(edge.b, origin);
    const double side_a = cross(along, a), side_b = cross(along, b);
    // Half-open, so that a corner on the line is crossed once or not at all.
    if ((side_a >= 0) == (side_b >= 0)) continue;
    const double t = side_a / (side_a - side_b);
    at.push_back(dot(along, a) * (1 - t) + dot(along, b) * t);
  }
  std::sort(at.begin(), at.end());
  std::vector<Stretch> stretches;
  for (std::size_t i = 0; i + 1 < at.size(); i += 2) {
    if (at[i] == at[i + 1]) continue;
    // Parts of an area that share an edge: the line does not leave it there.
    if (!stretches.empty() && stretches.back().to == at[i])
      stretches.back().to = at[i + 1];
    else
      stretches.push_back({at[i], at[i + 1]});
  }
  return stretches;
}

std::vector<Stretch> Chords::inside(Point origin, Point along, Stretch within) const {
  std::vector<Stretch> stretches;
  for (const Stretch& s : inside(origin, along)) {
    const Stretch cut{std::max(s.from, within.from), std::min(s.to, within.to)};
    if (cut.from < cut.to) stretches.push_back(cut);
  }
  return stretches;
}

Stretch Chords::reach(Point origin, Point along) const {
  if (edges_.empty()) return {};
  const double first = dot(along, minus(edges_.front().a, origin));
  Stretch reach{first, first};
  for (const Edge& edge : edges_) {
    const double at = dot(along, minus(edge.a, origin));
    reach.from = std::min(reach.from, at);
    reach.to = std::max(reach.to, at);
  }
  return reach;
}

double Chords::area_before(Point origin, Point along, double metres) const {
  // v runs to the left of u, so that the rings' counter-clockwise turn counts upwards.
  const Point left{-along.y, along.x};
  double sum = 0;
  for (const Edge& edge : edges_) {
    const Point a = minus(edge.a, origin), b = minus(edge.b, origin);
    sum += edge_integral(dot(along, a), dot(along, b), dot(left, b) - dot(left, a), metres);
  }
  return sum;
}

}  // namespace swardline
