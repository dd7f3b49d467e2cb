// Warping with GDAL, one whole block of the grid at a time.
#include <cpl_conv.h>
#include <cpl_string.h>
#include <fmt/format.h>
#include <gdal_alg.h>
#include <gdalwarper.h>
#include <ogr_spatialref.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "swardline/base/error.hpp"
#include "swardline/grid/source_reader.hpp"

namespace swardline {
namespace {

constexpr float hole = -3.0e38F;      // GDAL's warper wants a number for "no data"
constexpr int margin_cells = 4;       // beyond a part's own cells, for neighbours
constexpr double most_beyond = 4096;  // of a file's edge, in its cells
constexpr double most_source_cells = 4 << 20;
constexpr double rounding = 1e-6;  // of a file's cell: a place this close to an edge lies on it

using Dataset = std::unique_ptr<GDALDataset>;

Dataset memory_raster(int cols, int rows, int bands) {
  Dataset made(
      GetGDALDriverManager()->GetDriverByName("MEM")->Create("", cols, rows, bands, GDT_Float32, nullptr));
  if (!made) throw Defect("no memory raster could be made.");
  return made;
}

/// One cell that has a file's or grid's position and system: all that making a transformer looks at.
Dataset signpost(const double gt[6], const std::string& wkt) {
  Dataset made = memory_raster(1, 1, 1);
  made->SetGeoTransform(const_cast<double*>(gt));
  if (wkt.empty()) return made;
  OGRSpatialReference system;
  system.importFromWkt(wkt.c_str());
  system.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
  made->SetSpatialRef(&system);
  return made;
}

/// A transformer of the whole file and grid, for rasters that are parts of both.
struct PartTransformer {
  std::array<char, 64> unsigned_ = {};  // GDAL looks here whether the transformer is one of its own
  void* whole = nullptr;
  double source_col = 0, source_row = 0, grid_col = 0, grid_row = 0;
};

void shift(double* x, double* y, int count, double by_x, double by_y) {
  for (int i = 0; i < count; ++i) {
    x[i] += by_x;
    y[i] += by_y;
  }
}

/// Rounding must not decide which cell an edge belongs to: a mean would take in a neighbour that shares no
/// ground with it, and a nearest cell would change from row to row.
void settle(double* v, int count) {
  for (int i = 0; i < count; ++i)
    if (const double edge = std::round(v[i]); std::abs(v[i] - edge) < rounding) v[i] = edge;
}

int transform_part(void* argument, int to_source, int count, double* x, double* y, double* z, int* done) {
  const auto* part = static_cast<const PartTransformer*>(argument);
  if (to_source != 0) {
    shift(x, y, count, part->grid_col, part->grid_row);
    const int result = GDALGenImgProjTransform(part->whole, to_source, count, x, y, z, done);
    settle(x, count);
    settle(y, count);
    shift(x, y, count, -part->source_col, -part->source_row);
    return result;
  }
  shift(x, y, count, part->source_col, part->source_row);
  const int result = GDALGenImgProjTransform(part->whole, to_source, count, x, y, z, done);
  shift(x, y, count, -part->grid_col, -part->grid_row);
  return result;
}

struct FreeOptions {
  void operator()(GDALWarpOptions* options) const { GDALDestroyWarpOptions(options); }
};

}  // namespace

BlockWarper::BlockWarper(const Layers::Inside& layers, const LayerSource& source, Fetch fetch)
    : source_(source), fetch_(std::move(fetch)), grid_side_(memory_raster(block_cells, block_cells, 1)) {
  const bool same_system = source.pipeline.empty();
  const double grid_gt[6] = {layers.grid.origin_x, layers.grid.cell_m, 0, layers.grid.origin_y, 0,
                             -layers.grid.cell_m};
  const Dataset from = signpost(source.gt, same_system ? "" : source.wkt);
  const Dataset to = signpost(grid_gt, same_system ? "" : layers.plan_wkt);
  CPLStringList options;
  if (!same_system) options.SetNameValue("COORDINATE_OPERATION", source.pipeline.c_str());
  options.SetNameValue("INSERT_CENTER_LONG", "FALSE");
  CPLErrorReset();
  transformer_ = GDALCreateGenImgProjTransformer2(from.get(), to.get(), options.List());
  if (transformer_ == nullptr)
    throw Defect(fmt::format("{} cannot be warped: {}.", source.path, CPLGetLastErrorMsg()));
}

BlockWarper::~BlockWarper() { GDALDestroyGenImgProjTransformer(transformer_); }

void BlockWarper::warp(const Block& block, std::vector<float>& out) {
  out.assign(std::size_t(block_cells) * block_cells, no_raw);
  const Window window = block.window();
  // Parts of the block are warped one by one where it covers very many cells of the file. Which parts
  // depends on the block alone.
  std::vector<Window> parts = {window};
  while (!parts.empty()) {
    const Window part = parts.back();
    parts.pop_back();
    const std::optional<Cells> cells = cells_under(part);
    if (!cells) continue;
    if (double(cells->cols) * cells->rows > most_source_cells && part.cols > 1) {
      const int half = part.cols / 2;
      for (const int down : {0, half})
        for (const int across : {0, half}) parts.push_back({part.col + across, part.row + down, half, half});
      continue;
    }
    run(part, *cells);
    const std::size_t begin =
        std::size_t(part.row - window.row) * block_cells + std::size_t(part.col - window.col);
    for (std::size_t r = 0; r < std::size_t(part.rows); ++r) {
      const float* row = part_cells_.data() + r * std::size_t(part.cols);
      std::transform(row, row + part.cols, out.data() + begin + r * block_cells,
                     [](float v) { return v == hole ? no_raw : v; });
    }
  }
}

/// The cells of the file that a part of the grid needs; nothing where they do not meet. For means there is
/// room beyond the file's edge: of a cell that reaches over a raster's edge GDAL weighs the outermost cells
/// too much, or gives no mean.
std::optional<Cells> BlockWarper::cells_under(const Window& part) const {
  constexpr int steps = 16;
  constexpr std::size_t count = (steps + 1) * (steps + 1);
  std::array<double, count> x{}, y{}, z{};
  std::array<int, count> done{};
  for (std::size_t i = 0; i < count; ++i) {
    const std::size_t across = i % (steps + 1), down = i / (steps + 1);
    x[i] = double(part.col) + double(part.cols) * double(across) / steps;
    y[i] = double(part.row) + double(part.rows) * double(down) / steps;
  }
  GDALGenImgProjTransform(transformer_, 1, int(count), x.data(), y.data(), z.data(), done.data());
  double low_col = HUGE_VAL, low_row = HUGE_VAL, high_col = -HUGE_VAL, high_row = -HUGE_VAL;
  bool all = true;
  for (std::size_t i = 0; i < count; ++i) {
    if (done[i] == 0 || !std::isfinite(x[i]) || !std::isfinite(y[i])) {
      all = false;
      continue;
    }
    low_col = std::min(low_col, x[i]);
    high_col = std::max(high_col, x[i]);
    low_row = std::min(low_row, y[i]);
    high_row = std::max(high_row, y[i]);
  }
  if (low_col > high_col) return {};
  // Two cells of the grid more; where some points have no place in the file, the gap between points too.
  const double more =
      (all ? 2.0 / part.cols : 2.0 / steps) * std::max(high_col - low_col, high_row - low_row);
  const double margin = margin_cells + more;
  const double beyond =
      source_.resampling == Resampling::average ? std::ceil(std::min(margin, most_beyond)) : 0;
  const auto within = [beyond](double v, int most) { return int(std::clamp(v, -beyond, most + beyond)); };
  Cells cells;
  cells.col = within(std::floor(low_col - margin), source_.cols);
  cells.row = within(std::floor(low_row - margin), source_.rows);
  cells.cols = within(std::ceil(high_col + margin), source_.cols) - cells.col;
  cells.rows = within(std::ceil(high_row + margin), source_.rows) - cells.row;
  const Cells own = of_file(cells);
  if (own.cols <= 0 || own.rows <= 0) return {};
  return cells;
}

/// Those that the file has.
Cells BlockWarper::of_file(const Cells& cells) const {
  const int col = std::max(cells.col, 0), row = std::max(cells.row, 0);
  return {col, row, std::min(cells.col + cells.cols, source_.cols) - col,
          std::min(cells.row + cells.rows, source_.rows) - row};
}

/// Warps one part into part_cells_.
void BlockWarper::run(const Window& part, const Cells& cells) {
  source_cells_.assign(std::size_t(cells.cols) * std::size_t(cells.rows), no_raw);
  const Cells own = of_file(cells);
  fetch_(own,
         source_cells_.data() + std::size_t(own.row - cells.row) * std::size_t(cells.cols) +
             std::size_t(own.col - cells.col),
         std::size_t(cells.cols));
  for (float& v : source_cells_)
    if (std::isnan(v)) v = hole;
  part_cells_.assign(part.cells(), hole);
  const Dataset from = memory_raster(cells.cols, cells.rows, 0);
  CPLStringList where;
  char pointer[64];
  pointer[CPLPrintPointer(pointer, source_cells_.data(), sizeof(pointer) - 1)] = 0;
  where.SetNameValue("DATAPOINTER", pointer);
  if (from->AddBand(GDT_Float32, where.List()) != CE_None) throw Defect("no memory band could be made.");

  PartTransformer transformer;
  transformer.whole = transformer_;
  transformer.source_col = cells.col;
  transformer.source_row = cells.row;
  transformer.grid_col = double(part.col);
  transformer.grid_row = double(part.row);
  const std::unique_ptr<GDALWarpOptions, FreeOptions> options(GDALCreateWarpOptions());
  options->hSrcDS = from.get();
  options->hDstDS = grid_side_.get();
  options->nBandCount = 1;
  options->panSrcBands = static_cast<int*>(CPLMalloc(sizeof(int)));
  options->panDstBands = static_cast<int*>(CPLMalloc(sizeof(int)));
  options->panSrcBands[0] = options->panDstBands[0] = 1;
  options->eWorkingDataType = GDT_Float32;
  GDALWarpInitSrcNoDataReal(options.get(), double(hole));
  GDALWarpInitDstNoDataReal(options.get(), double(hole));
  // Left to itself GDAL takes the scale from each piece's shape, and widens bilinear's reach by it.
  for (const char* fixed : {"XSCALE=1", "YSCALE=1", "NUM_THREADS=1"})
    options->papszWarpOptions = CSLAddString(options->papszWarpOptions, fixed);
  options->eResampleAlg = source_.resampling == Resampling::nearest   ? GRA_NearestNeighbour
                          : source_.resampling == Resampling::average ? GRA_Average
                                                                      : GRA_Bilinear;
  options->pfnTransformer = transform_part;  // exact: no approximation between cells
  options->pTransformerArg = &transformer;
  GDALWarpOperation operation;
  CPLErrorReset();
  if (operation.Initialize(options.get()) != CE_None ||
      operation.WarpRegionToBuffer(0, 0, part.cols, part.rows, part_cells_.data(), GDT_Float32, 0, 0,
                                   cells.cols, cells.rows) != CE_None)
    throw IoError({source_.path, 0, {}}, fmt::format("cannot be warped: {}.", CPLGetLastErrorMsg()));
}

}  // namespace swardline
