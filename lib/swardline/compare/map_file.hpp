// Compared plots as one open map file.
#pragma once

#include <filesystem>

#include "swardline/compare/compare.hpp"

namespace swardline {

/// A GeoPackage with the one layer `plots`, a point for every plot and species (plots that were not counted
/// once, without a species), in the plan's coordinate system: counts, score at the centre and its means over
/// the plot and the fix's circle, the factor that holds it down, what was found of it, and every layer's
/// value. Written whole or not at all; throws IoError. It holds exact positions: release it as such.
void write_compare_map(const Comparison& comparison, const Season& season, const EvaluatedSeason& counted,
                       const Crs& crs, const std::filesystem::path& file);

}  // namespace swardline
