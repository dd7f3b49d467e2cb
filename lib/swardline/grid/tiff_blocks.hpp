// Blocks of a tiled TIFF of single bytes or floats, decoded here. Private to the stages that read maps.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <vector>

#include "swardline/grid/tiff_file.hpp"

namespace swardline {

/// libtiff takes back the horizontal predictor byte by byte, each waiting for the one before it, which is a
/// third of the time of reading a layer of bytes and two thirds of one of floats; and it reads PackBits a
/// byte at a time. Here all of it goes sixteen bytes at once. One thread at a time.
class TiffBlocks {
 public:
  struct Shape {
    int cols = 0, rows = 0;              ///< cells of the raster
    int block_cols = 0, block_rows = 0;  ///< and of its tiles
    bool floats = false;                 ///< of 32 bits, else single bytes
  };
  /// Nothing where `file` is no tiled TIFF of this shape with one band of such cells, packed by DEFLATE or
  /// (bytes) PackBits or not at all: GDAL is to read it.
  static std::unique_ptr<TiffBlocks> open(const std::filesystem::path& file, const Shape& shape);

  /// The tile's cells, row by row without gaps. False where the tile is not stored or cannot be read: GDAL
  /// knows what it stands for, or what to say.
  [[nodiscard]] bool read(int tx, int ty, std::uint8_t* out);
  [[nodiscard]] std::size_t cell_bytes() const { return shape_.floats ? 4 : 1; }

 private:
  enum class Packing { none, deflate, pack_bits };
  TiffBlocks(std::unique_ptr<TiffFile> file, const Shape& shape) : file_(std::move(file)), shape_(shape) {}
  [[nodiscard]] bool look();
  [[nodiscard]] bool unpack(std::uint8_t* out, std::size_t size) const;

  std::unique_ptr<TiffFile> file_;
  Shape shape_;
  Packing packing_ = Packing::none;
  bool predicted_ = false;
  std::size_t across_ = 0;
  std::vector<std::uint64_t> offsets_, lengths_;
  std::vector<std::uint8_t> packed_, row_;
};

/// Each byte becomes the sum, modulo 256, of all bytes of the row up to it (TIFF Revision 6.0, section 14).
void add_along_row(std::uint8_t* row, std::size_t count);

/// The floats of a row whose bytes are stored as differences, all highest bytes first and all lowest last
/// (TIFF Technical Note 3, Adobe, 2005). `row` holds 4 × count bytes and is summed up; little-endian machines
/// only.
void join_float_row(std::uint8_t* row, std::size_t count, std::uint8_t* out);

}  // namespace swardline
