// Ranked blocks as files: a table for spreadsheets, polygons for maps.
#pragma once

#include <filesystem>
#include <string>

#include "swardline/design/blocks.hpp"
#include "swardline/geo/crs.hpp"

namespace swardline {

/// One row a species and block, by species, site and rank (blocks without a score last), as RFC 4180. An
/// empty `species` means all. Written whole. Throws IoError.
void write_blocks_csv(const SeasonBlocks& blocks, const std::string& species,
                      const std::filesystem::path& file);

/// The same rows as polygons (survey area within the block) in the plan's system, layer `blocks` of a
/// GeoPackage. Written whole. Throws IoError.
void write_blocks_gpkg(const SeasonBlocks& blocks, const std::string& species, const Crs& crs,
                       const std::filesystem::path& file);

}  // namespace swardline
