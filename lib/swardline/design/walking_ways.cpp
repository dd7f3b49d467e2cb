#include "swardline/design/walking_ways.hpp"

#include <geos_c.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <set>
#include <utility>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"

namespace swardline {
namespace {

constexpr double never = std::numeric_limits<double>::infinity();
/// A leg may touch a barrier this near its ends: a gate stands on the fence it opens.
constexpr double touch_m = 0.01;
/// Bends are passed at this distance.
constexpr double berth_m = 0.5;
constexpr std::size_t most_bends = 400;

Box box_of(Point a, Point b) {
  return {std::min(a.x, b.x), std::min(a.y, b.y), std::max(a.x, b.x), std::max(a.y, b.y)};
}

/// Twice the area of a, b, c: positive where c lies left of a to b.
double side(Point a, Point b, Point c) { return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x); }

int sign(double value) { return value > 0 ? 1 : value < 0 ? -1 : 0; }

struct Edge {
  Point a, b;
  std::size_t barrier = 0;
};

/// Touching counts.
bool meet(const Edge& edge, Point a, Point b) {
  return box_of(edge.a, edge.b).meets(box_of(a, b)) &&
         sign(side(a, b, edge.a)) * sign(side(a, b, edge.b)) <= 0 &&
         sign(side(edge.a, edge.b, a)) * sign(side(edge.a, edge.b, b)) <= 0;
}

/// The barriers' edges in a window, in runs with a box each: a leg meets few of them.
class Edges {
 public:
  void add(const Edge& edge) {
    if (edges_.size() % run == 0) boxes_.push_back(box_of(edge.a, edge.b));
    boxes_.back().grow(box_of(edge.a, edge.b));
    edges_.push_back(edge);
  }
  [[nodiscard]] bool empty() const { return edges_.empty(); }
  [[nodiscard]] bool stop(Point a, Point b) const {
    bool met = false;
    each_met(a, b, [&](const Edge&) { return met = true; });
    return met;
  }
  [[nodiscard]] std::set<std::size_t> barriers_between(Point a, Point b) const {
    std::set<std::size_t> barriers;
    each_met(a, b, [&](const Edge& edge) {
      barriers.insert(edge.barrier);
      return false;
    });
    return barriers;
  }

 private:
  static constexpr std::size_t run = 16;

  /// Until `visit` answers true.
  template <class Visit>
  void each_met(Point a, Point b, Visit&& visit) const {
    const double length = metres_between(a, b);
    if (length <= 2 * touch_m) return;
    const Point step{(b.x - a.x) / length * touch_m, (b.y - a.y) / length * touch_m};
    a = {a.x + step.x, a.y + step.y};
    b = {b.x - step.x, b.y - step.y};
    const Box box = box_of(a, b);
    for (std::size_t r = 0; r < boxes_.size(); ++r) {
      if (!boxes_[r].meets(box)) continue;
      for (std::size_t i = r * run; i < std::min(edges_.size(), (r + 1) * run); ++i)
        if (meet(edges_[i], a, b) && visit(edges_[i])) return;
    }
  }

  std::vector<Edge> edges_;
  std::vector<Box> boxes_;
};

/// Ground on which ways are looked for: half a site's length, or 200 m, beyond its places.
Box window_of(const std::vector<Point>& places) {
  Box box = box_of(places.front(), places.front());
  for (const Point& p : places) box.grow(box_of(p, p));
  const double margin = std::max(200.0, std::max(box.x1 - box.x0, box.y1 - box.y0) / 2);
  return {box.x0 - margin, box.y0 - margin, box.x1 + margin, box.y1 + margin};
}

/// The barriers' edges that meet the window, and the lines they make.
Edges edges_in(const Access& access, const Box& window, std::vector<Geometry>& pieces) {
  Edges edges;
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
  return edges;
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

/// Bends of the barriers: where a way along one turns. Crooked lines are smoothed until there are few
/// enough; whether one bend is seen from another is always asked of the line as drawn.
std::vector<Point> bends_of(const std::vector<Geometry>& pieces) {
  GEOSContextHandle_t const handle = geos();
  const Geometry merged(GEOSLineMerge_r(handle, united(pieces).get()));
  std::vector<Point> bends;
  for (double tolerance = 0.25;; tolerance *= 2) {
    bends.clear();
    const Geometry smooth(GEOSSimplify_r(handle, merged.get(), tolerance));
    for (const std::vector<Point>& line : lines_of(smooth)) {
      for (std::size_t i = 1; i + 1 < line.size(); ++i)
        add_bend(line[i - 1], line[i], line[i + 1], berth_m + tolerance, bends);
      if (line.size() > 3 && line.front() == line.back())
        add_bend(line[line.size() - 2], line.front(), line[1], berth_m + tolerance, bends);
    }
    if (bends.size() <= most_bends) return bends;
  }
}

/// Who sees whom, and the shortest ways (Dijkstra 1959 on the full matrix: the graph is dense).
class Graph {
 public:
  explicit Graph(std::vector<Point> nodes) : nodes_(std::move(nodes)), legs_(nodes_.size() * nodes_.size()) {}

  void look(const Edges& edges) {
    for (std::size_t a = 0; a < nodes_.size(); ++a)
      for (std::size_t b = a + 1; b < nodes_.size(); ++b)
        set(a, b, edges.stop(nodes_[a], nodes_[b]) ? never : metres_between(nodes_[a], nodes_[b]));
  }
  /// A way that is there whatever lies between.
  void link(std::size_t a, std::size_t b) { set(a, b, metres_between(nodes_[a], nodes_[b])); }

  [[nodiscard]] std::vector<double> from(std::size_t source) const {
    const std::size_t n = nodes_.size();
    std::vector<double> away(n, never);
    std::vector<bool> settled(n, false);
    away[source] = 0;
    for (std::size_t turn = 0; turn < n; ++turn) {
      std::size_t next = n;
      for (std::size_t i = 0; i < n; ++i)
        if (!settled[i] && away[i] < (next == n ? never : away[next])) next = i;
      if (next == n) break;
      settled[next] = true;
      for (std::size_t i = 0; i < n; ++i) away[i] = std::min(away[i], away[next] + legs_[next * n + i]);
    }
    return away;
  }
  [[nodiscard]] const std::vector<Point>& nodes() const { return nodes_; }

 private:
  void set(std::size_t a, std::size_t b, double length) {
    legs_[a * nodes_.size() + b] = length;
    legs_[b * nodes_.size() + a] = length;
  }
  std::vector<Point> nodes_;
  std::vector<double> legs_;
};

/// For each point there is no way to, the barriers on the straight line that would have the fewest of them
/// to cross, from any ground a team can reach.
void name_barriers(const Access& access, const Edges& edges, const Graph& graph,
                   const std::vector<double>& from_start, Ways& ways) {
  for (std::size_t first = 1; first < ways.places; ++first) {
    if (ways.is_open(0, first) || !ways.beyond[first - 1].empty()) continue;
    std::set<std::size_t> best;
    std::pair<std::size_t, double> least{std::size_t(-1), never};
    for (std::size_t at = first; at < ways.places; ++at) {
      if (!ways.is_open(first, at)) continue;
      for (std::size_t reached = 0; reached < graph.nodes().size(); ++reached) {
        if (from_start[reached] == never) continue;
        const Point from = graph.nodes()[reached], to = graph.nodes()[at];
        const double length = metres_between(from, to);
        if (least.first == 1 && length >= least.second) continue;  // no line here crosses none
        std::set<std::size_t> between = edges.barriers_between(from, to);
        const std::pair<std::size_t, double> cost{between.size(), length};
        if (cost >= least) continue;
        least = cost;
        best = std::move(between);
      }
    }
    std::vector<std::string> names;
    for (const std::size_t k : best) names.push_back(access.barriers[k].name);
    for (std::size_t at = first; at < ways.places; ++at)
      if (ways.is_open(first, at)) ways.beyond[at - 1] = in_words(names);
  }
}

/// The nodes given, the crossings and the barriers' bends in the window, and who of them sees whom.
Graph graph_of(const Access& access, const Box& window, const Edges& edges,
               const std::vector<Geometry>& pieces, std::vector<Point> nodes) {
  std::vector<std::pair<std::size_t, std::size_t>> links;
  for (const std::vector<Point>& crossing : access.crossings) {
    const bool here = std::all_of(crossing.begin(), crossing.end(), [&](Point p) {
      return window.meets({p.x, p.y, p.x, p.y});
    });
    for (std::size_t i = 0; here && i < crossing.size(); ++i) {
      if (i > 0) links.emplace_back(nodes.size() - 1, nodes.size());
      nodes.push_back(crossing[i]);
    }
  }
  for (const Point& bend : bends_of(pieces))
    if (window.meets({bend.x, bend.y, bend.x, bend.y})) nodes.push_back(bend);
  Graph graph(std::move(nodes));
  graph.look(edges);
  for (const auto& [a, b] : links) graph.link(a, b);
  return graph;
}

/// The shortest way over places a team reaches to a point that the start does not see.
WayTo way_over(const Access& access, const Edges& edges, const Graph& graph,
               const std::vector<double>& from_start, Point to) {
  WayTo way{never, false, true, {}};
  for (std::size_t i = 0; i < graph.nodes().size(); ++i) {
    const double length =
        from_start[i] == never ? never : from_start[i] + metres_between(graph.nodes()[i], to);
    if (length < way.metres && !edges.stop(graph.nodes()[i], to)) way.metres = length;
  }
  if (way.metres < never) return way;
  way.open = false;
  way.metres = metres_between(graph.nodes().front(), to);
  std::set<std::size_t> fewest;
  std::pair<std::size_t, double> least{std::size_t(-1), never};
  for (std::size_t i = 0; i < graph.nodes().size(); ++i) {
    if (from_start[i] == never) continue;
    std::set<std::size_t> between = edges.barriers_between(graph.nodes()[i], to);
    const std::pair<std::size_t, double> cost{between.size(), metres_between(graph.nodes()[i], to)};
    if (cost >= least) continue;
    least = cost;
    fewest = std::move(between);
  }
  std::vector<std::string> names;
  for (const std::size_t k : fewest) names.push_back(access.barriers[k].name);
  way.beyond = in_words(names);
  return way;
}

}  // namespace

std::optional<Ways> ways_past(const Access& access, Point start, const std::vector<Point>& points) {
  if (access.barriers.empty() || points.empty()) return std::nullopt;
  std::vector<Point> nodes{start};
  nodes.insert(nodes.end(), points.begin(), points.end());
  const Box window = window_of(nodes);
  std::vector<Geometry> pieces;
  const Edges edges = edges_in(access, window, pieces);
  if (edges.empty()) return std::nullopt;

  Ways ways;
  ways.places = nodes.size();
  ways.metres.assign(ways.places * ways.places, 0);
  ways.open.assign(ways.places * ways.places, true);
  ways.beyond.resize(points.size());
  std::vector<bool> stopped(ways.places, false);  // on some straight line
  for (std::size_t a = 0; a < ways.places; ++a) {
    for (std::size_t b = a + 1; b < ways.places; ++b) {
      ways.metres[a * ways.places + b] = ways.metres[b * ways.places + a] =
          metres_between(nodes[a], nodes[b]);
      if (edges.stop(nodes[a], nodes[b])) stopped[a] = stopped[b] = true;
    }
  }
  if (std::find(stopped.begin(), stopped.end(), true) == stopped.end()) return std::nullopt;

  const Graph graph = graph_of(access, window, edges, pieces, std::move(nodes));
  const std::vector<double> from_start = graph.from(0);
  for (std::size_t a = 0; a < ways.places; ++a) {
    if (!stopped[a]) continue;
    const std::vector<double> away = a == 0 ? from_start : graph.from(a);
    for (std::size_t b = a + 1; b < ways.places; ++b) {
      const bool open = away[b] < never;
      ways.open[a * ways.places + b] = ways.open[b * ways.places + a] = open;
      if (open) ways.metres[a * ways.places + b] = ways.metres[b * ways.places + a] = away[b];
    }
  }
  name_barriers(access, edges, graph, from_start, ways);
  return ways;
}

std::vector<WayTo> ways_to(const Access& access, Point start, const std::vector<Point>& points) {
  std::vector<WayTo> ways;
  for (const Point& point : points) ways.push_back({metres_between(start, point), true, true, {}});
  if (access.barriers.empty() || points.empty()) return ways;
  std::vector<Point> places{start};
  places.insert(places.end(), points.begin(), points.end());
  const Box window = window_of(places);
  std::vector<Geometry> pieces;
  const Edges edges = edges_in(access, window, pieces);
  std::optional<Graph> graph;
  std::vector<double> from_start;
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (!edges.stop(start, points[i])) continue;
    if (!graph) {
      graph.emplace(graph_of(access, window, edges, pieces, {start}));
      from_start = graph->from(0);
    }
    ways[i] = way_over(access, edges, *graph, from_start, points[i]);
  }
  return ways;
}

}  // namespace swardline
