// Rasters made in a temporary folder, the plan that names them, and cells read from them.
#pragma once

#include <doctest/doctest.h>
#include <gdal_priv.h>

#include <array>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "swardline/grid/layers.hpp"

namespace grid_test {

inline constexpr double west = 600000, north = 4200000;  ///< of a made raster, unless said otherwise

/// A raster to be made; col and row count from its first cell.
struct MadeFile {
  std::function<double(int col, int row)> value;
  int cols = 40, rows = 30;
  std::array<double, 6> gt = {west, 10, 0, north, 0, -10};
  bool placed = true;              ///< the file says where its cells lie
  std::string crs = "EPSG:26914";  ///< empty: none
  GDALDataType type = GDT_Float32;
  std::optional<double> none;                        ///< declared as no data
  std::vector<std::string> options;                  ///< of GDAL's GTiff driver
  double own_scale = 1, own_offset = 0;              ///< written in the file
  std::function<bool(int col, int row)> masked_out;  ///< by a mask beside the cells
  int mask_flags = GMF_PER_DATASET;
  int bands = 1;  ///< all the same
};
void write(const std::filesystem::path& path, const MadeFile& file);

/// A whole number in [0, below) that looks random and depends on its arguments alone.
int number(std::uint64_t seed, int col, int row, int below);
/// Smooth ground in metres with some roughness.
double hills(double east, double north);

/// A plan in EPSG:26914 over rasters of its own folder, removed with it.
class MadePlan {
 public:
  MadePlan();
  ~MadePlan();
  MadePlan(const MadePlan&) = delete;
  MadePlan& operator=(const MadePlan&) = delete;

  swardline::Plan plan;
  swardline::Crs crs = swardline::Crs::from_text("EPSG:26914");
  swardline::Flags flags;

  [[nodiscard]] std::filesystem::path file(const std::string& layer) const {
    return plan.folder / (layer + ".tif");
  }
  /// Writes the file too.
  swardline::LayerSpec& measure(const std::string& name, const MadeFile& file);
  swardline::LayerSpec& classes(const std::string& name, const MadeFile& file, std::vector<int> values);
  /// The layers named, or all of the plan; findings go to `flags`, emptied first.
  swardline::Layers open(std::vector<std::string> needed = {});
  /// Opens one layer alone and reads the window with a reader of its own.
  std::vector<float> read(const std::string& layer, const swardline::Window& window);
};

/// What a fresh reader gives of one open layer.
swardline::LayerTile tile_of(const swardline::Layers& layers, std::size_t layer,
                             const swardline::Window& window);
/// The same, with bytes as numbers and NaN where they stand for no data.
std::vector<float> cells_of(const swardline::LayerInfo& info, const swardline::LayerTile& tile);

/// Cells that differ; NaN is the same as NaN.
int differing(const std::vector<float>& a, const std::vector<float>& b);
/// Largest difference where both have a value, and how many cells only one of them has.
struct Difference {
  double largest = 0;
  int compared = 0, only_one = 0;
};
Difference difference(const std::vector<float>& a, const std::vector<float>& b);

using Dataset = std::unique_ptr<GDALDataset>;
Dataset open_file(const std::filesystem::path& path);
/// GDAL's own warper, whole, without approximation, to this window of the grid in EPSG:26914.
std::vector<float> warped_by_gdal(GDALDataset& source, const char* how, const swardline::Grid& grid,
                                  const swardline::Window& window);
/// GDALDEMProcessing of the whole file ("slope", "aspect"), kept in memory.
Dataset terrain_by_gdal(GDALDataset& elevation, const char* what, std::vector<std::string> options = {});
/// Band 1 whole, NaN where GDAL says there are no data.
std::vector<float> whole(GDALDataset& dataset);

}  // namespace grid_test
