// Cells that no measure has: infinite ones, and numbers too large for the cells everything is held in.
#include <cpl_error.h>
#include <fmt/format.h>
#include <gdal_priv.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <memory>

#include "swardline/base/text.hpp"
#include "swardline/check/check_parts.hpp"

namespace swardline::check_parts {
namespace {

// How many, and the first of them in the file's own rows and columns.
struct Beyond {
  std::int64_t infinite = 0, too_large = 0;
  int col = 0, row = 0;
};

Beyond count_beyond(GDALRasterBand& band) {
  constexpr double most = std::numeric_limits<float>::max();
  Beyond beyond;
  int declared = 0;
  const double nodata = band.GetNoDataValue(&declared);
  int wide = 0, high = 0;
  band.GetBlockSize(&wide, &high);
  std::vector<double> cells(static_cast<std::size_t>(wide) * static_cast<std::size_t>(high));
  for (int row = 0; row < band.GetYSize(); row += high)
    for (int col = 0; col < band.GetXSize(); col += wide) {
      const int cols = std::min(wide, band.GetXSize() - col);
      const int rows = std::min(high, band.GetYSize() - row);
      if (band.RasterIO(GF_Read, col, row, cols, rows, cells.data(), cols, rows, GDT_Float64, 0, 0,
                        nullptr) != CE_None)
        return beyond;  // a file that breaks off has been named
      for (std::size_t i = 0; i < std::size_t(cols) * std::size_t(rows); ++i) {
        const double value = cells[i];
        if (std::isnan(value) || std::abs(value) <= most || (declared != 0 && value == nodata)) continue;
        if (beyond.infinite + beyond.too_large == 0) {
          beyond.col = col + int(i % std::size_t(cols));
          beyond.row = row + int(i / std::size_t(cols));
        }
        ++(std::isinf(value) ? beyond.infinite : beyond.too_large);
      }
    }
  return beyond;
}

}  // namespace

bool check_beyond(const LayerSpec& spec, Flags& flags) {
  CPLErrorHandlerPusher const quiet(CPLQuietErrorHandler);
  const std::unique_ptr<GDALDataset> dataset(GDALDataset::Open(spec.source.c_str(), GDAL_OF_RASTER));
  if (!dataset || spec.band > dataset->GetRasterCount()) return false;
  GDALRasterBand& band = *dataset->GetRasterBand(spec.band);
  const GDALDataType type = band.GetRasterDataType();
  // Another file or band that says which cells count: what lies under it is nobody's mistake.
  if ((type != GDT_Float32 && type != GDT_Float64) || (band.GetMaskFlags() & GMF_PER_DATASET) != 0)
    return false;
  const Beyond beyond = count_beyond(band);
  const auto cells = [](std::int64_t n) { return n == 1 ? " cell" : " cells"; };
  std::vector<std::string> which;
  if (beyond.infinite > 0) which.push_back(grouped(beyond.infinite) + " infinite" + cells(beyond.infinite));
  if (beyond.too_large > 0)
    which.push_back(grouped(beyond.too_large) + cells(beyond.too_large) + " beyond 3.4e38");
  if (which.empty()) return false;
  flags.add(Severity::ask, "cells beyond any number", spec.place,
            fmt::format("layer {} has {} (the first at column {}, row {}): taken as no data.", spec.name,
                        in_words(which), beyond.col, beyond.row),
            "Was something divided by 0, or a mark for missing data not declared? Mend the raster.");
  return true;
}

}  // namespace swardline::check_parts
