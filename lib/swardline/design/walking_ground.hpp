// What stands in a team's way at a site: edges of fences, water and ground to keep out of, and the places
// where ways past them turn. Private to this folder.
#pragma once

#include <algorithm>
#include <set>
#include <string>
#include <vector>

#include "swardline/design/site.hpp"

namespace swardline {

/// The barriers of all sites, and the ground that one keeps out of.
struct InTheWay {
  const Access& access;
  const Site* site = nullptr;  ///< none: barriers alone

  [[nodiscard]] bool nothing() const {
    return access.barriers.empty() && (site == nullptr || site->keep_out.empty());
  }
  [[nodiscard]] std::size_t ground(std::size_t piece) const { return access.barriers.size() + piece; }
  /// "fence (access.gpkg, feature 1)", "ground to keep out of (no entry)".
  [[nodiscard]] std::string name(std::size_t barrier) const;
  /// "fence", "ground to keep out of (no entry)".
  [[nodiscard]] std::string what(std::size_t barrier) const;
  [[nodiscard]] std::string names(const std::set<std::size_t>& barriers) const;
  [[nodiscard]] std::string whats(const std::set<std::size_t>& barriers) const;
};

/// A leg may touch a barrier this near its ends: a gate stands on the fence it opens.
inline constexpr double touch_m = 0.01;

[[nodiscard]] inline Box box_of(Point a, Point b) {
  return {std::min(a.x, b.x), std::min(a.y, b.y), std::max(a.x, b.x), std::max(a.y, b.y)};
}

struct WayEdge {
  Point a, b;
  std::size_t barrier = 0;
};

/// The barriers' edges in a window, in runs with a box each: a leg meets few of them.
class WayEdges {
 public:
  void add(const WayEdge& edge);
  /// A place amid some of the ground: who stands there (a car on a road) may leave it anywhere.
  void leave_freely(Point place, std::set<std::size_t> grounds);
  [[nodiscard]] bool empty() const { return edges_.empty(); }
  [[nodiscard]] bool stop(Point a, Point b) const;
  [[nodiscard]] std::set<std::size_t> barriers_between(Point a, Point b) const;

 private:
  static constexpr std::size_t run = 16;
  /// Until `visit` answers true.
  template <class Visit>
  void each_met(Point a, Point b, Visit&& visit) const;

  std::vector<WayEdge> edges_;
  std::vector<Box> boxes_;
  Point free_;
  std::set<std::size_t> free_of_;  ///< barriers that no leg from or to `free_` meets
};

/// Ground on which ways are looked for: the site, and half its places' length, or 200 m, beyond them.
[[nodiscard]] Box window_of(const InTheWay& between, const std::vector<Point>& places);

/// The edges that meet the window, and the lines that those of the barriers make. Ground that the start lies
/// amid is left freely.
[[nodiscard]] WayEdges edges_in(const InTheWay& between, const Box& window, Point start,
                                std::vector<Geometry>& pieces);

/// Where a way past barriers and round ground turns, outside the bend. Crooked lines are smoothed until there
/// are few enough; whether one bend is seen from another is always asked of the line as drawn.
[[nodiscard]] std::vector<Point> bends_of(const InTheWay& between, const Box& window,
                                          const std::vector<Geometry>& pieces);

/// Of places but the first amid ground to keep out of (a pin of a plot that reaches over its edge): the
/// nearest place outside it.
struct WayOut {
  std::size_t place = 0;
  Point outside;
};
[[nodiscard]] std::vector<WayOut> ways_out(const InTheWay& between, const std::vector<Point>& places);

}  // namespace swardline
