// Where a plot was counted. Private to this folder.
#pragma once

#include "swardline/estimate/evaluated.hpp"
#include "swardline/geo/geometry.hpp"

namespace swardline::change_parts {

struct CountedPlace {
  Point at;           ///< in the season's coordinates
  double give_m = 0;  ///< how far that may be out
  bool off_pin = false;
};

/// The pin, unless the team's fix lies farther from it than `moved_m` and the fix's accuracy.
[[nodiscard]] CountedPlace counted_place(const EvaluatedUnit& unit, double moved_m);

[[nodiscard]] double apart(Point a, Point b);

}  // namespace swardline::change_parts
