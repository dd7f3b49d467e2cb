// What stands on the one page a team carries: facts of one visit to one site, or of one loop of it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "swardline/design/draw_season.hpp"
#include "swardline/field/cautions.hpp"
#include "swardline/field/identification.hpp"
#include "swardline/field/visits.hpp"

namespace swardline {

/// A plot or transect in walking order.
struct SheetPlot {
  const Plot* plot = nullptr;
  const Transect* transect = nullptr;  ///< of which `plot` is the start
  int order = 0;                       ///< in the walk, from 1; spares follow, in draw order
  double metres_from_last = 0;         ///< along the way; NaN for spares
  double bearing_to = 0;               ///< true, from the last place; NaN where there is none
  std::optional<double> magnetic_to;
  std::string degrees;              ///< "38.00412 -96.02184"
  std::string minutes;              ///< "38 00.247 N 96 01.310 W"
  std::vector<std::string> usng;    ///< the standard zone's first; two near a zone's edge
  double tape_m = 0;                ///< along the ground
  std::string edge;                 ///< tape distances of the count-twice zone; empty away from edges
  std::vector<std::string> likely;  ///< species codes
};

}  // namespace swardline
