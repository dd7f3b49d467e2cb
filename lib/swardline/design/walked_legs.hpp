// The legs of a walk as they are walked: round what is in the way, place by place.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "swardline/design/site.hpp"

namespace swardline {

/// The way from one place to another.
struct WalkedLeg {
  std::vector<Point> points;  ///< both places and where it turns between them; without a way the places alone
  std::vector<bool> crossing;  ///< by point: a crossing over something
  bool open = true;            ///< there is a way
  bool outside = false;        ///< it leaves the site and comes back
  std::string past = {};       ///< what lies on the straight line, in words; empty where the way is straight
  std::string beyond = {};     ///< what keeps a team from the place, in words; empty where there is a way
  bool along = false;          ///< on the line of a linear site
  [[nodiscard]] bool straight() const { return points.size() <= 2; }
};

/// Of places in walking order, the legs from the one before (the start for the first) and from the start.
struct WalkedLegs {
  std::vector<WalkedLeg> from_last, from_start;
};

/// By the same ways as the walk of a draw goes: past fences and water at their crossings, round the ground
/// that `site` keeps out of (none: barriers alone).
[[nodiscard]] WalkedLegs walked_legs(const Access& access, const Site* site, Point start,
                                     const std::vector<Point>& places);

/// A segment of a linear site in a walk.
struct VergePlace {
  Point at;
  double metre = 0;  ///< of its middle along the line
  std::string side;
};
/// As walked_legs, but along the line, from segment to segment; the start lies beside the nearest.
[[nodiscard]] WalkedLegs legs_along(const Verge& verge, Point start, const std::vector<VergePlace>& places);

/// The place of an area's edge nearest to a point: where a walk without an access point starts.
[[nodiscard]] Point entry_nearest(const Geometry& area, Point to);

}  // namespace swardline
