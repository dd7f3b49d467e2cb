#include "swardline/design/edge_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>

#include "swardline/base/text.hpp"
#include "swardline/geo/plane_vectors.hpp"

namespace swardline::edge_words {
namespace {

std::string tenths(double metres) { return fmt::format("{:.1f} m", metres); }

/// "095 degrees": a true bearing.
std::string degrees(double true_bearing) {
  const double turned = std::fmod(std::round(true_bearing), 360.0);
  return fmt::format("{:03.0f} degrees", turned < 0 ? turned + 360 : turned);
}

/// A hundredth of a square metre: what a tape cannot show.
bool matters(const PlotArea& area) { return area.twice_m2 > 0.01 || area.plot_m2 - area.inside_m2 > 0.01; }

double half_length(const PlotAtEdge& plot) {
  return plot.shape == UnitShape::belt ? plot.size_m[1] / 2 : plot.size_m[0] / 2;
}

/// How far the plot reaches from its pin on a grid bearing.
double reach_towards(const PlotAtEdge& plot, double grid_bearing_deg) {
  if (plot.shape == UnitShape::circle) return plot.size_m[0];
  const Point way = direction(grid_bearing_deg), axis = direction(plot.grid_bearing_deg);
  const double along = std::abs(dot(way, axis)), across = std::abs(cross(way, axis));
  double reach = std::numeric_limits<double>::infinity();
  if (along > 1e-9) reach = half_length(plot) / along;
  if (across > 1e-9) reach = std::min(reach, plot.size_m[0] / 2 / across);
  return reach;
}

using Stretch = std::pair<double, double>;

/// Where a tape that begins inside counts twice: t is inside and 2t outside. With the way out at e and in
/// again at f, from e/2 to f/2.
std::vector<Stretch> twice_stretches(const std::vector<double>& edges, double half) {
  std::vector<Stretch> zones;
  for (std::size_t in = 0; in <= edges.size(); in += 2) {
    const double inside_from = in == 0 ? 0 : edges[in - 1];
    const double inside_to = in < edges.size() ? std::min(edges[in], half) : half;
    for (std::size_t out = 0; out < edges.size(); out += 2) {
      const double from = std::max(inside_from, edges[out] / 2);
      const double to = std::min(inside_to, out + 1 < edges.size() ? edges[out + 1] / 2 : half);
      if (to > from) zones.emplace_back(from, to);
    }
  }
  return zones;
}

/// "edge at 2.0 m, in again at 3.0 m" up to the tape's half.
std::string edges_seen(const std::vector<double>& edges, double half, bool inside) {
  std::string text;
  const bool began_inside = inside;
  for (std::size_t i = 0; i < edges.size() && edges[i] < half; ++i) {
    const char* what = inside ? "edge at " : began_inside || i > 0 ? "in again at " : "in at ";
    text += (text.empty() ? "" : ", ") + (what + tenths(edges[i]));
    inside = !inside;
  }
  return text;
}

/// What the tape shows from the pin to one end; empty when no edge is near.
std::string walk_to_end(const std::vector<double>& edges, double half) {
  std::vector<std::string> zones;
  for (const auto& [from, to] : twice_stretches(edges, half)) {
    if (to - from < 0.05) continue;  // less than a tape shows
    const bool to_edge_or_end = to == half || std::find(edges.begin(), edges.end(), to) != edges.end();
    zones.push_back("from " + tenths(from) + (to_edge_or_end ? "" : " to " + tenths(to)));
  }
  std::string text = edges_seen(edges, half, true);
  if (text.empty() && zones.empty()) return {};
  if (text.empty()) text = "edge at " + tenths(edges.front()) + ", past the end";
  if (!zones.empty()) text += ", count twice " + in_words(zones);
  return text;
}

struct Nearest {
  double metres = std::numeric_limits<double>::infinity();
  Point towards;  ///< unit vector
};

Nearest nearest_edge(const Rings& rings, Point pin) {
  Nearest nearest;
  for (const std::vector<Point>& ring : rings.rings) {
    for (std::size_t i = 0; i + 1 < ring.size(); ++i) {
      const Point a = minus(ring[i], pin), step = minus(ring[i + 1], ring[i]);
      const double length2 = dot(step, step);
      const double t = length2 > 0 ? std::clamp(-dot(a, step) / length2, 0.0, 1.0) : 0.0;
      const Point at{a.x + t * step.x, a.y + t * step.y};
      const double metres = std::sqrt(dot(at, at));
      if (metres >= nearest.metres) continue;
      nearest = {metres, metres > 0 ? Point{at.x / metres, at.y / metres} : Point{0, 1}};
    }
  }
  return nearest;
}

/// Whether all edges within `radius` of the pin lie on one line, to the 2 cm that a tape can tell.
bool straight(const Rings& rings, Point pin, const Nearest& nearest, double radius) {
  constexpr double off = 0.02;
  for (const std::vector<Point>& ring : rings.rings) {
    for (std::size_t i = 0; i + 1 < ring.size(); ++i) {
      const Point a = minus(ring[i], pin), step = minus(ring[i + 1], ring[i]);
      const double length2 = dot(step, step);
      if (length2 == 0) continue;
      const double middle = -dot(a, step) / length2;
      const double depth = middle * middle - (dot(a, a) - radius * radius) / length2;
      if (depth <= 0) continue;
      const double from = std::max(0.0, middle - std::sqrt(depth));
      const double to = std::min(1.0, middle + std::sqrt(depth));
      if (from >= to) continue;
      for (const double t : {from, to}) {
        const Point at{a.x + t * step.x, a.y + t * step.y};
        if (std::abs(dot(at, nearest.towards) - nearest.metres) > off) return false;
      }
    }
  }
  return true;
}

double true_bearing_of(const PlotAtEdge& plot, Point way) {
  return std::atan2(way.x, way.y) * 180 / std::numbers::pi + plot.convergence_deg;
}

/// What is told about an edge round the pin: where stems count twice, or only where it runs.
enum class Tell { twice, edge };

/// The edge by true bearing, every 30 degrees: for edges that are not one straight line.
std::string by_bearing(const PlotAtEdge& plot, const Rings& rings, bool inside, Tell tell) {
  std::string text;
  for (int bearing = 0; bearing < 360; bearing += 30) {
    const double grid = bearing - plot.convergence_deg;
    const double reach = reach_towards(plot, grid);
    const std::vector<double> edges = crossings(rings, plot.pin, direction(grid), 2 * reach);
    const std::string part =
        tell == Tell::twice ? walk_to_end(edges, reach) : edges_seen(edges, reach, inside);
    if (!part.empty()) text += (text.empty() ? "" : "; ") + degrees(bearing) + ": " + part;
  }
  return text;
}

/// The edge as seen from a pin inside. Where it is one straight line, stems count twice beyond the line half
/// way to it, which a team can mark with two flags.
std::string round_pin(const PlotAtEdge& plot, Tell tell) {
  const Rings rings = rings_of(plot.near);
  const Nearest nearest = nearest_edge(rings, plot.pin);
  const double reach =
      plot.shape == UnitShape::circle ? plot.size_m[0] : std::hypot(half_length(plot), plot.size_m[0] / 2);
  const std::string at =
      tenths(nearest.metres) + " towards " + degrees(true_bearing_of(plot, nearest.towards));
  if (straight(rings, plot.pin, nearest, tell == Tell::twice ? 2 * reach : reach)) {
    if (tell == Tell::edge) return "edge at " + at + ": count only this side of it";
    return "edge at " + at + ", count twice beyond " + tenths(nearest.metres / 2) +
           " (the line there at right angles to that way)";
  }
  const std::string list = by_bearing(plot, rings, true, tell);
  std::string text = "nearest edge at " + at;
  if (!list.empty()) text += "; by true bearing, " + list;
  return text + (tell == Tell::edge ? "; count only inside"
                                    : "; a stem counts twice where as far again from the pin is outside");
}

struct Ends {
  std::vector<double> a, b;  ///< crossings of the midline, in metres from the pin
};

Ends ends_of(const PlotAtEdge& plot, double up_to) {
  const Rings rings = rings_of(plot.near);
  const Point along = direction(plot.grid_bearing_deg);
  return {crossings(rings, plot.pin, along, up_to), crossings(rings, plot.pin, {-along.x, -along.y}, up_to)};
}

std::string both_ends(const std::string& a, const std::string& b) {
  std::string text = a.empty() ? "" : "end A: " + a;
  if (!b.empty()) text += (text.empty() ? "" : "; ") + ("end B: " + b);
  return text;
}

double inside_length(const std::vector<double>& edges, double half, bool inside = true) {
  double sum = 0, last = 0;
  for (const double edge : edges) {
    if (edge >= half) break;
    if (inside) sum += edge - last;
    last = edge;
    inside = !inside;
  }
  return inside ? sum + half - last : sum;
}

double twice_length(const std::vector<double>& edges, double half) {
  double sum = 0;
  for (const auto& [from, to] : twice_stretches(edges, half)) sum += to - from;
  return sum;
}

/// Whether areas are so far from what the midline shows that the edge must be told another way.
bool beside(const PlotArea& area, double inside_m2, double twice_m2) {
  const double much = std::max(0.2, 0.02 * area.plot_m2);
  return std::abs(area.inside_m2 - inside_m2) > much || std::abs(area.twice_m2 - twice_m2) > much;
}

std::string with_beside(std::string text, const PlotAtEdge& plot, Tell tell) {
  const std::string round = "edge beside the belt: " + round_pin(plot, tell);
  return text.empty() ? round : std::move(text) + "; " + round;
}

/// What is folded back from one end.
std::string fold_at_end(const std::vector<double>& edges, const std::vector<double>& behind, double half,
                        const char* other_end) {
  if (edges.empty() || edges.front() >= half) return {};
  const double edge = edges.front(), back = half - edge, start = edge - back;
  const bool turns = !behind.empty() && back > edge + behind.front();
  std::string text = "edge at " + tenths(edge) + ", fold back " + tenths(back) + ": count again ";
  if (turns) {
    text += fmt::format(
        "as often as the tape passes, laid to and fro between this edge and the one at {} "
        "towards end {}",
        tenths(behind.front()), other_end);
  } else if (start >= 0) {
    text += "from " + tenths(start) + " to the edge";
  } else {
    text += fmt::format("from the edge back over the pin to {} towards end {}", tenths(-start), other_end);
  }
  if (edges.size() > 1 && edges[1] < half) text += "; search nothing past " + tenths(edges[1]);
  return text;
}

}  // namespace

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

std::string of_walk_through(const PlotAtEdge& plot, const PlotArea& area) {
  if (plot.shape != UnitShape::belt) return matters(area) ? round_pin(plot, Tell::twice) : std::string();
  const double half = half_length(plot), width = plot.size_m[0];
  const auto [a, b] = ends_of(plot, 2 * half);
  std::string text = both_ends(walk_to_end(a, half), walk_to_end(b, half));
  const double inside = width * (inside_length(a, half) + inside_length(b, half));
  const double twice = width * (twice_length(a, half) + twice_length(b, half));
  const bool untold = text.empty() ? matters(area) : beside(area, inside, twice);
  return untold ? with_beside(std::move(text), plot, Tell::twice) : text;
}

std::string of_fold_back(const PlotAtEdge& plot, const PlotArea& area) {
  const double half = half_length(plot), width = plot.size_m[0];
  const auto [a, b] = ends_of(plot, half);
  std::string text = both_ends(fold_at_end(a, b, half, "B"), fold_at_end(b, a, half, "A"));
  const FoldedBelt belt = folded_belt(a, b, half);
  const double inside = width * (inside_length(a, belt.to) + inside_length(b, -belt.from));
  const bool untold = text.empty() ? matters(area) : beside(area, inside, area.twice_m2);
  return untold ? with_beside(std::move(text), plot, Tell::edge) : text;
}

std::string of_inside(const PlotAtEdge& plot, const PlotArea& area) {
  if (!matters(area)) return {};
  if (plot.shape != UnitShape::belt) return round_pin(plot, Tell::edge);
  const double half = half_length(plot);
  const auto [a, b] = ends_of(plot, half);
  std::string text = both_ends(edges_seen(a, half, true), edges_seen(b, half, true));
  const double inside = plot.size_m[0] * (inside_length(a, half) + inside_length(b, half));
  const bool untold = text.empty() || beside(area, inside, 0);
  return untold ? with_beside(std::move(text), plot, Tell::edge) : text;
}

std::string of_grown_frame(const PlotAtEdge& plot, const PlotArea& area) {
  if (area.pin_outside_m <= 0) return of_inside(plot, area);
  if (area.inside_m2 <= 0) return "wholly outside the survey area: write 0, no visit needed";
  const Rings rings = rings_of(plot.near);
  const Nearest nearest = nearest_edge(rings, plot.pin);
  std::string text = fmt::format(
      "pin {} outside the survey area, which lies towards {}: stand there only where the landowner and the "
      "ground allow it, else measure from inside; count only inside",
      tenths(area.pin_outside_m), degrees(true_bearing_of(plot, nearest.towards)));
  std::string in;
  if (plot.shape == UnitShape::belt) {
    const double half = half_length(plot);
    const auto [a, b] = ends_of(plot, half);
    in = both_ends(edges_seen(a, half, false), edges_seen(b, half, false));
  }
  if (in.empty()) in = by_bearing(plot, rings, false, Tell::edge);
  return in.empty() ? text : text + "; " + in;
}

}  // namespace swardline::edge_words
