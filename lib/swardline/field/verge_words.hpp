// Where segments of a linear site lie, in words for sheets.
#pragma once

#include <string>

#include "swardline/design/site.hpp"
#include "swardline/field/site_ways.hpp"
#include "swardline/geo/crs.hpp"

namespace swardline {

/// "north", "south-east": of eight.
[[nodiscard]] std::string compass_point(double bearing_deg);

/// Where the metres of the site's lines begin and end, which way they run and which side is which.
[[nodiscard]] std::string line_words(const Verge& verge, const SiteWays& ways, const Route& to_wgs84);

/// "RIGHT (south) of the line from 520 m to 540 m, …": of a plot that is a segment; empty where the verge has
/// no such segment.
[[nodiscard]] std::string segment_words(const Verge& verge, const Plot& plot);

}  // namespace swardline
