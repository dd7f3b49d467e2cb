#include "swardline/design/walking_graph.hpp"

#include <algorithm>
#include <limits>
#include <optional>
#include <utility>

namespace swardline {
namespace {

constexpr double no_way_m = std::numeric_limits<double>::infinity();

}  // namespace

bool WaysFrom::reach(std::size_t node) const { return away[node] < no_way_m; }

std::vector<std::size_t> WaysFrom::way_to(std::size_t node) const {
  std::vector<std::size_t> way{node};
  while (before[node] != node) way.push_back(node = before[node]);
  std::reverse(way.begin(), way.end());
  return way;
}

WayGraph::WayGraph(const InTheWay& between, const Box& window, const WayEdges& edges,
                   const std::vector<Geometry>& pieces, const std::vector<Point>& places) {
  for (const Point& at : places) nodes_.push_back({at});
  std::optional<PreparedArea> site;
  if (between.site != nullptr && !between.site->drawn.empty()) site.emplace(between.site->drawn);
  if (site && !places.empty()) nodes_.front().outer = !site->contains(places.front());
  std::vector<std::pair<std::size_t, std::size_t>> links;
  for (const WayOut& out : ways_out(between, places)) {
    links.emplace_back(out.place, nodes_.size());
    nodes_.push_back({out.outside});
  }
  for (const std::vector<Point>& crossing : between.access.crossings) {
    const bool here =
        std::all_of(crossing.begin(), crossing.end(), [&](Point p) { return window.meets(box_of(p, p)); });
    for (std::size_t i = 0; here && i < crossing.size(); ++i) {
      if (i > 0) links.emplace_back(nodes_.size() - 1, nodes_.size());
      nodes_.push_back({crossing[i], true, false});
    }
  }
  for (const Point& bend : bends_of(between, window, pieces))
    if (window.meets(box_of(bend, bend))) nodes_.push_back({bend, false, site && !site->contains(bend)});
  legs_.resize(nodes_.size() * nodes_.size());
  look(edges);
  for (const auto& [a, b] : links) link(a, b);
}

void WayGraph::look(const WayEdges& edges) {
  for (std::size_t a = 0; a < nodes_.size(); ++a)
    for (std::size_t b = a + 1; b < nodes_.size(); ++b)
      set(a, b,
          edges.stop(nodes_[a].at, nodes_[b].at) ? no_way_m : metres_between(nodes_[a].at, nodes_[b].at));
}

void WayGraph::link(std::size_t a, std::size_t b) { set(a, b, metres_between(nodes_[a].at, nodes_[b].at)); }

void WayGraph::set(std::size_t a, std::size_t b, double length) {
  legs_[a * nodes_.size() + b] = length;
  legs_[b * nodes_.size() + a] = length;
}

WaysFrom WayGraph::from(std::size_t source) const {
  const std::size_t n = nodes_.size();
  WaysFrom ways{std::vector<double>(n, no_way_m), std::vector<int>(n, 0), std::vector<std::size_t>(n)};
  std::vector<bool> settled(n, false);
  for (std::size_t i = 0; i < n; ++i) ways.before[i] = i;
  ways.away[source] = 0;
  const auto nearer = [&](std::size_t a, std::size_t b) {
    return ways.leaves[a] != ways.leaves[b] ? ways.leaves[a] < ways.leaves[b] : ways.away[a] < ways.away[b];
  };
  for (std::size_t turn = 0; turn < n; ++turn) {
    std::size_t next = n;
    for (std::size_t i = 0; i < n; ++i)
      if (!settled[i] && ways.reach(i) && (next == n || nearer(i, next))) next = i;
    if (next == n) break;
    settled[next] = true;
    for (std::size_t i = 0; i < n; ++i) {
      const double length = legs_[next * n + i];
      if (settled[i] || !(length < no_way_m)) continue;
      const int leaves = ways.leaves[next] + (nodes_[i].outer && !nodes_[next].outer ? 1 : 0);
      const double away = ways.away[next] + length;
      const bool known = ways.reach(i);
      if (known && (leaves > ways.leaves[i] || (leaves == ways.leaves[i] && away >= ways.away[i]))) continue;
      ways.leaves[i] = leaves;
      ways.away[i] = away;
      ways.before[i] = next;
    }
  }
  return ways;
}

std::set<std::size_t> fewest_between(const WayGraph& graph, const WaysFrom& ways, const WayEdges& edges,
                                     Point to, bool inside) {
  std::set<std::size_t> fewest;
  std::pair<std::size_t, double> least{std::size_t(-1), no_way_m};
  for (std::size_t i = 0; i < graph.nodes().size(); ++i) {
    if (!ways.reach(i) || (inside && ways.leaves[i] > 0)) continue;
    const Point from = graph.nodes()[i].at;
    std::set<std::size_t> lying = edges.barriers_between(from, to);
    const std::pair<std::size_t, double> cost{lying.size(), metres_between(from, to)};
    if (lying.empty() || cost >= least) continue;
    least = cost;
    fewest = std::move(lying);
  }
  return fewest;
}

}  // namespace swardline
