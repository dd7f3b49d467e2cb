// Which plots two seasons share: by name, and by where they lie on the ground.
#pragma once

#include <cstddef>
#include <limits>
#include <string>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/estimate/evaluated.hpp"

namespace swardline {

/// What became of a plot between two seasons.
enum class Matching {
  paired,            ///< counted in both, at the same place
  moved,             ///< counted in both under one name, but not at one place: a new plot
  not_counted_now,   ///< counted in the earlier season only; its fate says why
  not_counted_then,  ///< counted in the later season only
  resting_now,       ///< its panel rests, or the spare was not needed
  resting_then,
  added,  ///< not among the plots of the earlier season
  gone    ///< no longer among the plots
};
[[nodiscard]] const char* word(Matching matching);  ///< "paired", "moved", "not counted now", "new", …

inline constexpr std::size_t no_unit = std::numeric_limits<std::size_t>::max();

/// A plot that was counted in at least one of the two seasons.
struct MatchedPlot {
  std::size_t earlier = no_unit, later = no_unit;  ///< indices into the seasons' units
  Matching matching = Matching::paired;
  double moved_m = 0;  ///< from where it was; 0 where one of the places is not known
  /// The team counted away from the pin, so what it counted there was not drawn.
  bool off_pin_then = false, off_pin_now = false;
  std::string why;  ///< in words; empty for a pair
};

/// Matches by name. A plot is at its pin unless the team's fix lies farther from it than `moved_m` and the
/// fix's accuracy; it was moved where its places in the two seasons lie farther apart than `moved_m` and the
/// accuracy of the fixes that speak against the pins. Plots come by name. Flags as ASK plots at one place
/// under two names: they are not paired. Systems of coordinates may differ.
[[nodiscard]] std::vector<MatchedPlot> match_plots(const EvaluatedSeason& earlier,
                                                   const EvaluatedSeason& later, double moved_m,
                                                   Flags& flags);

}  // namespace swardline
