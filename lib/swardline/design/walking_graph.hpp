// Who sees whom among a site's places, crossings and bends, and the shortest ways over them. Private to this
// folder.
#pragma once

#include <set>
#include <vector>

#include "swardline/design/walking_ground.hpp"

namespace swardline {

/// A place a way may lead over.
struct WayNode {
  Point at;
  bool crossing = false;
  bool outer = false;  ///< a bend outside the site
};

/// Ways from one node to all.
struct WaysFrom {
  std::vector<double> away;         ///< metres; infinite where there is no way
  std::vector<int> leaves;          ///< how often the way leaves the site to come back
  std::vector<std::size_t> before;  ///< the node before
  [[nodiscard]] bool reach(std::size_t node) const;
  /// Nodes on the way to one that is reached, both ends among them.
  [[nodiscard]] std::vector<std::size_t> way_to(std::size_t node) const;
};

/// The visibility graph of the places given (the first nodes), the crossings and the bends in the window.
class WayGraph {
 public:
  WayGraph(const InTheWay& between, const Box& window, const WayEdges& edges,
           const std::vector<Geometry>& pieces, const std::vector<Point>& places);

  /// Dijkstra 1959 on the full matrix, for the graph is dense: fewest times out of the site, then fewest
  /// metres. A start outside the site leaves it only once it has been in.
  [[nodiscard]] WaysFrom from(std::size_t source) const;
  [[nodiscard]] const std::vector<WayNode>& nodes() const { return nodes_; }

 private:
  void look(const WayEdges& edges);
  void link(std::size_t a, std::size_t b);
  void set(std::size_t a, std::size_t b, double length);

  std::vector<WayNode> nodes_;
  std::vector<double> legs_;
};

/// The barriers on the straight line to a place that has the fewest of them on it, then the shortest, from
/// ground that can be reached; `inside`: without leaving the site.
[[nodiscard]] std::set<std::size_t> fewest_between(const WayGraph& graph, const WaysFrom& ways,
                                                   const WayEdges& edges, Point to, bool inside);

}  // namespace swardline
