#include "swardline/design/plot_area.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <vector>

#include "swardline/design/edge_words.hpp"
#include "swardline/geo/plane_vectors.hpp"

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

/// The survey area about a pin. Nothing farther than twice the reach matters; the metre keeps the box's own
/// sides out of the way.
struct Near {
  Geometry area;
  bool whole = false;  ///< no edge within twice the reach
};

Near near_of(const Geometry& survey_area, Point pin, double reach_m) {
  const double far = 2 * reach_m + 1;
  const Box box{pin.x - far, pin.y - far, pin.x + far, pin.y + far};
  Near near{clipped(survey_area, box)};
  near.whole = near.area.area() >= 4 * far * far * (1 - 1e-12);
  return near;
}

/// Overlay rounding is far below a square millimetre: less than that is none.
double settled(double value, double whole) {
  if (value < 1e-6) return 0.0;
  return value > whole - 1e-6 ? whole : value;
}

/// Square metres of a plot within polygons.
double within(const Geometry& polygons, UnitShape shape, const std::array<double, 2>& size_m, Point pin,
              double grid_bearing_deg) {
  if (shape == UnitShape::circle) return disc_area(polygons, pin, size_m[0]);
  return intersection(polygons, plot_polygon(shape, size_m, pin, grid_bearing_deg)).area();
}

/// Square metres of ground in the part of a belt from u to u along its midline.
double within_part(const Geometry& ground, const std::array<double, 2>& size_m, Point pin, Point along,
                   double from, double to) {
  if (to - from < 1e-9) return 0;
  const Point middle{pin.x + along.x * (from + to) / 2, pin.y + along.y * (from + to) / 2};
  const double a = (to - from) / 2, b = size_m[0] / 2;
  const auto at = [&](double x, double y) {
    return Point{middle.x + x * along.x + y * along.y, middle.y + x * along.y - y * along.x};
  };
  return intersection(ground, polygon({at(a, b), at(a, -b), at(-a, -b), at(-a, b)})).area();
}

double plot_m2_of(UnitShape shape, const std::array<double, 2>& size_m) {
  if (shape == UnitShape::circle) return std::numbers::pi * size_m[0] * size_m[0];
  const auto [along, across] = half_extents(shape, size_m);
  return 4 * along * across;
}

/// What is left of the tape at the way out `edge`, laid back and forth between there and the way out behind.
void lay_back(double half, double edge, double behind, bool to_a, FoldedBelt& belt) {
  double left = half - edge;
  const double across = edge + behind;  // from edge to edge; infinite where there is none behind
  const double far_a = belt.to, far_b = belt.from;
  const double side = to_a ? 1 : -1;
  const auto add = [&](double near_u, double far_u, int times) {
    belt.again.push_back({std::min(near_u, far_u), std::max(near_u, far_u), times});
  };
  if (left > across) {
    const double turns = std::floor(left / across);
    add(far_a, far_b, int(std::min(turns, 1e6)));
    left -= turns * across;
    // After an odd number of turns the rest begins at the other edge.
    if (std::fmod(turns, 2) != 0) {
      if (left > 0) add(side > 0 ? far_b : far_a, side * (-behind + left), 1);
      return;
    }
  }
  if (left > 0) add(side > 0 ? far_a : far_b, side * (edge - left), 1);
}

PlotArea fold_back(const Geometry& survey_area, const std::array<double, 2>& size_m, Point pin,
                   double grid_bearing_deg) {
  PlotArea area;
  area.plot_m2 = plot_m2_of(UnitShape::belt, size_m);
  const Near near = near_of(survey_area, pin, reach(UnitShape::belt, size_m));
  if (near.whole) {
    area.inside_m2 = area.plot_m2;
    return area;
  }
  if (near.area.empty()) return area;
  const Point along = direction(grid_bearing_deg);
  const FoldedBelt belt = folded_belt(near.area, size_m[1], pin, grid_bearing_deg);
  area.inside_m2 = settled(within_part(near.area, size_m, pin, along, belt.from, belt.to), area.plot_m2);
  for (const FoldedBelt::Again& part : belt.again) {
    area.twice_m2 += part.times * within_part(near.area, size_m, pin, along, part.from, part.to);
  }
  area.twice_m2 = settled(area.twice_m2, area.plot_m2 * 1e6);
  area.tape = edge_words::of_fold_back({near.area, UnitShape::belt, size_m, pin, grid_bearing_deg, 0}, area);
  return area;
}

/// For the rules that count once what is inside.
PlotArea counted_once(const Geometry& survey_area, const SampleSpec& sample, Point pin,
                      double grid_bearing_deg, double convergence_deg) {
  PlotArea area;
  area.plot_m2 = plot_m2_of(sample.shape, sample.size_m);
  const Near near = near_of(survey_area, pin, reach(sample.shape, sample.size_m));
  if (near.whole) {
    area.inside_m2 = area.plot_m2;
    return area;
  }
  if (!near.area.empty()) {
    area.inside_m2 =
        settled(within(near.area, sample.shape, sample.size_m, pin, grid_bearing_deg), area.plot_m2);
  }
  const edge_words::PlotAtEdge plot{near.area, sample.shape,     sample.size_m,
                                    pin,       grid_bearing_deg, convergence_deg};
  if (sample.edge != EdgeRule::grown_frame) {
    area.tape = edge_words::of_inside(plot, area);
    return area;
  }
  if (!survey_area.contains(pin)) area.pin_outside_m = distance(survey_area, point_geometry(pin));
  area.tape = edge_words::of_grown_frame(plot, area);
  return area;
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
                      Point pin, double grid_bearing_deg, double convergence_deg) {
  PlotArea area;
  area.plot_m2 = plot_m2_of(shape, size_m);
  const Near near = near_of(survey_area, pin, reach(shape, size_m));
  if (near.whole) {
    area.inside_m2 = area.plot_m2;
    return area;
  }
  if (near.area.empty()) return area;
  // {x in area : 2x - pin in area} is the area within its own image shrunk by half about the pin.
  const Geometry once = polygons_of(intersection(near.area, scaled(near.area, 0.5, pin)));
  area.inside_m2 = settled(within(near.area, shape, size_m, pin, grid_bearing_deg), area.plot_m2);
  area.twice_m2 =
      settled(area.inside_m2 - within(once, shape, size_m, pin, grid_bearing_deg), area.inside_m2);
  area.tape =
      edge_words::of_walk_through({near.area, shape, size_m, pin, grid_bearing_deg, convergence_deg}, area);
  return area;
}

PlotArea plot_area(const SampleSpec& sample, const Geometry& survey_area, Point pin, double grid_bearing_deg,
                   double convergence_deg) {
  switch (sample.edge) {
    case EdgeRule::walk_through:
      return walk_through(survey_area, sample.shape, sample.size_m, pin, grid_bearing_deg, convergence_deg);
    case EdgeRule::fold_back:
      return fold_back(survey_area, sample.size_m, pin, grid_bearing_deg);
    case EdgeRule::grown_frame:
    case EdgeRule::inside_area:
    case EdgeRule::inner_margin:
      break;
  }
  return counted_once(survey_area, sample, pin, grid_bearing_deg, convergence_deg);
}

FoldedBelt folded_belt(const std::vector<double>& edges_a, const std::vector<double>& edges_b, double half) {
  FoldedBelt belt;
  const auto end = [half](const std::vector<double>& edges) {
    return edges.size() > 1 ? std::min(edges[1], half) : half;
  };
  constexpr double none = std::numeric_limits<double>::infinity();
  const double out_a = edges_a.empty() ? none : edges_a.front();
  const double out_b = edges_b.empty() ? none : edges_b.front();
  belt.to = end(edges_a);
  belt.from = -end(edges_b);
  if (out_a < half) lay_back(half, out_a, out_b, true, belt);
  if (out_b < half) lay_back(half, out_b, out_a, false, belt);
  return belt;
}

FoldedBelt folded_belt(const Geometry& survey_area, double length_m, Point pin, double grid_bearing_deg) {
  const double half = length_m / 2;
  const Box box{pin.x - half - 1, pin.y - half - 1, pin.x + half + 1, pin.y + half + 1};
  const Rings rings = rings_of(clipped(survey_area, box));
  const Point a = direction(grid_bearing_deg);
  return folded_belt(edge_words::crossings(rings, pin, a, half),
                     edge_words::crossings(rings, pin, {-a.x, -a.y}, half), half);
}

}  // namespace swardline
