// What open layers keep. Private to this folder.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "swardline/grid/layers.hpp"

namespace swardline {

/// How a layer's cells come to the grid.
enum class Derived { no, slope, aspect, heat };

struct LayerSource {
  std::string path;
  int band = 1;
  std::string wkt;                  ///< the source's system
  std::string pipeline;             ///< PROJ operation to the plan's; empty when it is the same system
  double gt[6] = {};                ///< the source's geotransform
  int cols = 0, rows = 0;           ///< of the source
  bool aligned = false;             ///< read straight, cell for cell
  std::int64_t col0 = 0, row0 = 0;  ///< grid cell of the source's north-west cell, when aligned
  std::string resampling;           ///< "near", "bilinear" or "average"
  bool has_nodata = false;
  double nodata = 0;
  std::uint8_t fill = 255;  ///< byte that stands for no data
  Derived derived = Derived::no;
  double to_metres_a = 1, to_metres_b = 0;  ///< elevation = raw·a + b, for derived layers
  bool degrees = false;                     ///< the source's system is geographic
  int block_cols = 256, block_rows = 256;
  bool mosaic = false;  ///< a VRT
};

struct Layers::Inside {
  Grid grid;
  std::string plan_wkt;
  Crs crs = Crs::wgs84();
  std::vector<LayerInfo> infos;
  std::vector<LayerSource> sources;  ///< beside infos
  Window extent;
  std::string fingerprint;
};

/// Reads one layer. One per thread and layer.
class SourceReader {
 public:
  SourceReader(const Layers::Inside& layers, std::size_t layer);
  ~SourceReader();
  void read(const Window& window, LayerTile& tile);

 private:
  struct Inside;
  std::unique_ptr<Inside> inside_;
};

}  // namespace swardline
