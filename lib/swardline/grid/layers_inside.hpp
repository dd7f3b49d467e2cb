// What open layers keep. Private to this folder.
#pragma once

#include <cstdint>
#include <map>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "swardline/grid/layers.hpp"

namespace swardline {

/// What is computed from elevation, if anything is.
enum class Derived { no, slope, aspect, heat };

/// How cells that do not lie on the grid come to it.
enum class Resampling { nearest, bilinear, average };

/// How to read one layer's file.
struct LayerSource {
  std::string path;
  int band = 1;
  std::string wkt;                  ///< the file's coordinate system
  std::string pipeline;             ///< PROJ operation to the plan's; empty when it is the same system
  double gt[6] = {};                ///< the file's geotransform
  int cols = 0, rows = 0;           ///< of the file
  bool aligned = false;             ///< read straight, cell for cell
  std::int64_t col0 = 0, row0 = 0;  ///< grid cell of the file's north-west cell, when aligned
  Resampling resampling = Resampling::nearest;
  bool signed_bytes = false;          ///< bytes above 127 stand for negative numbers
  bool masked = false;                ///< the file has a mask beside its cells
  std::optional<double> nodata;       ///< as declared
  std::optional<std::uint8_t> spare;  ///< byte borrowed for "no data": see LayerInfo::byte_none
  std::uint8_t fill = 0;              ///< byte given where there is no data, of layers read as bytes
  Derived derived = Derived::no;      ///< from this file's elevation
  double metres_per_raw = 1;          ///< elevation's rise in metres for one raw unit
  double metres_per_unit = 1;         ///< of a projected system's coordinates
  double radians_per_unit = 0;        ///< of a geographic system's coordinates; else 0
  double semi_major_m = 0, e2 = 0;    ///< of a geographic system's ellipsoid
  int block_cols = 256, block_rows = 256;
  bool mosaic = false;  ///< a VRT
};

/// A plan's layer once its file has been looked at.
struct LayerFile {
  const LayerSpec* spec = nullptr;
  LayerSource source;
  bool byte_cells = false;
  double own_scale = 1, own_offset = 0;
  std::string dated;   ///< the day the file says it was made, "2024-05-01"; empty when it says none
  std::string system;  ///< name of its coordinate system
  std::string route;   ///< in words; empty when it is the plan's system
  bool in_plan = false;
  Box box;            ///< in the plan's system
  double cell_m = 0;  ///< in the plan's system
};

/// Looks at the file of one layer. Findings go to `flags`; nothing after a STOP.
[[nodiscard]] std::optional<LayerFile> look_at(const LayerSpec& spec, const Crs& plan, Flags& flags);

[[nodiscard]] inline bool north_up(const LayerSource& s) {
  return s.gt[2] == 0 && s.gt[4] == 0 && s.gt[1] > 0 && s.gt[5] < 0;
}

struct Layers::Inside {
  Grid grid;
  std::string plan_wkt;
  std::vector<LayerInfo> infos;
  std::vector<LayerSource> sources;  ///< beside infos
  std::vector<LayerSpec> specs;      ///< of every file that was opened, needed or not
  Window extent;

  /// What fingerprints are made of: contents by specs. Files are read for them when the first is asked for;
  /// the check asks for none.
  [[nodiscard]] const std::map<std::string, std::string>& contents() const;

 private:
  mutable std::once_flag read_;
  mutable std::map<std::string, std::string> contents_;  ///< by layer
};

}  // namespace swardline
