// Tiles put into a TIFF ready compressed. Private to the stages that write maps.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <span>
#include <vector>

#include "swardline/grid/tiff_file.hpp"

namespace swardline {

/// The tiles of a tiled TIFF (classic or BigTIFF, of this machine's byte order) in which GDAL has written
/// the directories only (SPARSE_OK): one for the raster, one for each overview, each with room for the
/// places and lengths of its tiles (TIFF 6.0, tags TileOffsets and TileByteCounts). GDAL and libtiff compress
/// on the writing thread, under the file's lock; this takes tiles that any thread has compressed.
/// Not for two threads at once. Every error of the system is an IoError naming `named`.
class TiffTiles {
 public:
  /// Opens `file` and reads its directories.
  TiffTiles(const std::filesystem::path& file, std::filesystem::path named);
  TiffTiles(const TiffTiles&) = delete;
  TiffTiles& operator=(const TiffTiles&) = delete;

  struct Level {
    int cols = 0, rows = 0;  ///< cells
    int tiles_across = 0, tiles_down = 0;
    std::vector<std::uint64_t> offsets, lengths;  ///< of the tiles, row by row; 0 where there is none
  };
  /// The raster, then its overviews.
  [[nodiscard]] const std::vector<Level>& levels() const { return levels_; }

  /// Adds a tile at the end of the file.
  void put(std::size_t level, int tx, int ty, std::span<const std::uint8_t> compressed);
  /// Writes where the tiles are, and closes.
  void finish();
  /// Whether every tile is there and lies within the file.
  [[nodiscard]] bool whole() const;

 private:
  void write(const std::vector<std::uint64_t>& values, const TiffFile::Numbers& to);
  void write_all(std::uint64_t at, std::span<const std::uint8_t> bytes);
  void read_levels();
  [[noreturn]] void fail(int code) const;

  std::filesystem::path named_;
  std::unique_ptr<TiffFile> file_;
  std::uint64_t end_ = 0;  ///< of the file
  std::vector<Level> levels_;
  std::vector<TiffFile::Numbers> offsets_, lengths_;  ///< by level
};

}  // namespace swardline
