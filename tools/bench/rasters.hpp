// Rasters opened for the benchmark.
#pragma once

#include <gdal_priv.h>

#include <filesystem>
#include <memory>

#include "swardline/base/error.hpp"

namespace swardline::bench {

/// Throws IoError.
[[nodiscard]] inline std::unique_ptr<GDALDataset> open_raster(const std::filesystem::path& raster) {
  std::unique_ptr<GDALDataset> dataset(GDALDataset::Open(raster.c_str(), GDAL_OF_RASTER | GDAL_OF_READONLY));
  if (!dataset)
    throw IoError(Place{raster.string(), 0, {}}, "cannot be opened.", "Make the landscape first.");
  return dataset;
}

}  // namespace swardline::bench
