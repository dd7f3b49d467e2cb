#include "swardline/design/walking_ground.hpp"

#include <fmt/format.h>
#include <geos_c.h>

#include <cmath>
#include <utility>

#include "swardline/base/text.hpp"
#include "swardline/design/walked_legs.hpp"

namespace swardline {
namespace {

/// Bends of lines are passed at this distance; of ground to keep out of with some of a unit's error to spare.
constexpr double berth_m = 0.5, ground_berth_m = 2;
/// How far a smoothed line may be off the one drawn, at first.
constexpr double line_off_m = 0.25, ground_off_m = 1;
constexpr std::size_t most_bends = 400;

/// Twice the area of a, b, c: positive where c lies left of a to b.
double side(Point a, Point b, Point c) { return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x); }

int sign(double value) { return value > 0 ? 1 : value < 0 ? -1 : 0; }

/// Touching counts.
bool meet(const WayEdge& edge, Point a, Point b) {
  return box_of(edge.a, edge.b).meets(box_of(a, b)) &&
         sign(side(a, b, edge.a)) * sign(side(a, b, edge.b)) <= 0 &&
         sign(side(edge.a, edge.b, a)) * sign(side(edge.a, edge.b, b)) <= 0;
}

/// The place a taut rope round the bend a, at, b would touch: outside the turn.
void add_bend(Point a, Point at, Point b, double berth, std::vector<Point>& bends) {
  const double before = metres_between(a, at), after = metres_between(at, b);
  if (before <= 0 || after <= 0) return;
  const Point out{(at.x - a.x) / before - (b.x - at.x) / after, (at.y - a.y) / before - (b.y - at.y) / after};
  const double length = std::sqrt(out.x * out.x + out.y * out.y);
  if (length < 1e-3) return;  // no bend
  bends.push_back({at.x + berth * out.x / length, at.y + berth * out.y / length});
}

void add_bends_of_lines(const Geometry& merged, double off, std::vector<Point>& bends) {
  const Geometry smooth(GEOSSimplify_r(geos(), merged.get(), off));
  for (const std::vector<Point>& line : lines_of(smooth)) {
    for (std::size_t i = 1; i + 1 < line.size(); ++i)
      add_bend(line[i - 1], line[i], line[i + 1], berth_m + off, bends);
    if (line.size() > 3 && line.front() == line.back())
      add_bend(line[line.size() - 2], line.front(), line[1], berth_m + off, bends);
  }
}

/// Corners that jut out; round the others no way turns. Rings have their ground at the left.
void add_corners(const std::vector<Point>& ring, double off, std::vector<Point>& bends) {
  const Geometry drawn = line(ring);
  const Geometry smooth(GEOSSimplify_r(geos(), drawn.get(), off));
  for (const std::vector<Point>& points : lines_of(smooth)) {
    if (points.size() < 4) continue;
    for (std::size_t i = 0; i + 1 < points.size(); ++i) {
      const Point before = i == 0 ? points[points.size() - 2] : points[i - 1];
      if (side(before, points[i], points[i + 1]) > 0)
        add_bend(before, points[i], points[i + 1], ground_berth_m + off, bends);
    }
  }
}

bool lies_amid(const Geometry& ground, Point at) {
  return ground.box().meets(box_of(at, at)) && ground.contains(at);
}

}  // namespace

std::string InTheWay::name(std::size_t barrier) const {
  if (barrier < access.barriers.size()) return access.barriers[barrier].name;
  return fmt::format("ground to keep out of ({})",
                     site->keep_out.at(barrier - access.barriers.size()).reason);
}

std::string InTheWay::what(std::size_t barrier) const {
  const bool has_own = barrier < access.barriers.size() && !access.barriers[barrier].what.empty();
  return has_own ? access.barriers[barrier].what : name(barrier);
}

std::string InTheWay::names(const std::set<std::size_t>& barriers) const {
  std::vector<std::string> all;
  for (const std::size_t k : barriers)
    if (const std::string one = name(k); std::find(all.begin(), all.end(), one) == all.end())
      all.push_back(one);
  return in_words(all);
}

std::string InTheWay::whats(const std::set<std::size_t>& barriers) const {
  std::vector<std::string> all;
  for (const std::size_t k : barriers)
    if (const std::string one = what(k); std::find(all.begin(), all.end(), one) == all.end())
      all.push_back(one);
  return in_words(all);
}

void WayEdges::add(const WayEdge& edge) {
  if (edges_.size() % run == 0) boxes_.push_back(box_of(edge.a, edge.b));
  boxes_.back().grow(box_of(edge.a, edge.b));
  edges_.push_back(edge);
}

void WayEdges::leave_freely(Point place, std::set<std::size_t> grounds) {
  free_ = place;
  free_of_ = std::move(grounds);
}

bool WayEdges::stop(Point a, Point b) const {
  bool met = false;
  each_met(a, b, [&](const WayEdge&) { return met = true; });
  return met;
}

std::set<std::size_t> WayEdges::barriers_between(Point a, Point b) const {
  std::set<std::size_t> barriers;
  each_met(a, b, [&](const WayEdge& edge) {
    barriers.insert(edge.barrier);
    return false;
  });
  return barriers;
}

template <class Visit>
void WayEdges::each_met(Point a, Point b, Visit&& visit) const {
  const double length = metres_between(a, b);
  if (length <= 2 * touch_m) return;
  const bool free = !free_of_.empty() && (a == free_ || b == free_);
  const Point step{(b.x - a.x) / length * touch_m, (b.y - a.y) / length * touch_m};
  a = {a.x + step.x, a.y + step.y};
  b = {b.x - step.x, b.y - step.y};
  const Box box = box_of(a, b);
  for (std::size_t r = 0; r < boxes_.size(); ++r) {
    if (!boxes_[r].meets(box)) continue;
    for (std::size_t i = r * run; i < std::min(edges_.size(), (r + 1) * run); ++i)
      if (meet(edges_[i], a, b) && !(free && free_of_.contains(edges_[i].barrier)) && visit(edges_[i]))
        return;
  }
}

Box window_of(const InTheWay& between, const std::vector<Point>& places) {
  Box box = box_of(places.front(), places.front());
  for (const Point& p : places) box.grow(box_of(p, p));
  const double margin = std::max(200.0, std::max(box.x1 - box.x0, box.y1 - box.y0) / 2);
  Box window{box.x0 - margin, box.y0 - margin, box.x1 + margin, box.y1 + margin};
  if (between.site != nullptr && !between.site->drawn.empty()) window.grow(between.site->drawn.box());
  return window;
}

WayEdges edges_in(const InTheWay& between, const Box& window, Point start, std::vector<Geometry>& pieces) {
  WayEdges edges;
  const Access& access = between.access;
  for (std::size_t k = 0; k < access.barriers.size(); ++k) {
    for (const auto& drawn : access.barriers[k].lines) {
      std::vector<Point> piece;
      const auto end_piece = [&] {
        if (piece.size() > 1) pieces.push_back(line(piece));
        piece.clear();
      };
      for (std::size_t i = 0; i + 1 < drawn.size(); ++i) {
        if (drawn[i] == drawn[i + 1]) continue;
        if (!box_of(drawn[i], drawn[i + 1]).meets(window)) {
          end_piece();
          continue;
        }
        edges.add({drawn[i], drawn[i + 1], k});
        if (piece.empty()) piece.push_back(drawn[i]);
        piece.push_back(drawn[i + 1]);
      }
      end_piece();
    }
  }
  if (between.site == nullptr) return edges;
  std::set<std::size_t> under_start;
  for (std::size_t k = 0; k < between.site->keep_out.size(); ++k) {
    if (lies_amid(between.site->keep_out[k].area, start)) under_start.insert(between.ground(k));
    for (const std::vector<Point>& ring : rings_of(between.site->keep_out[k].area).rings)
      for (std::size_t i = 0; i + 1 < ring.size(); ++i)
        if (ring[i] != ring[i + 1] && box_of(ring[i], ring[i + 1]).meets(window))
          edges.add({ring[i], ring[i + 1], between.ground(k)});
  }
  edges.leave_freely(start, std::move(under_start));
  return edges;
}

std::vector<Point> bends_of(const InTheWay& between, const Box& window, const std::vector<Geometry>& pieces) {
  Geometry merged;
  if (!pieces.empty()) merged = Geometry(GEOSLineMerge_r(geos(), united(pieces).get()));
  std::vector<std::vector<Point>> rings;
  if (between.site != nullptr)
    for (const ExcludedPiece& piece : between.site->keep_out)
      if (piece.area.box().meets(window))
        for (std::vector<Point>& ring : rings_of(piece.area).rings) rings.push_back(std::move(ring));
  std::vector<Point> bends;
  for (double times = 1;; times *= 2) {
    bends.clear();
    if (!pieces.empty()) add_bends_of_lines(merged, line_off_m * times, bends);
    for (const std::vector<Point>& ring : rings) {
      std::vector<Point> corners;
      add_corners(ring, ground_off_m * times, corners);
      for (const Point& at : corners)
        if (window.meets(box_of(at, at))) bends.push_back(at);
    }
    if (bends.size() <= most_bends) return bends;
  }
}

std::vector<WayOut> ways_out(const InTheWay& between, const std::vector<Point>& places) {
  constexpr double step_m = 0.05;
  std::vector<WayOut> ways;
  if (between.site == nullptr) return ways;
  for (std::size_t i = 1; i < places.size(); ++i)
    for (const ExcludedPiece& piece : between.site->keep_out) {
      const Point at = places[i];
      if (!lies_amid(piece.area, at)) continue;
      const Point edge = entry_nearest(piece.area, at);
      const double away = metres_between(at, edge);
      if (away <= touch_m) continue;
      ways.push_back(
          {i, {edge.x + (edge.x - at.x) / away * step_m, edge.y + (edge.y - at.y) / away * step_m}});
    }
  return ways;
}

}  // namespace swardline
