// The kind of ground of every cell as a GeoTIFF whose tiles are the blocks of the grid: the map of the
// strata of record. Private to the strata.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <mutex>
#include <string>
#include <utility>
#include <vector>

#include "swardline/grid/grid.hpp"
#include "swardline/grid/tiff_blocks.hpp"
#include "swardline/grid/tiff_tiles.hpp"

namespace swardline {

/// Writes blocks in any order. May be shared between threads.
class GroundMapWriter {
 public:
  /// `blocks` is the smallest window of whole blocks that holds all that will be written; blocks never
  /// written take no space. `kinds` numbers of ground are told apart, from 0. Throws IoError.
  GroundMapWriter(std::filesystem::path file, const Grid& grid, const Window& blocks, const std::string& wkt,
                  std::uint32_t kinds);
  ~GroundMapWriter();
  GroundMapWriter(const GroundMapWriter&) = delete;
  GroundMapWriter& operator=(const GroundMapWriter&) = delete;

  void write(const Block& block, const std::vector<std::uint32_t>& codes);
  /// The same from bytes; throws Defect where numbers need more than a byte.
  void write(const Block& block, const std::vector<std::uint8_t>& codes);
  /// Names kinds inside the file and closes it. Throws IoError where the disk is full.
  void finish(const std::vector<std::pair<std::uint32_t, std::string>>& names);
  [[nodiscard]] std::vector<std::uint32_t> met() const;  ///< numbers that were written, rising

 private:
  [[noreturn]] void fail(const std::string& reason) const;
  void create(const Grid& grid, const std::string& wkt);
  [[nodiscard]] std::pair<int, int> place(const Block& block) const;
  /// With guard_ held.
  void write_tile(const Block& block, const std::vector<std::uint8_t>& bytes);

  std::filesystem::path file_;
  Window extent_;
  int cell_bytes_;
  void* dataset_ = nullptr;  // GDALDatasetH
  /// Of single bytes: packed by whoever brings a block, where GDAL would pack them under the lock.
  std::unique_ptr<TiffTiles> tiles_;
  std::mutex guard_;
  std::vector<std::uint8_t> met_;  ///< by number
};

/// Reads windows of any grid of the same coordinate system: every cell has the number at its centre. One
/// thread at a time.
class GroundMapReader {
 public:
  /// `grid` is the map's own. Throws IoError.
  GroundMapReader(std::filesystem::path file, const Grid& grid);
  ~GroundMapReader();
  GroundMapReader(const GroundMapReader&) = delete;
  GroundMapReader& operator=(const GroundMapReader&) = delete;

  /// `none` where the map has no number.
  void read(const Grid& grid, const Window& asked, std::uint32_t none, std::vector<std::uint32_t>& codes);
  /// The numbers of a block of the map's own grid as they are, where they are bytes and the whole block lies
  /// in the map; else false.
  [[nodiscard]] bool read_bytes(const Block& block, std::vector<std::uint8_t>& codes);

 private:
  [[noreturn]] void fail(const std::string& reason) const;
  /// A whole block of the map's own grid, in one piece.
  void read_block(const Window& block, std::uint32_t none, std::vector<std::uint32_t>& codes);
  void read_tile(const Window& block, std::vector<std::uint8_t>& bytes);

  std::filesystem::path file_;
  Grid grid_;
  Window extent_;
  std::uint32_t unset_ = 0;
  int cell_bytes_ = 1;
  bool in_blocks_ = false;   ///< its tiles are blocks of its grid
  void* dataset_ = nullptr;  // GDALDatasetH
  std::unique_ptr<TiffBlocks> tiles_;
  std::vector<std::uint32_t> row_;
  std::vector<std::uint8_t> bytes_;
};

}  // namespace swardline
