#include "swardline/design/strata_map.hpp"

#include <cpl_string.h>
#include <gdal.h>
#include <ogr_srs_api.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <limits>

#include "swardline/base/error.hpp"
#include "swardline/geo/gdal_errors.hpp"
#include "swardline/grid/pack_bits.hpp"

namespace swardline {
namespace {

int bytes_for(std::uint32_t kinds) { return kinds < 0xFF ? 1 : kinds < 0xFFFF ? 2 : 4; }

GDALDataType type_of(int cell_bytes) {
  return cell_bytes == 1 ? GDT_Byte : cell_bytes == 2 ? GDT_UInt16 : GDT_UInt32;
}

/// The number that stands for "nothing written here".
std::uint32_t unset_of(int cell_bytes) {
  return cell_bytes == 4 ? std::numeric_limits<std::uint32_t>::max() : (1U << (8 * cell_bytes)) - 1;
}

template <typename Cell>
void put(const std::vector<std::uint32_t>& codes, std::vector<std::uint8_t>& bytes) {
  bytes.resize(codes.size() * sizeof(Cell));
  for (std::size_t i = 0; i < codes.size(); ++i) {
    const Cell cell = static_cast<Cell>(codes[i]);
    std::memcpy(bytes.data() + i * sizeof(Cell), &cell, sizeof(Cell));
  }
}

/// Zstandard at its quickest writes such maps nine times as fast as DEFLATE, and hardly larger.
bool knows_zstandard(GDALDriverH driver) {
  const char* known = GDALGetMetadataItem(driver, GDAL_DMD_CREATIONOPTIONLIST, nullptr);
  return known != nullptr && std::strstr(known, "ZSTD_LEVEL") != nullptr;
}

/// Few kinds of ground come in long runs of cells, for which PackBits does: written and read about twice as
/// fast as Zstandard, in files of twice the size.
std::vector<const char*> compression(GDALDriverH driver, int cell_bytes) {
  if (cell_bytes == 1) return {"COMPRESS=PACKBITS"};
  if (knows_zstandard(driver)) return {"COMPRESS=ZSTD", "ZSTD_LEVEL=1"};
  return {"COMPRESS=DEFLATE", "ZLEVEL=6"};
}

/// Codes of the cells that have one; the others stay as they are.
template <typename Cell>
void get(const std::vector<std::uint8_t>& bytes, std::uint32_t unset, std::vector<std::uint32_t>& codes) {
  for (std::size_t i = 0; i < codes.size(); ++i) {
    Cell cell;
    std::memcpy(&cell, bytes.data() + i * sizeof(Cell), sizeof(Cell));
    if (cell != unset) codes[i] = cell;
  }
}

}  // namespace

GroundMapWriter::GroundMapWriter(std::filesystem::path file, const Grid& grid, const Window& blocks,
                                 const std::string& wkt, std::uint32_t kinds)
    : file_(std::move(file)), extent_(blocks), cell_bytes_(bytes_for(kinds)) {
  met_.assign(kinds, 0);
  create(grid, wkt);
  if (cell_bytes_ != 1) return;
  // GDAL writes the directories now, and its names of kinds when all is done.
  const GdalErrors errors;
  GDALClose(dataset_);
  dataset_ = nullptr;
  if (!errors.errors().empty()) fail(errors.first(""));
  tiles_ = std::make_unique<TiffTiles>(file_, file_);
}

void GroundMapWriter::create(const Grid& grid, const std::string& wkt) {
  const GdalErrors errors;
  GDALDriverH driver = GDALGetDriverByName("GTiff");
  if (driver == nullptr) throw Defect("GDAL has no GTiff driver: set_up_gdal() was not called");
  char** options = nullptr;
  // An option the driver does not know would be an error of its own.
  for (const char* option : compression(driver, cell_bytes_)) options = CSLAddString(options, option);
  for (const char* option :
       {"TILED=YES", "BLOCKXSIZE=256", "BLOCKYSIZE=256", "SPARSE_OK=TRUE", "BIGTIFF=IF_SAFER"})
    options = CSLAddString(options, option);
  static_assert(block_cells == 256);
  dataset_ = GDALCreate(driver, file_.c_str(), extent_.cols, extent_.rows, 1, type_of(cell_bytes_), options);
  CSLDestroy(options);
  if (dataset_ == nullptr) fail(errors.first("GDAL gave no reason"));
  const Box box = grid.box(extent_);
  double transform[6] = {box.x0, grid.cell_m, 0, box.y1, 0, -grid.cell_m};
  GDALSetGeoTransform(dataset_, transform);
  OGRSpatialReferenceH system = OSRNewSpatialReference(wkt.c_str());
  OSRSetAxisMappingStrategy(system, OAMS_TRADITIONAL_GIS_ORDER);
  GDALSetSpatialRef(dataset_, system);
  OSRDestroySpatialReference(system);
  GDALRasterBandH band = GDALGetRasterBand(dataset_, 1);
  GDALSetRasterNoDataValue(band, double(unset_of(cell_bytes_)));
  GDALSetDescription(band, "kind of ground");
  if (!errors.errors().empty()) fail(errors.first(""));
}

GroundMapWriter::~GroundMapWriter() {
  const GdalErrors errors;  // what an abandoned file has to say interests nobody
  if (dataset_ != nullptr) GDALClose(dataset_);
}

void GroundMapWriter::fail(const std::string& reason) const {
  throw IoError({file_.string(), 0, {}}, "the strata of record could not be written: " + reason + ".",
                "Check that the disk has room and the folder can be written, and run again.");
}

void GroundMapWriter::write(const Block& block, const std::vector<std::uint32_t>& codes) {
  // Other threads wait for the compression only.
  thread_local std::vector<std::uint8_t> bytes;
  if (cell_bytes_ == 1) {
    put<std::uint8_t>(codes, bytes);
    return write(block, bytes);
  }
  if (cell_bytes_ == 2) put<std::uint16_t>(codes, bytes);
  if (cell_bytes_ == 4) put<std::uint32_t>(codes, bytes);
  std::vector<std::uint8_t> met(met_.size(), 0);
  for (const std::uint32_t code : codes) met[code] = 1;
  const std::lock_guard lock(guard_);
  for (std::size_t code = 0; code < met.size(); ++code) met_[code] |= met[code];
  write_tile(block, bytes);
}

void GroundMapWriter::write(const Block& block, const std::vector<std::uint8_t>& codes) {
  if (cell_bytes_ != 1) throw Defect("numbers of ground in bytes for a map of wider ones");
  thread_local std::vector<std::uint8_t> packed;
  pack_bits(codes, std::size_t{block_cells}, packed);
  const std::lock_guard lock(guard_);
  // After a few blocks nearly all are known.
  for (std::size_t code = 0; code < met_.size(); ++code) {
    if (met_[code] == 0 && std::memchr(codes.data(), int(code), codes.size()) != nullptr) met_[code] = 1;
  }
  const auto [tx, ty] = place(block);
  tiles_->put(0, tx, ty, packed);
}

/// Column and row of the block among the map's.
std::pair<int, int> GroundMapWriter::place(const Block& block) const {
  const Window window = block.window();
  return {int((window.col - extent_.col) / block_cells), int((window.row - extent_.row) / block_cells)};
}

void GroundMapWriter::write_tile(const Block& block, const std::vector<std::uint8_t>& bytes) {
  const GdalErrors errors;
  const auto [tx, ty] = place(block);
  // Past GDAL's block cache, which would let another thread write them.
  if (GDALWriteBlock(GDALGetRasterBand(dataset_, 1), tx, ty,
                     const_cast<std::uint8_t*>(bytes.data())) != CE_None ||  // which GDAL leaves as they are
      !errors.errors().empty())
    fail(errors.first("GDAL gave no reason"));
}

std::vector<std::uint32_t> GroundMapWriter::met() const {
  std::vector<std::uint32_t> codes;
  for (std::uint32_t code = 0; code < met_.size(); ++code) {
    if (met_[code] != 0) codes.push_back(code);
  }
  return codes;
}

void GroundMapWriter::finish(const std::vector<std::pair<std::uint32_t, std::string>>& names) {
  const GdalErrors errors;
  if (tiles_) {
    tiles_->finish();
    tiles_.reset();
    dataset_ = GDALOpen(file_.c_str(), GA_Update);
    if (dataset_ == nullptr) fail(errors.first("GDAL gave no reason"));
  }
  GDALRasterBandH band = GDALGetRasterBand(dataset_, 1);
  for (const auto& [code, name] : names)
    GDALSetMetadataItem(band, ("CATEGORY_" + std::to_string(code)).c_str(), name.c_str(), nullptr);
  GDALFlushCache(dataset_);
  GDALClose(dataset_);
  dataset_ = nullptr;
  if (!errors.errors().empty()) fail(errors.first(""));
}

GroundMapReader::GroundMapReader(std::filesystem::path file, const Grid& grid)
    : file_(std::move(file)), grid_(grid) {
  const GdalErrors errors;
  dataset_ = GDALOpen(file_.c_str(), GA_ReadOnly);
  double transform[6] = {};
  if (dataset_ == nullptr || GDALGetGeoTransform(dataset_, transform) != CE_None)
    fail(errors.first("it is no map"));
  GDALRasterBandH band = GDALGetRasterBand(dataset_, 1);
  const auto number = [](double cells) { return static_cast<std::int64_t>(std::llround(cells)); };
  extent_ = {number((transform[0] - grid.origin_x) / grid.cell_m),
             number((grid.origin_y - transform[3]) / grid.cell_m), GDALGetRasterXSize(dataset_),
             GDALGetRasterYSize(dataset_)};
  unset_ = static_cast<std::uint32_t>(GDALGetRasterNoDataValue(band, nullptr));
  cell_bytes_ = GDALGetDataTypeSizeBytes(GDALGetRasterDataType(band));
  int width = 0, height = 0;
  GDALGetBlockSize(band, &width, &height);
  in_blocks_ = width == block_cells && height == block_cells &&
               floor_div(extent_.col, block_cells) * block_cells == extent_.col &&
               floor_div(extent_.row, block_cells) * block_cells == extent_.row;
  if (in_blocks_ && cell_bytes_ == 1)
    tiles_ = TiffBlocks::open(file_, {extent_.cols, extent_.rows, block_cells, block_cells});
}

GroundMapReader::~GroundMapReader() {
  if (dataset_ != nullptr) GDALClose(dataset_);
}

void GroundMapReader::fail(const std::string& reason) const {
  throw IoError({file_.string(), 0, {}}, "the strata of record could not be read: " + reason + ".",
                "Bring the folder back from a copy.");
}

void GroundMapReader::read_tile(const Window& block, std::vector<std::uint8_t>& bytes) {
  bytes.resize(block.cells() * std::size_t(cell_bytes_));
  const auto tx = int((block.col - extent_.col) / block_cells),
             ty = int((block.row - extent_.row) / block_cells);
  if (tiles_ && tiles_->read(tx, ty, bytes.data())) return;
  const GdalErrors errors;
  if (GDALReadBlock(GDALGetRasterBand(dataset_, 1), tx, ty, bytes.data()) != CE_None ||
      !errors.errors().empty())
    fail(errors.first("GDAL gave no reason"));
}

bool GroundMapReader::read_bytes(const Block& block, std::vector<std::uint8_t>& codes) {
  const Window window = block.window();
  if (!in_blocks_ || cell_bytes_ != 1 || intersect(window, extent_) != window) return false;
  read_tile(window, codes);
  return true;
}

void GroundMapReader::read_block(const Window& block, std::uint32_t none, std::vector<std::uint32_t>& codes) {
  codes.assign(block.cells(), none);
  if (intersect(block, extent_) != block) return;
  read_tile(block, bytes_);
  if (cell_bytes_ == 1) get<std::uint8_t>(bytes_, unset_, codes);
  if (cell_bytes_ == 2) get<std::uint16_t>(bytes_, unset_, codes);
  if (cell_bytes_ == 4) get<std::uint32_t>(bytes_, unset_, codes);
}

void GroundMapReader::read(const Grid& grid, const Window& asked, std::uint32_t none,
                           std::vector<std::uint32_t>& codes) {
  if (in_blocks_ && grid == grid_ && asked == block_at(asked.col, asked.row).window())
    return read_block(asked, none, codes);
  codes.assign(asked.cells(), none);
  const Point first = grid.centre(asked.col, asked.row);
  const Point last = grid.centre(asked.col + asked.cols - 1, asked.row + asked.rows - 1);
  const std::int64_t col = grid_.col_of(first.x);
  const auto cols = int(grid_.col_of(last.x) - col) + 1;
  const GdalErrors errors;
  for (int r = 0; r < asked.rows; ++r) {
    // Row by row, for one block of large cells may span very many small ones of the map.
    const std::int64_t row = grid_.row_of(grid.centre(asked.col, asked.row + r).y);
    const Window there = intersect({col, row, cols, 1}, extent_);
    if (there.empty()) continue;
    row_.resize(there.cells());
    if (GDALRasterIO(GDALGetRasterBand(dataset_, 1), GF_Read, int(there.col - extent_.col),
                     int(there.row - extent_.row), there.cols, 1, row_.data(), there.cols, 1, GDT_UInt32, 0,
                     0) != CE_None ||
        !errors.errors().empty())
      fail(errors.first("GDAL gave no reason"));
    for (int c = 0; c < asked.cols; ++c) {
      const std::int64_t from = grid_.col_of(grid.centre(asked.col + c, asked.row).x) - there.col;
      if (from < 0 || from >= there.cols || row_[std::size_t(from)] == unset_) continue;
      codes[std::size_t(r) * std::size_t(asked.cols) + std::size_t(c)] = row_[std::size_t(from)];
    }
  }
}

}  // namespace swardline
