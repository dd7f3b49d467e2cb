#include "swardline/design/walking_ways.hpp"

#include <algorithm>
#include <limits>
#include <set>
#include <utility>

#include "swardline/design/walking_graph.hpp"

namespace swardline {
namespace {

constexpr double no_way_there = std::numeric_limits<double>::infinity();

/// For each point there is no way to, the barriers on the straight line that would have the fewest of them
/// to cross, from any ground a team can reach.
void name_barriers(const InTheWay& between, const WayEdges& edges, const WayGraph& graph,
                   const WaysFrom& from_start, Ways& ways) {
  for (std::size_t first = 1; first < ways.places; ++first) {
    if (ways.is_open(0, first) || !ways.beyond[first - 1].empty()) continue;
    std::set<std::size_t> best;
    std::pair<std::size_t, double> least{std::size_t(-1), no_way_there};
    for (std::size_t at = first; at < ways.places; ++at) {
      if (!ways.is_open(first, at)) continue;
      for (std::size_t reached = 0; reached < graph.nodes().size(); ++reached) {
        if (!from_start.reach(reached)) continue;
        const Point from = graph.nodes()[reached].at, to = graph.nodes()[at].at;
        const double length = metres_between(from, to);
        if (least.first == 1 && length >= least.second) continue;  // no line here crosses none
        std::set<std::size_t> lying = edges.barriers_between(from, to);
        const std::pair<std::size_t, double> cost{lying.size(), length};
        if (cost >= least) continue;
        least = cost;
        best = std::move(lying);
      }
    }
    for (std::size_t at = first; at < ways.places; ++at)
      if (ways.is_open(first, at)) ways.beyond[at - 1] = between.names(best);
  }
}

/// The shortest way over places a team reaches to a point that the start does not see.
WayTo way_over(const InTheWay& between, const WayEdges& edges, const WayGraph& graph,
               const WaysFrom& from_start, Point to) {
  WayTo way{no_way_there, false, true, {}};
  const std::vector<WayNode>& nodes = graph.nodes();
  for (std::size_t i = 0; i < nodes.size(); ++i) {
    const double length = from_start.away[i] + metres_between(nodes[i].at, to);
    if (length < way.metres && !edges.stop(nodes[i].at, to)) way.metres = length;
  }
  if (way.metres < no_way_there) return way;
  way.open = false;
  way.metres = metres_between(nodes.front().at, to);
  way.beyond = between.names(fewest_between(graph, from_start, edges, to, false));
  return way;
}

}  // namespace

std::optional<Ways> ways_past(const InTheWay& between, Point start, const std::vector<Point>& points) {
  if (between.nothing() || points.empty()) return std::nullopt;
  std::vector<Point> places{start};
  places.insert(places.end(), points.begin(), points.end());
  const Box window = window_of(between, places);
  std::vector<Geometry> pieces;
  const WayEdges edges = edges_in(between, window, start, pieces);
  if (edges.empty()) return std::nullopt;

  Ways ways;
  ways.places = places.size();
  ways.metres.assign(ways.places * ways.places, 0);
  ways.open.assign(ways.places * ways.places, true);
  ways.outside.assign(ways.places * ways.places, false);
  ways.beyond.resize(points.size());
  ways.round_outside.resize(points.size());
  std::vector<bool> stopped(ways.places, false);  // on some straight line
  for (std::size_t a = 0; a < ways.places; ++a) {
    for (std::size_t b = a + 1; b < ways.places; ++b) {
      ways.metres[a * ways.places + b] = ways.metres[b * ways.places + a] =
          metres_between(places[a], places[b]);
      if (edges.stop(places[a], places[b])) stopped[a] = stopped[b] = true;
    }
  }
  if (std::find(stopped.begin(), stopped.end(), true) == stopped.end()) return std::nullopt;

  const WayGraph graph(between, window, edges, pieces, places);
  const WaysFrom from_start = graph.from(0);
  for (std::size_t a = 0; a < ways.places; ++a) {
    if (!stopped[a]) continue;
    const WaysFrom from = a == 0 ? from_start : graph.from(a);
    for (std::size_t b = a + 1; b < ways.places; ++b) {
      const std::size_t there = a * ways.places + b, back = b * ways.places + a;
      ways.open[there] = ways.open[back] = from.reach(b);
      ways.outside[there] = ways.outside[back] = from.reach(b) && from.leaves[b] > 0;
      if (from.reach(b)) ways.metres[there] = ways.metres[back] = from.away[b];
    }
  }
  for (std::size_t i = 0; i < points.size(); ++i)
    if (from_start.reach(i + 1) && from_start.leaves[i + 1] > 0)
      ways.round_outside[i] = between.names(fewest_between(graph, from_start, edges, points[i], true));
  name_barriers(between, edges, graph, from_start, ways);
  return ways;
}

std::vector<WayTo> ways_to(const InTheWay& between, Point start, const std::vector<Point>& points) {
  std::vector<WayTo> ways;
  for (const Point& point : points) ways.push_back({metres_between(start, point), true, true, {}});
  if (between.nothing() || points.empty()) return ways;
  std::vector<Point> places{start};
  places.insert(places.end(), points.begin(), points.end());
  const Box window = window_of(between, places);
  std::vector<Geometry> pieces;
  const WayEdges edges = edges_in(between, window, start, pieces);
  std::optional<WayGraph> graph;
  WaysFrom from_start;
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (!edges.stop(start, points[i])) continue;
    if (!graph) {
      graph.emplace(between, window, edges, pieces, std::vector<Point>{start});
      from_start = graph->from(0);
    }
    ways[i] = way_over(between, edges, *graph, from_start, points[i]);
  }
  return ways;
}

}  // namespace swardline
