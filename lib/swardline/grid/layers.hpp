// A season's layers on one grid, read in windows; slope, aspect and heat load from elevation.
#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/geo/crs.hpp"
#include "swardline/grid/grid.hpp"
#include "swardline/season/plan.hpp"

namespace swardline {

enum class LayerKind { classes, measure };

/// What is known of a layer once it is open.
struct LayerInfo {
  std::string name;
  LayerKind kind = LayerKind::measure;
  std::string unit;
  bool bytes = false;    ///< read as raw bytes (Byte source, or warped to Byte), else as float
  bool derived = false;  ///< slope, aspect or heat, from elevation
  bool warped = false;   ///< brought to the grid by GDAL's warper
  std::string how;       ///< in words: "on the grid" / "warped from EPSG:4326, 23 m cells, bilinear; <route>"
  double own_scale = 1, own_offset = 0;  ///< the file's
  double scale = 1;                      ///< the plan's
  std::array<bool, 256> byte_none{};     ///< for byte layers: raw value is no data
  std::map<long long, std::string> classes;
  Window extent;  ///< cells the layer can say something about
  Place place;
  /// A raw value as the sheets speak of it; NaN stays NaN.
  [[nodiscard]] double value(double raw) const { return (raw * own_scale + own_offset) * scale; }
};

/// One layer's cells of a window, row by row from the north-west.
struct LayerTile {
  std::vector<std::uint8_t> bytes;  ///< when LayerInfo::bytes
  std::vector<float> values;        ///< otherwise: raw values, NaN = no data (infinite cells too)
};

struct Tile {
  Window window;
  std::vector<LayerTile> layers;  ///< in the order the reader was asked for
};

/// The layers of a plan, opened and placed on the grid. Shared between threads; pixels
/// are read through LayerReader, one per thread.
class Layers {
 public:
  /// Opens the layers named in `needed` (plan layers, or "slope", "aspect", "heat").
  /// Findings go to `flags`: no coordinate system (STOP), cannot be opened, no such
  /// band, classes on a float raster, warping (NOTE with the route and its accuracy) …
  static Layers open(const Plan& plan, const Crs& crs, const std::vector<std::string>& needed, Flags& flags);

  [[nodiscard]] const Grid& grid() const;
  [[nodiscard]] const std::vector<LayerInfo>& infos() const;
  [[nodiscard]] std::optional<std::size_t> index(const std::string& name) const;
  /// The plan's [grid] extent, else the union of the layers.
  [[nodiscard]] Window extent() const;
  /// A fingerprint of what was opened: files' contents (above 64 MiB sizes and times), scales, grid. Files
  /// are read for it when it is first asked for.
  [[nodiscard]] std::string fingerprint() const;
  /// The same of some layers, with what the plan says of them, the grid and the extent.
  [[nodiscard]] std::string fingerprint(const std::vector<std::size_t>& which) const;
  /// Windows that read these sources without reading anything twice: the files' own blocks where all layers
  /// are bytes in the same blocks, whole-width bands for strip files, 1,024 cells for mosaics, else 512.
  [[nodiscard]] std::vector<Window> reading_windows(const Window& area) const;

  struct Inside;
  [[nodiscard]] const Inside& inside() const { return *inside_; }

 private:
  std::shared_ptr<const Inside> inside_;
};

/// Reads windows of the layers with its own dataset handles. One thread at a time.
/// Where a layer stops short the cells are no data. What is read does not depend on the window asked for.
class LayerReader {
 public:
  /// `which`: indices into Layers::infos(); all when empty.
  explicit LayerReader(const Layers& layers, std::vector<std::size_t> which = {});
  ~LayerReader();
  LayerReader(LayerReader&&) noexcept;
  /// Reuses the tile's memory. Throws IoError when GDAL cannot read (truncated file), naming the file.
  void read(const Window& window, Tile& tile);

 private:
  struct Inside;
  std::unique_ptr<Inside> inside_;
};

/// GDAL's block cache and error handling as this library wants them; call once per process.
void set_up_gdal();

}  // namespace swardline
