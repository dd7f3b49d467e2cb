#include "swardline/design/plot_area.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <vector>

#include "swardline/base/text.hpp"

namespace swardline {
namespace {

/// Machines' sines differ in the last bit; to a billionth of a millimetre they agree.
double agreed(double value) { return std::round(value * 1e12) / 1e12; }

/// Sines of 0 … 90 degrees.
const std::array<double, 91>& sines() {
  static const std::array<double, 91> table = [] {
    std::array<double, 91> t{};
    for (std::size_t i = 0; i < t.size(); ++i) t[i] = agreed(std::sin(double(i) * std::numbers::pi / 180));
    return t;
  }();
  return table;
}

double sine_of_whole(int degrees) {
  const int d = ((degrees % 360) + 360) % 360;
  const int folded = d % 180 <= 90 ? d % 180 : 180 - d % 180;
  return d < 180 ? sines()[std::size_t(folded)] : -sines()[std::size_t(folded)];
}

double cross(Point a, Point b) { return a.x * b.y - a.y * b.x; }
double dot(Point a, Point b) { return a.x * b.x + a.y * b.y; }
Point minus(Point a, Point b) { return {a.x - b.x, a.y - b.y}; }

/// Half of the axis' extents: along the bearing and across it.
std::array<double, 2> half_extents(UnitShape shape, const std::array<double, 2>& size_m) {
  if (shape == UnitShape::belt) return {size_m[1] / 2, size_m[0] / 2};
  return {size_m[0] / 2, size_m[0] / 2};
}

double reach(UnitShape shape, const std::array<double, 2>& size_m) {
  if (shape == UnitShape::circle) return size_m[0];
  const auto [along, across] = half_extents(shape, size_m);
  return std::sqrt(along * along + across * across);
}

/// Signed area of the disc of radius r about the origin within the triangle (origin, a, b).
double disc_in_triangle(Point a, Point b, double r) {
  const auto sector = [r](Point p, Point q) { return r * r * std::atan2(cross(p, q), dot(p, q)) / 2; };
  const Point step = minus(b, a);
  const double length2 = dot(step, step);
  if (length2 == 0) return 0;
  // Where the edge a + t·step crosses the circle.
  const double middle = -dot(a, step) / length2;
  const double depth = middle * middle - (dot(a, a) - r * r) / length2;
  if (depth <= 0) return sector(a, b);
  const double half = std::sqrt(depth);
  const double from = std::max(0.0, middle - half), to = std::min(1.0, middle + half);
  if (from >= to) return sector(a, b);
  const Point in{a.x + from * step.x, a.y + from * step.y}, out{a.x + to * step.x, a.y + to * step.y};
  return sector(a, in) + cross(in, out) / 2 + sector(out, b);
}

/// Area of the disc about `centre` within polygons, in closed form over their edges.
double disc_area(const Geometry& polygons, Point centre, double r) {
  double area = 0;
  for (const std::vector<Point>& ring : rings_of(polygons).rings) {
    for (std::size_t i = 0; i + 1 < ring.size(); ++i) {
      area += disc_in_triangle(minus(ring[i], centre), minus(ring[i + 1], centre), r);
    }
  }
  return std::max(0.0, area);
}

/// Where the ray from `pin` crosses the rings, in metres, rising; up to `length`.
std::vector<double> crossings(const Rings& rings, Point pin, Point along, double length) {
  std::vector<double> at;
  for (const std::vector<Point>& ring : rings.rings) {
    for (std::size_t i = 0; i + 1 < ring.size(); ++i) {
      const Point a = minus(ring[i], pin), b = minus(ring[i + 1], pin);
      const double side_a = cross(along, a), side_b = cross(along, b);
      if ((side_a >= 0) == (side_b >= 0)) continue;
      const double t = side_a / (side_a - side_b);
      const double metres = dot(along, a) * (1 - t) + dot(along, b) * t;
      if (metres > 0 && metres <= length) at.push_back(metres);
    }
  }
  std::sort(at.begin(), at.end());
  return at;
}

std::string tenths(double metres) { return fmt::format("{:.1f}", metres); }

/// What the tape shows from the pin to one end; empty when no edge is near. Stems at t count twice where
/// t is inside and 2t outside: with the way out at e and in again at f, from e/2 to f/2.
std::string tape_to_end(const std::vector<double>& edges, double half) {
  std::vector<std::string> seen, zones;
  for (std::size_t i = 0; i < edges.size() && edges[i] < half; ++i) {
    seen.push_back((i % 2 == 0 ? "edge at " : "in again at ") + tenths(edges[i]) + " m");
  }
  // Stretches inside the area within the tape's half, against stretches whose double is outside.
  for (std::size_t in = 0; in <= edges.size(); in += 2) {
    const double inside_from = in == 0 ? 0 : edges[in - 1];
    const double inside_to = in < edges.size() ? std::min(edges[in], half) : half;
    for (std::size_t out = 0; out < edges.size(); out += 2) {
      const double from = std::max(inside_from, edges[out] / 2);
      const double out_to = out + 1 < edges.size() ? edges[out + 1] / 2 : half;
      const double to = std::min(inside_to, out_to);
      if (to - from < 0.05) continue;
      const bool to_edge_or_end = to == inside_to && (in < edges.size() || to == half);
      zones.push_back("from " + tenths(from) + " m" + (to_edge_or_end ? "" : " to " + tenths(to) + " m"));
    }
  }
  if (seen.empty() && zones.empty()) return {};
  if (seen.empty()) seen.push_back("edge at " + tenths(edges.front()) + " m, past the end");
  std::string text;
  for (const std::string& part : seen) text += (text.empty() ? "" : ", ") + part;
  if (!zones.empty()) text += ", count twice " + in_words(zones);
  return text;
}

std::string tape(const Geometry& near, Point pin, Point along, double half, const PlotArea& area) {
  const Rings rings = rings_of(near);
  std::string text;
  for (const auto& [end, way] :
       {std::pair<const char*, Point>{"end A: ", along}, {"end B: ", {-along.x, -along.y}}}) {
    const std::string part = tape_to_end(crossings(rings, pin, way, 2 * half), half);
    if (!part.empty()) text += (text.empty() ? "" : "; ") + (end + part);
  }
  // A hundredth of a square metre: what a tape cannot show.
  if (text.empty() && (area.twice_m2 > 0.01 || area.plot_m2 - area.inside_m2 > 0.01)) {
    return "edge beside the belt, not across its middle: a stem counts twice where as far again from the pin "
           "is "
           "outside";
  }
  return text;
}

}  // namespace

Point direction(double grid_bearing_deg) {
  const double whole = std::round(grid_bearing_deg);
  if (whole == grid_bearing_deg && std::abs(whole) < 1e6) {
    return {sine_of_whole(int(whole)), sine_of_whole(int(whole) + 90)};
  }
  const double angle = grid_bearing_deg * std::numbers::pi / 180;
  return {agreed(std::sin(angle)), agreed(std::cos(angle))};
}

Geometry plot_polygon(UnitShape shape, const std::array<double, 2>& size_m, Point pin,
                      double grid_bearing_deg) {
  const Point along = direction(grid_bearing_deg);
  const Point across{along.y, -along.x};
  const auto at = [&](double a, double b) {
    return Point{pin.x + a * along.x + b * across.x, pin.y + a * along.y + b * across.y};
  };
  if (shape != UnitShape::circle) {
    const auto [a, b] = half_extents(shape, size_m);
    return polygon({at(a, b), at(a, -b), at(-a, -b), at(-a, b)});
  }
  constexpr int corners = 256;
  // The regular polygon of radius R has the area corners/2·R²·sin(2π/corners); it is to have the disc's.
  const double turn = 2 * std::numbers::pi / corners;
  const double radius = size_m[0] * std::sqrt(std::numbers::pi / (corners / 2.0 * std::sin(turn)));
  std::vector<Point> ring;
  ring.reserve(corners);
  for (int i = 0; i < corners; ++i) {
    ring.push_back(at(agreed(radius * std::cos(i * turn)), agreed(-radius * std::sin(i * turn))));
  }
  return polygon(ring);
}

PlotArea walk_through(const Geometry& survey_area, UnitShape shape, const std::array<double, 2>& size_m,
                      Point pin, double grid_bearing_deg) {
  PlotArea area;
  const bool circle = shape == UnitShape::circle;
  const auto [along, across] = half_extents(shape, size_m);
  area.plot_m2 = circle ? std::numbers::pi * size_m[0] * size_m[0] : 4 * along * across;
  // Nothing farther than twice the reach matters; the metre keeps the box's own sides out of the way.
  const double far = 2 * reach(shape, size_m) + 1;
  const Box box{pin.x - far, pin.y - far, pin.x + far, pin.y + far};
  const Geometry near = clipped(survey_area, box);
  const double all = (box.x1 - box.x0) * (box.y1 - box.y0);
  if (near.area() >= all * (1 - 1e-12)) {
    area.inside_m2 = area.plot_m2;
    return area;
  }
  if (near.empty()) return area;
  // {x in area : 2x - pin in area} is the area within its own image shrunk by half about the pin.
  const Geometry once = polygons_of(intersection(near, scaled(near, 0.5, pin)));
  double once_m2 = 0;
  if (circle) {
    area.inside_m2 = disc_area(near, pin, size_m[0]);
    once_m2 = disc_area(once, pin, size_m[0]);
  } else {
    const Geometry plot = plot_polygon(shape, size_m, pin, grid_bearing_deg);
    area.inside_m2 = intersection(near, plot).area();
    once_m2 = intersection(once, plot).area();
  }
  // Overlay rounding is far below a square millimetre: less than that is none.
  const auto settled = [](double value, double whole) {
    if (value < 1e-6) return 0.0;
    return value > whole - 1e-6 ? whole : value;
  };
  area.inside_m2 = settled(area.inside_m2, area.plot_m2);
  area.twice_m2 = settled(area.inside_m2 - once_m2, area.inside_m2);
  if (shape == UnitShape::belt) area.tape = tape(near, pin, direction(grid_bearing_deg), along, area);
  return area;
}

}  // namespace swardline
