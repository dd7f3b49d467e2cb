// The passes of check_season. Private to this folder.
#pragma once

#include <string>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/base/progress.hpp"
#include "swardline/design/site.hpp"
#include "swardline/grid/layers.hpp"
#include "swardline/season/season.hpp"

namespace swardline::check_parts {

/// Reads every cell of the opened layers once: values that no legend names, values that do not fit
/// the unit, zeros that look like missing data, sites the layers do not reach.
void check_rasters(const Season& season, const Layers& layers, const Sites& sites, int threads,
                   const Progress& progress, Flags& flags);

/// What PROJ did to each vector source, and sources that lie where they cannot: swapped axes, lost signs,
/// another zone, another datum. `valley` is the ground the layers cover, in plan coordinates.
void check_positions(const Plan& plan, const Crs& crs, const Sites& sites, const std::optional<Box>& valley,
                     std::vector<std::string>& routes, Flags& flags);

}  // namespace swardline::check_parts
