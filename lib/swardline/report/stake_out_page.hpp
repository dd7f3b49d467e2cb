// What a team does to lay each transect, as plain text to print.
#pragma once

#include <string>

#include "swardline/design/draw_season.hpp"

namespace swardline {

/// Every transect by site in the order of the draw, planned before spares, then the reference lines.
/// `declination` says how magnetic bearings were made; empty where none are given.
[[nodiscard]] std::string stake_out_text(const SeasonDraw& draw, const std::string& season,
                                         const std::string& declination);

}  // namespace swardline
