// The ways between a site's places past fences, water and ground to keep out of: straight, or through
// crossings and round corners. Private to this folder.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "swardline/design/site.hpp"
#include "swardline/design/walked_legs.hpp"
#include "swardline/design/walking_ground.hpp"
#include "swardline/design/walking_order.hpp"

namespace swardline {

/// Ways between the start (place 0) and the points (place 1 is point 0).
struct Ways {
  std::size_t places = 0;
  std::vector<double> metres;       ///< by place and place; in a straight line where there is no way
  std::vector<bool> open;           ///< whether there is one
  std::vector<bool> outside;        ///< whether it leaves the site and comes back
  std::vector<std::string> beyond;  ///< by point: what keeps a team from it; empty where there is a way
  std::vector<std::string> round_outside;  ///< by point: what the way from the start goes round outside
  [[nodiscard]] double between(std::size_t a, std::size_t b) const { return metres[a * places + b]; }
  [[nodiscard]] bool is_open(std::size_t a, std::size_t b) const { return open[a * places + b]; }
  [[nodiscard]] bool is_outside(std::size_t a, std::size_t b) const { return outside[a * places + b]; }
};

/// Two places see each other where nothing crosses the straight line between them; else the way is the
/// shortest over places, crossings and the bends of barriers and of ground to keep out of that see each other
/// (a visibility graph, de Berg et al., Computational Geometry, ch. 15). A barrier's open end is no way round
/// it, for what was drawn may go on. Ways leave the site and come back only where no other is. None where no
/// straight line meets anything. Deterministic.
[[nodiscard]] std::optional<Ways> ways_past(const InTheWay& between, Point start,
                                            const std::vector<Point>& points);

/// The way from the start to one point.
struct WayTo {
  double metres = 0;     ///< in a straight line where there is no way
  bool straight = true;  ///< nothing lies between
  bool open = true;      ///< there is a way
  std::string beyond;    ///< what keeps a team from it; empty where there is a way
};
/// Of many points, each for itself. Over crossings and bends alone, so never shorter than what ways_past
/// finds, which may cut a bend's corner over another point.
[[nodiscard]] std::vector<WayTo> ways_to(const InTheWay& between, Point start,
                                         const std::vector<Point>& points);

/// As `walking_order` over straight legs, over these. A leg without a way is walked as seldom as can be, and
/// its metres are the straight line's; then one that leaves the site.
[[nodiscard]] Walk walking_order(const Ways& ways);

}  // namespace swardline
