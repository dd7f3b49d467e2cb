#include <cpl_error.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <limits>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/base/wide.hpp"
#include "swardline/grid/source_reader.hpp"

namespace swardline {
namespace {

/// Where in a window's row-by-row cells a part of it begins.
std::size_t offset_in(const Window& window, const Window& part) {
  return std::size_t(part.row - window.row) * std::size_t(window.cols) + std::size_t(part.col - window.col);
}

/// Cells that hold this value or an infinite one have no data.
SWARDLINE_WIDE void leave_out(float* cells, std::size_t count, float nodata) {
  constexpr float most = std::numeric_limits<float>::max();
  for (std::size_t c = 0; c < count; ++c) {
    const bool number = (std::abs(cells[c]) <= most) & (cells[c] != nodata);
    cells[c] = number ? cells[c] : no_raw;
  }
}

}  // namespace

PixelReader::PixelReader(const LayerInfo& info, const LayerSource& source) : info_(info), source_(source) {
  CPLErrorReset();
  dataset_.reset(GDALDataset::Open(source.path.c_str(), GDAL_OF_RASTER | GDAL_OF_VERBOSE_ERROR));
  if (!dataset_) fail();
  band_ = dataset_->GetRasterBand(source.band);
  if (band_ == nullptr || dataset_->GetRasterXSize() != source.cols ||
      dataset_->GetRasterYSize() != source.rows)
    throw IoError({source.path, 0, {}}, "is not the file it was when it was opened.", "Run again.");
  const bool floats = !info.bytes && band_->GetRasterDataType() == GDT_Float32;
  if ((info.bytes || floats) && source.band == 1 &&
      EQUAL(GDALGetDriverShortName(dataset_->GetDriver()), "GTiff"))
    tiff_ = TiffBlocks::open(source.path,
                             {source.cols, source.rows, source.block_cols, source.block_rows, floats});
}

void PixelReader::fail() const {
  throw IoError({source_.path, 0, {}}, fmt::format("cannot be read: {}.", CPLGetLastErrorMsg()),
                "The file may be cut short: get it again.");
}

void PixelReader::get(GDALRasterBand& band, const Cells& cells, void* out, GDALDataType type,
                      std::size_t width) const {
  CPLErrorReset();
  const GSpacing cell = GDALGetDataTypeSizeBytes(type);
  if (band.RasterIO(GF_Read, cells.col, cells.row, cells.cols, cells.rows, out, cells.cols, cells.rows, type,
                    cell, cell * GSpacing(width), nullptr) != CE_None)
    fail();
}

/// The file's mask over the cells, row by row without gaps: 0 where there are no data.
const std::uint8_t* PixelReader::mask_of(const Cells& cells) {
  mask_.resize(std::size_t(cells.cols) * std::size_t(cells.rows));
  get(*band_->GetMaskBand(), cells, mask_.data(), GDT_Byte, std::size_t(cells.cols));
  return mask_.data();
}

void PixelReader::numbers(const Cells& cells, float* out, std::size_t width) {
  // Bytes too are asked for as numbers, by the warper.
  const bool floats = tiff_ && tiff_->cell_bytes() == sizeof(float);
  if (!floats || !read_part(cells, reinterpret_cast<std::uint8_t*>(out), width))
    get(*band_, cells, out, GDT_Float32, width);
  const std::uint8_t* mask = source_.masked ? mask_of(cells) : nullptr;
  // Beyond what a float holds GDAL gives the largest one or infinity: neither is a measurement.
  constexpr double most = std::numeric_limits<float>::max();
  const float nodata = source_.nodata ? float(std::clamp(*source_.nodata, -most, most)) : no_raw;
  for (int r = 0; r < cells.rows; ++r) {
    float* row = out + std::size_t(r) * width;
    if (source_.signed_bytes)
      for (int c = 0; c < cells.cols; ++c)
        if (row[c] > 127) row[c] -= 256;
    leave_out(row, std::size_t(cells.cols), nodata);
    if (mask != nullptr) {
      const std::uint8_t* row_mask = mask + std::size_t(r) * std::size_t(cells.cols);
      for (int c = 0; c < cells.cols; ++c)
        if (row_mask[c] == 0) row[c] = no_raw;
    }
    if (source_.spare)
      for (int c = 0; c < cells.cols; ++c)
        if (row[c] == float(*source_.spare)) refuse_spare(cells.col + c, cells.row + r);
  }
}

const std::vector<float>& PixelReader::kept_numbers(const Cells& cells) {
  if (cells == numbered_) return numbers_;
  numbered_ = {};
  numbers_.resize(std::size_t(cells.cols) * std::size_t(cells.rows));
  numbers(cells, numbers_.data(), std::size_t(cells.cols));
  numbered_ = cells;
  return numbers_;
}

/// Whole blocks of the file go straight to `out`: GDAL's cache would copy them once more.
bool PixelReader::read_block(const Cells& cells, std::uint8_t* out, std::size_t width) {
  if (cells.cols != source_.block_cols || cells.rows != source_.block_rows ||
      width != std::size_t(cells.cols) || cells.col % cells.cols != 0 || cells.row % cells.rows != 0 ||
      band_->GetRasterDataType() != GDT_Byte)
    return false;
  const int x = cells.col / cells.cols, y = cells.row / cells.rows;
  if (tiff_ && tiff_->read(x, y, out)) return true;
  CPLErrorReset();
  if (band_->ReadBlock(x, y, out) != CE_None) fail();
  return true;
}

/// A decoded block of the file; null where GDAL is to read it. Blocks of the grid seldom begin where the
/// file's do, and then lie on four of them, each of which is needed again for the blocks beside and below: so
/// as many as there are along a side are kept, the oldest giving way.
const std::uint8_t* PixelReader::kept_block(int x, int y) {
  const std::pair<int, int> block{x, y};
  if (const auto found = place_of_.find(block); found != place_of_.end()) return kept_[found->second].data();
  const std::size_t most_bytes = std::size_t{10} * tiff_->cell_bytes() << 20;
  const std::size_t size =
      std::size_t(source_.block_cols) * std::size_t(source_.block_rows) * tiff_->cell_bytes();
  const std::size_t along = std::size_t(
      std::max(source_.cols / source_.block_cols, source_.rows / source_.block_rows) + most_at_once);
  const std::size_t most = std::clamp(most_bytes / size, std::size_t(most_at_once), along);
  if (kept_.size() < most) {
    oldest_ = kept_.size();
    kept_.emplace_back();
    kept_as_.emplace_back();
  } else {
    oldest_ = (oldest_ + 1) % kept_.size();
    place_of_.erase(kept_as_[oldest_]);
  }
  kept_[oldest_].resize(size);
  kept_as_[oldest_] = {-1, -1};
  if (!tiff_->read(x, y, kept_[oldest_].data())) return nullptr;
  kept_as_[oldest_] = block;
  place_of_[block] = oldest_;
  return kept_[oldest_].data();
}

/// Cells of a few blocks that are decoded here.
bool PixelReader::read_part(const Cells& cells, std::uint8_t* out, std::size_t width) {
  const int cols = source_.block_cols, rows = source_.block_rows;
  const int x0 = cells.col / cols, x1 = (cells.col + cells.cols - 1) / cols;
  const int y0 = cells.row / rows, y1 = (cells.row + cells.rows - 1) / rows;
  if (!tiff_ || (x1 - x0 + 1) * (y1 - y0 + 1) > most_at_once) return false;
  const std::size_t cell = tiff_->cell_bytes();
  for (int y = y0; y <= y1; ++y) {
    for (int x = x0; x <= x1; ++x) {
      const std::uint8_t* block = kept_block(x, y);
      if (block == nullptr) return false;
      const int first_col = std::max(cells.col, x * cols), first_row = std::max(cells.row, y * rows);
      const int end_col = std::min(cells.col + cells.cols, (x + 1) * cols),
                end_row = std::min(cells.row + cells.rows, (y + 1) * rows);
      for (int row = first_row; row < end_row; ++row)
        std::copy_n(block + cell * (std::size_t(row - y * rows) * std::size_t(cols) +
                                    std::size_t(first_col - x * cols)),
                    cell * std::size_t(end_col - first_col),
                    out + cell * (std::size_t(row - cells.row) * width + std::size_t(first_col - cells.col)));
    }
  }
  return true;
}

void PixelReader::bytes(const Cells& cells, std::uint8_t* out, std::size_t width) {
  if (!read_block(cells, out, width) && !read_part(cells, out, width))
    get(*band_, cells, out, GDT_Byte, width);
  if (!source_.spare && !source_.masked) return;
  const std::uint8_t* mask = source_.masked ? mask_of(cells) : nullptr;
  const auto cols = std::size_t(cells.cols);
  for (int r = 0; r < cells.rows; ++r) {
    std::uint8_t* row = out + std::size_t(r) * width;
    if (mask == nullptr) {
      if (const void* met = std::memchr(row, *source_.spare, cols))
        refuse_spare(cells.col + int(static_cast<const std::uint8_t*>(met) - row), cells.row + r);
      continue;
    }
    const std::uint8_t* row_mask = mask + std::size_t(r) * cols;
    for (std::size_t c = 0; c < cols; ++c) {
      if (row_mask[c] == 0)
        row[c] = source_.fill;
      else if (source_.spare && row[c] == *source_.spare)
        refuse_spare(cells.col + int(c), cells.row + r);
    }
  }
}

void PixelReader::refuse_spare(int col, int row) const {
  const int raw = *source_.spare;
  const double* gt = source_.gt;
  const double x = gt[0] + (col + 0.5) * gt[1] + (row + 0.5) * gt[2];
  const double y = gt[3] + (col + 0.5) * gt[4] + (row + 0.5) * gt[5];
  const std::string where = fmt::format("met at {} {} of its own system", shortest(x), shortest(y));
  if (info_.kind == LayerKind::classes)
    throw InputError(
        info_.place, fmt::format("{} value {} ({}) is in no legend.", info_.name, raw, where),
        fmt::format("Name every value under classes in [layers.{}], or make it no data in the raster.",
                    info_.name));
  throw InputError(
      info_.place,
      fmt::format("{} holds {} ({}), which is {} {}.", info_.name, raw, where, shortest(info_.value(raw)),
                  info_.unit),
      "Correct the unit or the scale; where it stands for missing data, declare it as no data in "
      "the raster.");
}

SourceReader::SourceReader(const Layers::Inside& layers, std::size_t layer,
                           std::shared_ptr<PixelReader> pixels)
    : info_(layers.infos[layer]), source_(layers.sources[layer]), pixels_(std::move(pixels)) {
  if (source_.derived != Derived::no) terrain_.emplace(source_, *pixels_);
  if (!source_.aligned)
    warper_.emplace(layers, source_, [this](const Cells& cells, float* out, std::size_t width) {
      own_cells(cells, out, width);
    });
}

void SourceReader::read(const Window& window, LayerTile& tile) {
  if (source_.aligned)
    read_aligned(window, tile);
  else
    read_warped(window, tile);
}

void SourceReader::own_cells(const Cells& cells, float* out, std::size_t width) {
  if (terrain_)
    terrain_->read(cells, out, width);
  else
    pixels_->numbers(cells, out, width);
}

void SourceReader::read_aligned(const Window& window, LayerTile& tile) {
  const Window inside = intersect(window, info_.extent);
  const bool whole = inside == window;
  if (info_.bytes) {
    tile.bytes.resize(window.cells());
    if (!whole) std::fill(tile.bytes.begin(), tile.bytes.end(), source_.fill);
  } else {
    tile.values.resize(window.cells());
    if (!whole) std::fill(tile.values.begin(), tile.values.end(), no_raw);
  }
  if (inside.empty()) return;
  const Cells cells{int(inside.col - source_.col0), int(inside.row - source_.row0), inside.cols, inside.rows};
  const std::size_t begin = offset_in(window, inside);
  if (info_.bytes)
    pixels_->bytes(cells, tile.bytes.data() + begin, std::size_t(window.cols));
  else
    own_cells(cells, tile.values.data() + begin, std::size_t(window.cols));
}

void SourceReader::read_warped(const Window& window, LayerTile& tile) {
  if (info_.bytes)
    tile.bytes.assign(window.cells(), source_.fill);
  else
    tile.values.assign(window.cells(), no_raw);
  const std::int64_t first_bx = floor_div(window.col, block_cells);
  const std::int64_t last_bx = floor_div(window.col + window.cols - 1, block_cells);
  const std::int64_t first_by = floor_div(window.row, block_cells);
  const std::int64_t last_by = floor_div(window.row + window.rows - 1, block_cells);
  // A wide window's next neighbour below may need the same row of blocks again. 64 MB at most.
  const auto keep = std::size_t(std::clamp<std::int64_t>(last_bx - first_bx + 2, 16, 256));
  for (std::int64_t by = first_by; by <= last_by; ++by)
    for (std::int64_t bx = first_bx; bx <= last_bx; ++bx) {
      const Block block{bx, by};
      // GDAL may give something to a cell beyond the file that touches it.
      const Window part = intersect(intersect(window, block.window()), info_.extent);
      if (part.empty()) continue;
      const std::vector<float>& values = warped(block, keep);
      const std::size_t from = offset_in(block.window(), part);
      const std::size_t to = offset_in(window, part);
      for (std::size_t r = 0; r < std::size_t(part.rows); ++r) {
        const float* row = values.data() + from + r * block_cells;
        const std::size_t begin = to + r * std::size_t(window.cols);
        if (!info_.bytes)
          std::copy_n(row, part.cols, tile.values.data() + begin);
        else
          std::transform(row, row + part.cols, tile.bytes.data() + begin, [fill = source_.fill](float raw) {
            return std::isnan(raw) ? fill : static_cast<std::uint8_t>(raw);
          });
      }
    }
}

const std::vector<float>& SourceReader::warped(const Block& block, std::size_t keep) {
  for (const CachedBlock& cached : blocks_)
    if (cached.block == block) return cached.values;
  CachedBlock next;
  if (blocks_.size() >= keep) {
    next = std::move(blocks_.back());
    blocks_.pop_back();
  }
  next.block = block;
  warper_->warp(block, next.values);
  blocks_.push_front(std::move(next));
  return blocks_.front().values;
}

struct LayerReader::Inside {
  Layers layers;
  std::vector<std::unique_ptr<SourceReader>> readers;
};

LayerReader::LayerReader(const Layers& layers, std::vector<std::size_t> which)
    : inside_(std::make_unique<Inside>()) {
  inside_->layers = layers;
  if (which.empty())
    for (std::size_t i = 0; i < layers.infos().size(); ++i) which.push_back(i);
  std::vector<std::pair<std::size_t, std::shared_ptr<PixelReader>>> opened;
  const Layers::Inside& all = layers.inside();
  // Slope, aspect and heat come from the elevation's cells as they are stored, and so does elevation.
  const auto pixels_of = [&](std::size_t layer) {
    const LayerSource& own = all.sources[layer];
    for (const auto& [known, pixels] : opened) {
      const LayerSource& other = all.sources[known];
      if (own.path == other.path && own.band == other.band && !all.infos[layer].bytes &&
          !all.infos[known].bytes)
        return pixels;
    }
    opened.emplace_back(layer, std::make_shared<PixelReader>(all.infos[layer], own));
    return opened.back().second;
  };
  for (const std::size_t i : which)
    inside_->readers.push_back(std::make_unique<SourceReader>(all, i, pixels_of(i)));
}
LayerReader::~LayerReader() = default;
LayerReader::LayerReader(LayerReader&&) noexcept = default;

void LayerReader::read(const Window& window, Tile& tile) {
  tile.window = window;
  tile.layers.resize(inside_->readers.size());
  for (std::size_t i = 0; i < inside_->readers.size(); ++i) inside_->readers[i]->read(window, tile.layers[i]);
}

}  // namespace swardline
