// The ways of a site's walk, for its sheets: from the parking or the entry to every plot, and from plot to
// plot.
#pragma once

#include <string>
#include <vector>

#include "swardline/design/draw_season.hpp"
#include "swardline/design/site.hpp"
#include "swardline/design/walked_legs.hpp"

namespace swardline {

struct SiteWays {
  Point start;           ///< plan coordinates
  bool parking = false;  ///< the plan gives the start; else it is the edge nearest to the first plot
  WalkedLegs legs;       ///< of planned plots or transects, in walking order
};

/// `site`: may lack (the store knows a site the plan has no more); then barriers alone are gone past.
/// `survey`: of the draw.
[[nodiscard]] SiteWays site_ways(const Access& access, const Site* site, const Geometry& survey,
                                 const std::string& code, const std::vector<Plot>& plots,
                                 const std::vector<Transect>& transects);

/// Writes into the plots of the walk what keeps a team from them, and what their way goes round outside the
/// site, in words: what check_reached asks about.
void mark_reached(const SiteWays& ways, const std::string& code, std::vector<Plot>& plots);

}  // namespace swardline
