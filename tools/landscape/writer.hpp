// Writing the layers tile by tile, each file whole or not at all.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "land.hpp"

namespace swardline::landscape {

struct WriteJob {
  std::filesystem::path folder;
  std::string crs = "EPSG:26914";   ///< projected, metres
  View view;                        ///< what to write
  std::vector<std::string> layers;  ///< of layer_names()
  std::string note;                 ///< goes into the files' metadata
  int threads = 1;
  int deflate_level = 6;  ///< 1 quick … 9 small
  /// Not 0: write one block of this many cells a side, and a VRT that repeats it over the view.
  int repeat_block = 0;
};

/// cover, moisture, elevation, canopy, bedrock, water_distance.
[[nodiscard]] const std::vector<std::string>& layer_names();

/// Writes the job's layers as tiled GeoTIFF (`<layer>.tif`), or `<layer>-block.tif` and `<layer>.vrt`.
/// Memory depends on the tile and the threads, never on the view. Throws IoError, or InputError for a
/// layer name or coordinate system that is not known.
void write_layers(const Land& land, const WriteJob& job);

}  // namespace swardline::landscape
