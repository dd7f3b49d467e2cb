// The tables of transects: `transects` (reference lines among them) and `stations`. Private to this folder.
#pragma once

#include "swardline/design/draw_season.hpp"
#include "swardline/store/geopackage.hpp"

namespace swardline {

/// Both tables anew, empty where there is nothing for them; a store that never held any is left without.
void write_transects(OpenStore& store, const Crs& crs, const SeasonDraw& draw);

}  // namespace swardline
