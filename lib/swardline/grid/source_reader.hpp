// Reading one layer's file, from its own cells to the grid's. Private to this folder.
#pragma once

#include <gdal_priv.h>
#include <limits>

#include <deque>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <utility>
#include <vector>

#include "swardline/grid/layers_inside.hpp"
#include "swardline/grid/terrain.hpp"
#include "swardline/grid/tiff_blocks.hpp"

namespace swardline {

/// Where there is no value.
inline constexpr float no_raw = std::numeric_limits<float>::quiet_NaN();

/// A rectangle of a file's own cells.
struct Cells {
  int col = 0, row = 0, cols = 0, rows = 0;
  friend bool operator==(const Cells&, const Cells&) = default;
};

/// The file's own cells as they are stored.
class PixelReader {
 public:
  PixelReader(const LayerInfo& info, const LayerSource& source);
  /// Raw values, NaN where there are no data or the cell is infinite. Rows of `out` are `width` apart.
  void numbers(const Cells& cells, float* out, std::size_t width);
  /// Raw bytes, LayerSource::fill where there are no data.
  void bytes(const Cells& cells, std::uint8_t* out, std::size_t width);
  /// The same row by row without gaps, kept until other cells are asked for: slope, aspect and heat of a
  /// window ask for the same.
  const std::vector<float>& kept_numbers(const Cells& cells);
  [[noreturn]] void fail() const;

 private:
  void get(GDALRasterBand& band, const Cells& cells, void* out, GDALDataType type, std::size_t width) const;
  [[nodiscard]] bool read_block(const Cells& cells, std::uint8_t* out, std::size_t width);
  [[nodiscard]] const std::uint8_t* kept_block(int x, int y);
  [[nodiscard]] bool read_part(const Cells& cells, std::uint8_t* out, std::size_t width);
  const std::uint8_t* mask_of(const Cells& cells);
  [[noreturn]] void refuse_spare(int col, int row) const;

  const LayerInfo& info_;
  const LayerSource& source_;
  std::unique_ptr<GDALDataset> dataset_;
  GDALRasterBand* band_ = nullptr;
  std::unique_ptr<TiffBlocks> tiff_;                     ///< where its blocks can be decoded here
  static constexpr int most_at_once = 9;                 ///< blocks that are kept for one window
  std::vector<std::vector<std::uint8_t>> kept_;          ///< decoded blocks
  std::vector<std::pair<int, int>> kept_as_;             ///< their columns and rows
  std::map<std::pair<int, int>, std::size_t> place_of_;  ///< among them
  std::size_t oldest_ = 0;
  std::vector<std::uint8_t> mask_;
  Cells numbered_;  ///< cells whose numbers are kept, and these
  std::vector<float> numbers_;
};

/// Slope, aspect or heat load on the cells of an elevation file. The outermost cells have no value.
class TerrainReader {
 public:
  TerrainReader(const LayerSource& source, PixelReader& elevation);
  void read(const Cells& cells, float* out, std::size_t width);

 private:
  [[nodiscard]] RiseTurn turn_at(int row) const;
  void find_latitudes(const Cells& cells);
  void heat_row(int row, int first, int last, float* out) const;

  const LayerSource& source_;
  PixelReader& elevation_;
  std::optional<Route> to_wgs84_;
  std::vector<double> east_, south_;
  // Cosine and sine of latitude at the corners of fixed squares of the file's cells.
  int first_square_col_ = 0, first_square_row_ = 0, corners_across_ = 0;
  std::vector<double> cos_, sin_;
};

/// Warps a file's cells to whole blocks of the grid, so that a cell's value never depends on
/// the window asked for.
class BlockWarper {
 public:
  using Fetch = std::function<void(const Cells& cells, float* out, std::size_t width)>;
  BlockWarper(const Layers::Inside& layers, const LayerSource& source, Fetch fetch);
  ~BlockWarper();
  BlockWarper(const BlockWarper&) = delete;
  /// block_cells × block_cells values, NaN where there are none.
  void warp(const Block& block, std::vector<float>& out);

 private:
  void warp_part(const Window& part, float* out);
  [[nodiscard]] std::optional<Cells> cells_under(const Window& part) const;
  [[nodiscard]] Cells of_file(const Cells& cells) const;
  void run(const Window& part, const Cells& cells);

  const LayerSource& source_;
  Fetch fetch_;
  void* transformer_ = nullptr;             // of the whole file and the whole grid
  std::unique_ptr<GDALDataset> grid_side_;  // GDAL wants to be shown where results would go
  std::vector<float> source_cells_;
  std::vector<float> part_cells_;
};

/// Reads one layer. One per thread and layer.
class SourceReader {
 public:
  /// Layers made from one file share what reads it (see `pixels_of`), so that its blocks are decoded once.
  SourceReader(const Layers::Inside& layers, std::size_t layer, std::shared_ptr<PixelReader> pixels);
  void read(const Window& window, LayerTile& tile);

 private:
  struct CachedBlock {
    Block block;
    std::vector<float> values;
  };
  void own_cells(const Cells& cells, float* out, std::size_t width);
  void read_aligned(const Window& window, LayerTile& tile);
  void read_warped(const Window& window, LayerTile& tile);
  const std::vector<float>& warped(const Block& block, std::size_t keep);

  const LayerInfo& info_;
  const LayerSource& source_;
  std::shared_ptr<PixelReader> pixels_;
  std::optional<TerrainReader> terrain_;
  std::optional<BlockWarper> warper_;
  std::deque<CachedBlock> blocks_;  // latest first
};

}  // namespace swardline
