// Tiles put into a TIFF ready compressed. Private to the stage.
#pragma once

#include <cstdint>
#include <filesystem>
#include <span>
#include <vector>

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
  ~TiffTiles();
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
  /// Where a directory keeps its numbers of one kind.
  struct Numbers {
    std::uint64_t at = 0, count = 0;
    std::uint64_t bytes = 0;  ///< of one number
  };
  void read_directory(std::uint64_t at, bool big);
  [[nodiscard]] std::uint64_t number(std::uint64_t at, std::uint64_t bytes) const;
  [[nodiscard]] Numbers numbers(std::uint64_t entry, bool big) const;
  [[nodiscard]] std::vector<std::uint64_t> read(const Numbers& from) const;
  void write(const std::vector<std::uint64_t>& values, const Numbers& to);
  void write_all(std::uint64_t at, std::span<const std::uint8_t> bytes);
  [[noreturn]] void fail(int code) const;
  [[noreturn]] void refuse() const;

  std::filesystem::path named_;
  int descriptor_ = -1;
  std::uint64_t end_ = 0;  ///< of the file
  std::vector<Level> levels_;
  std::vector<Numbers> offsets_, lengths_;  ///< by level
};

}  // namespace swardline
