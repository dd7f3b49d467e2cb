// A map of each site for the review before anyone prints: scored ground, what is cut out,
// and where the plots fell. SVG, readable in black and white.
#pragma once

#include <filesystem>
#include <functional>
#include <vector>

#include "swardline/design/draw_season.hpp"

namespace swardline {

/// One map per site, `<folder>/<code>.svg` (`<code>-2.svg` where two codes make one file name), and none of
/// an earlier draw beside them. Ground is drawn by the plan's `score_of`, one hue light to dark; excluded
/// ground hatched, ground without a score dotted. Large sites are thinned to about 40,000 cells; those that
/// the draw has taken (`site_cells` of SeasonDraw, at most `map_cells` each) are not read again. Returns what
/// was written; throws IoError. `first` is called when all maps are drawn and before any can be seen: what it
/// throws leaves the maps of an earlier draw as they were.
std::vector<std::filesystem::path> write_site_maps(
    const Season& season, const Crs& crs, const Sites& sites, const Layers& layers, const Model& model,
    const std::vector<Plot>& plots, const std::filesystem::path& folder,
    const std::vector<Transect>& transects = {}, int threads = 1,
    const std::vector<SiteCells>& site_cells = {}, const std::function<void()>& first = {});
inline constexpr int map_cells = 40'000;

}  // namespace swardline
