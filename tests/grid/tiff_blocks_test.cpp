// Blocks decoded here against what GDAL and libtiff make of the same files.
#include "swardline/grid/tiff_blocks.hpp"

#include <cpl_string.h>

#include <filesystem>
#include <random>
#include <vector>

#include "made_layers.hpp"
#include "swardline/grid/pack_bits.hpp"

namespace tiff_blocks_test {

using namespace swardline;

namespace {

constexpr int cols = 300, rows = 290, side = 128;  // the last tiles reach beyond the raster

/// Runs, slopes and noise, so that every way of packing has some of each.
std::vector<std::uint8_t> made_cells() {
  std::mt19937 random(7);
  std::vector<std::uint8_t> cells;
  for (int row = 0; row < rows; ++row) {
    for (int col = 0; col < cols; ++col) {
      const int part = (row / 40 + col / 50) % 3;
      cells.push_back(std::uint8_t(part == 0 ? row / 40 : part == 1 ? row + 3 * col : int(random() % 256)));
    }
  }
  return cells;
}

void make_tiff(const std::filesystem::path& path, const std::vector<const char*>& more,
               GDALDataType type = GDT_Byte, int bands = 1) {
  char** options = nullptr;
  for (const char* option : {"TILED=YES", "BLOCKXSIZE=128", "BLOCKYSIZE=128"})
    options = CSLAddString(options, option);
  for (const char* option : more) options = CSLAddString(options, option);
  std::unique_ptr<GDALDataset> file(GetGDALDriverManager()->GetDriverByName("GTiff")->Create(
      path.c_str(), cols, rows, bands, type, options));
  CSLDestroy(options);
  REQUIRE(file);
  std::vector<float> cells;
  for (const std::uint8_t cell : made_cells())
    cells.push_back(type == GDT_Float32 ? float(cell) / 7 - 9 : float(cell));
  for (int band = 1; band <= bands; ++band)
    REQUIRE(file->GetRasterBand(band)->RasterIO(GF_Write, 0, 0, cols, rows, cells.data(), cols, rows,
                                                GDT_Float32, 0, 0, nullptr) == CE_None);
}

std::unique_ptr<TiffBlocks> opened(const std::filesystem::path& path, bool floats = false) {
  return TiffBlocks::open(path, {cols, rows, side, side, floats});
}

void check_against_gdal(const std::filesystem::path& path, bool floats = false) {
  const auto blocks = opened(path, floats);
  REQUIRE(blocks);
  std::unique_ptr<GDALDataset> file(GDALDataset::Open(path.c_str(), GDAL_OF_RASTER));
  std::vector<std::uint8_t> ours(side * side * blocks->cell_bytes()), theirs(ours.size());
  for (int ty = 0; ty < (rows + side - 1) / side; ++ty) {
    for (int tx = 0; tx < (cols + side - 1) / side; ++tx) {
      REQUIRE(file->GetRasterBand(1)->ReadBlock(tx, ty, theirs.data()) == CE_None);
      REQUIRE(blocks->read(tx, ty, ours.data()));
      CHECK(ours == theirs);
    }
  }
}

}  // namespace

TEST_CASE("Blocks are what GDAL reads, however they are packed") {
  const grid_test::MadePlan made;
  const std::vector<std::vector<const char*>> ways = {
      {"COMPRESS=NONE"},
      {"COMPRESS=PACKBITS"},
      {"COMPRESS=DEFLATE"},
      {"COMPRESS=DEFLATE", "PREDICTOR=2"},
      {"COMPRESS=DEFLATE", "PREDICTOR=2", "BIGTIFF=YES"},
  };
  for (std::size_t i = 0; i < ways.size(); ++i) {
    const auto path = made.plan.folder / (std::to_string(i) + ".tif");
    make_tiff(path, ways[i]);
    CAPTURE(i);
    check_against_gdal(path);
  }
}

TEST_CASE("Blocks of floats are what GDAL reads, however they are packed") {
  const grid_test::MadePlan made;
  const std::vector<std::vector<const char*>> ways = {
      {"COMPRESS=NONE"},
      {"COMPRESS=DEFLATE"},
      {"COMPRESS=DEFLATE", "PREDICTOR=3"},
      {"COMPRESS=DEFLATE", "PREDICTOR=3", "BIGTIFF=YES"},
  };
  for (std::size_t i = 0; i < ways.size(); ++i) {
    const auto path = made.plan.folder / (std::to_string(i) + ".tif");
    make_tiff(path, ways[i], GDT_Float32);
    CAPTURE(i);
    check_against_gdal(path, true);
    CHECK_FALSE(opened(path));
  }
  const auto path = made.plan.folder / "other.tif";
  make_tiff(path, {"COMPRESS=DEFLATE", "PREDICTOR=2"}, GDT_Float32);  // of 32-bit differences
  CHECK_FALSE(opened(path, true));
  make_tiff(path, {"COMPRESS=DEFLATE"}, GDT_Int32);
  CHECK_FALSE(opened(path, true));
}

// As the note describes it, a byte at a time.
TEST_CASE("Rows of floats are joined from their bytes") {
  for (const std::size_t count : {1U, 15U, 16U, 17U, 40U, 259U}) {
    std::vector<std::uint8_t> row(4 * count), summed(4 * count), out(4 * count), expected(4 * count);
    for (std::size_t i = 0; i < row.size(); ++i) row[i] = std::uint8_t(53 * i + 7 * (i % 11));
    for (std::size_t i = 0; i < row.size(); ++i)
      summed[i] = std::uint8_t(row[i] + (i > 0 ? summed[i - 1] : 0));
    for (std::size_t i = 0; i < count; ++i)
      for (std::size_t byte = 0; byte < 4; ++byte) expected[4 * i + 3 - byte] = summed[byte * count + i];
    join_float_row(row.data(), count, out.data());
    CHECK(out == expected);
  }
}

TEST_CASE("What is not a tiled TIFF of single bytes is left to GDAL") {
  const grid_test::MadePlan made;
  const auto path = made.plan.folder / "a.tif";
  CHECK_FALSE(opened(path));
  make_tiff(path, {"COMPRESS=LZW"});
  CHECK_FALSE(opened(path));
  make_tiff(path, {"COMPRESS=DEFLATE"}, GDT_UInt16);
  CHECK_FALSE(opened(path));
  make_tiff(path, {"COMPRESS=DEFLATE"}, GDT_Byte, 2);
  CHECK_FALSE(opened(path));
  make_tiff(path, {"COMPRESS=DEFLATE", "ENDIANNESS=BIG"});
  CHECK_FALSE(opened(path));
  make_tiff(path, {"COMPRESS=DEFLATE"});
  CHECK_FALSE(TiffBlocks::open(path, {cols, rows, 256, 256}));
  CHECK_FALSE(TiffBlocks::open(path, {cols + 1, rows, side, side}));
}

TEST_CASE("Blocks that are not stored, cut off or damaged are left to GDAL") {
  const grid_test::MadePlan made;
  const auto path = made.plan.folder / "a.tif";
  make_tiff(path, {"COMPRESS=DEFLATE"});
  std::vector<std::uint8_t> bytes(side * side);
  const auto blocks = opened(path);
  REQUIRE(blocks);
  std::filesystem::resize_file(path, std::filesystem::file_size(path) / 2);
  int unread = 0;
  for (int ty = 0; ty < 3; ++ty)
    for (int tx = 0; tx < 3; ++tx) unread += blocks->read(tx, ty, bytes.data()) ? 0 : 1;
  CHECK(unread > 0);
  CHECK_FALSE(blocks->read(0, 3, bytes.data()));
}

TEST_CASE("Sums along a row wrap at 256") {
  for (const std::size_t count : {0U, 1U, 15U, 16U, 17U, 100U, 256U, 259U}) {
    std::vector<std::uint8_t> row(count), expected(count);
    std::uint8_t sum = 0;
    for (std::size_t i = 0; i < count; ++i) {
      row[i] = std::uint8_t(37 * i + 11 * (i % 7));
      expected[i] = sum = std::uint8_t(sum + row[i]);
    }
    add_along_row(row.data(), count);
    CHECK(row == expected);
  }
}

// Apple Technical Note TN1023 (from memory).
TEST_CASE("PackBits: the example of its makers") {
  const std::vector<std::uint8_t> packed = {0xFE, 0xAA, 0x02, 0x80, 0x00, 0x2A, 0xFD, 0xAA,
                                            0x03, 0x80, 0x00, 0x2A, 0x22, 0xF7, 0xAA};
  const std::vector<std::uint8_t> plain = {0xAA, 0xAA, 0xAA, 0x80, 0x00, 0x2A, 0xAA, 0xAA,
                                           0xAA, 0xAA, 0x80, 0x00, 0x2A, 0x22, 0xAA, 0xAA,
                                           0xAA, 0xAA, 0xAA, 0xAA, 0xAA, 0xAA, 0xAA, 0xAA};
  std::vector<std::uint8_t> out(plain.size()), again;
  REQUIRE(unpack_bits(packed, out));
  CHECK(out == plain);
  pack_bits(plain, plain.size(), again);
  CHECK(again == packed);
}

TEST_CASE("PackBits: rows of any content come back, and never grow by more than a byte in 128") {
  std::mt19937 random(3);
  for (const std::size_t row : {1U, 2U, 3U, 127U, 128U, 129U, 256U, 300U}) {
    for (const unsigned values : {1U, 2U, 3U, 200U}) {
      std::vector<std::uint8_t> cells(7 * row), packed, back(cells.size());
      for (std::uint8_t& cell : cells) cell = std::uint8_t(random() % values);
      pack_bits(cells, row, packed);
      CHECK(packed.size() <= 7 * (row + (row + 127) / 128));
      REQUIRE(unpack_bits(packed, back));
      CHECK(back == cells);
      CHECK_FALSE(unpack_bits({packed.data(), packed.size() - 1}, back));
    }
  }
}

}  // namespace tiff_blocks_test
