#include <cpl_string.h>
#include <fmt/format.h>
#include <gdal_priv.h>
#include <gdalwarper.h>
#include <ogr_spatialref.h>

#include <algorithm>
#include <cmath>
#include <deque>
#include <limits>

#include "swardline/base/error.hpp"
#include "swardline/grid/layers_inside.hpp"
#include "swardline/grid/terrain.hpp"

namespace swardline {
namespace {

constexpr float none = std::numeric_limits<float>::quiet_NaN();
constexpr int warp_margin = 4;  // source cells beyond a block that bilinear and the halo may touch

using DatasetPtr = std::unique_ptr<GDALDataset>;

DatasetPtr memory_raster(int cols, int rows, GDALDataType type, const double gt[6], const std::string& wkt) {
  DatasetPtr made(GetGDALDriverManager()->GetDriverByName("MEM")->Create("", cols, rows, 1, type, nullptr));
  if (!made) throw Defect("no memory raster could be made");
  made->SetGeoTransform(const_cast<double*>(gt));
  OGRSpatialReference system;
  system.SetFromUserInput(wkt.c_str());
  system.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
  made->SetSpatialRef(&system);
  return made;
}

}  // namespace

struct SourceReader::Inside {
  const Layers::Inside& layers;
  const LayerInfo& info;
  const LayerSource& source;
  DatasetPtr dataset;
  GDALRasterBand* band = nullptr;
  bool masked = false;
  struct CachedBlock {
    Block block;
    std::vector<float> values;
  };
  std::deque<CachedBlock> cache;
  std::vector<std::uint8_t> mask;

  Inside(const Layers::Inside& all, std::size_t layer)
      : layers(all), info(all.infos[layer]), source(all.sources[layer]) {
    dataset.reset(GDALDataset::Open(source.path.c_str(), GDAL_OF_RASTER | GDAL_OF_VERBOSE_ERROR));
    if (!dataset) fail();
    band = dataset->GetRasterBand(source.band);
    masked = (band->GetMaskFlags() & GMF_PER_DATASET) != 0;
  }

  [[noreturn]] void fail() const {
    throw IoError({source.path, 0, {}}, fmt::format("cannot be read: {}", CPLGetLastErrorMsg()),
                  "The file may be cut short: get it again.");
  }

  // Raw values of a rectangle of the source's own cells, no data and infinite as NaN.
  void read_source(int col, int row, int cols, int rows, std::vector<float>& out) {
    out.resize(std::size_t(cols) * std::size_t(rows));
    CPLErrorReset();
    if (band->RasterIO(GF_Read, col, row, cols, rows, out.data(), cols, rows, GDT_Float32, 0, 0, nullptr) !=
        CE_None)
      fail();
    const float nodata = float(source.nodata);
    for (float& value : out)
      if (!std::isfinite(value) || (source.has_nodata && value == nodata)) value = none;
    if (!masked) return;
    mask.resize(out.size());
    if (band->GetMaskBand()->RasterIO(GF_Read, col, row, cols, rows, mask.data(), cols, rows, GDT_Byte, 0, 0,
                                      nullptr) != CE_None)
      fail();
    for (std::size_t i = 0; i < out.size(); ++i)
      if (mask[i] == 0) out[i] = none;
  }

  // Slope, aspect or heat on the source's own cells; the source's edge has no neighbours and so no value.
  void derive_source(int col, int row, int cols, int rows, std::vector<float>& out) {
    const int c0 = std::max(0, col - 1);
    const int r0 = std::max(0, row - 1);
    const int c1 = std::min(source.cols, col + cols + 1);
    const int r1 = std::min(source.rows, row + rows + 1);
    std::vector<float> z;
    read_source(c0, r0, c1 - c0, r1 - r0, z);
    out.assign(std::size_t(cols) * std::size_t(rows), none);
    const int width = c1 - c0;
    const Route to_wgs84(Crs::from_text(source.wkt), Crs::wgs84());
    for (int r = row; r < row + rows; ++r) {
      if (r < 1 || r >= source.rows - 1) continue;
      const double y = source.gt[3] + (r + 0.5) * source.gt[5];
      // Latitude along one row of a window differs by less than 0.01 degrees over 100 km of a
      // projected system's tilt; it is taken at both ends and interpolated.
      const double x0 = source.gt[0] + (col + 0.5) * source.gt[1];
      const double x1 = source.gt[0] + (col + cols - 0.5) * source.gt[1];
      const double lat0 = to_wgs84.forward(Point{x0, y}).y;
      const double lat1 = to_wgs84.forward(Point{x1, y}).y;
      double dx = std::abs(source.gt[1]);
      double dy = std::abs(source.gt[5]);
      if (source.degrees) {
        constexpr double a = 6378137.0;               // WGS84
        constexpr double e2 = 0.0066943799901413165;  // WGS84
        constexpr double radian = 3.14159265358979323846 / 180;
        const double w = std::sqrt(1 - e2 * std::sin(y * radian) * std::sin(y * radian));
        dx *= radian * a / w * std::cos(y * radian);
        dy *= radian * a * (1 - e2) / (w * w * w);
      }
      for (int c = col; c < col + cols; ++c) {
        if (c < 1 || c >= source.cols - 1) continue;
        double window[9];
        bool whole = true;
        for (int i = 0; i < 9; ++i) {
          const float raw =
              z[std::size_t(r - r0 + i / 3 - 1) * std::size_t(width) + std::size_t(c - c0 + i % 3 - 1)];
          whole = whole && !std::isnan(raw);
          window[i] = double(raw) * source.to_metres_a + source.to_metres_b;
        }
        if (!whole) continue;
        const SlopeAspect ground = horn(window, dx, dy);
        const double share = cols > 1 ? double(c - col) / (cols - 1) : 0;
        float& value = out[std::size_t(r - row) * std::size_t(cols) + std::size_t(c - col)];
        if (source.derived == Derived::slope)
          value = float(ground.slope_deg);
        else if (source.derived == Derived::heat)
          value = float(heat_load(lat0 + (lat1 - lat0) * share, ground.slope_deg, ground.aspect_deg));
        else if (ground.aspect_deg >= 0)
          value = float(ground.aspect_deg);
      }
    }
  }

  void read_or_derive(int col, int row, int cols, int rows, std::vector<float>& out) {
    if (source.derived == Derived::no)
      read_source(col, row, cols, rows, out);
    else
      derive_source(col, row, cols, rows, out);
  }

  // The rectangle of source cells a block of the grid needs; false where they do not meet.
  bool source_window(const Box& box, int& col, int& row, int& cols, int& rows) const {
    double inverse[6];
    if (GDALInvGeoTransform(const_cast<double*>(source.gt), inverse) == 0)
      throw Defect("a geotransform has no inverse");
    OGRSpatialReference from, to;
    from.SetFromUserInput(layers.plan_wkt.c_str());
    to.SetFromUserInput(source.wkt.c_str());
    const Route route(layers.crs, Crs::from_text(source.wkt), box);
    double low_col = 1e300, low_row = 1e300, high_col = -1e300, high_row = -1e300;
    constexpr int steps = 16;
    for (int i = 0; i <= steps; ++i)
      for (int k = 0; k <= steps; ++k) {
        const Point p = route.forward(
            Point{box.x0 + (box.x1 - box.x0) * i / steps, box.y0 + (box.y1 - box.y0) * k / steps});
        const double c = inverse[0] + inverse[1] * p.x + inverse[2] * p.y;
        const double r = inverse[3] + inverse[4] * p.x + inverse[5] * p.y;
        low_col = std::min(low_col, c);
        high_col = std::max(high_col, c);
        low_row = std::min(low_row, r);
        high_row = std::max(high_row, r);
      }
    const double cell = std::max(1.0, (high_col - low_col) / block_cells);
    const double margin = warp_margin + 2 * cell;
    col = int(std::clamp(std::floor(low_col - margin), 0.0, double(source.cols)));
    row = int(std::clamp(std::floor(low_row - margin), 0.0, double(source.rows)));
    cols = int(std::clamp(std::ceil(high_col + margin), 0.0, double(source.cols))) - col;
    rows = int(std::clamp(std::ceil(high_row + margin), 0.0, double(source.rows))) - row;
    return cols > 0 && rows > 0;
  }

  void warp_block(const Block& block, std::vector<float>& out) {
    out.assign(std::size_t(block_cells) * block_cells, none);
    const Box box = layers.grid.box(block.window());
    int col = 0, row = 0, cols = 0, rows = 0;
    if (!source_window(box, col, row, cols, rows)) return;
    std::vector<float> values;
    read_or_derive(col, row, cols, rows, values);
    constexpr float hole = -3.0e38F;
    for (float& v : values)
      if (std::isnan(v)) v = hole;
    double gt[6];
    std::copy(source.gt, source.gt + 6, gt);
    gt[0] += col * source.gt[1] + row * source.gt[2];
    gt[3] += col * source.gt[4] + row * source.gt[5];
    const DatasetPtr from = memory_raster(cols, rows, GDT_Float32, gt, source.wkt);
    if (from->GetRasterBand(1)->RasterIO(GF_Write, 0, 0, cols, rows, values.data(), cols, rows, GDT_Float32,
                                         0, 0, nullptr) != CE_None)
      fail();
    const double to_gt[6] = {box.x0, layers.grid.cell_m, 0, box.y1, 0, -layers.grid.cell_m};
    const DatasetPtr to = memory_raster(block_cells, block_cells, GDT_Float32, to_gt, layers.plan_wkt);
    CPLStringList transform;
    if (!source.pipeline.empty()) transform.SetNameValue("COORDINATE_OPERATION", source.pipeline.c_str());
    void* transformer = GDALCreateGenImgProjTransformer2(from.get(), to.get(), transform.List());
    if (transformer == nullptr) fail();
    GDALWarpOptions* options = GDALCreateWarpOptions();
    options->hSrcDS = from.get();
    options->hDstDS = to.get();
    options->nBandCount = 1;
    options->panSrcBands = static_cast<int*>(CPLMalloc(sizeof(int)));
    options->panDstBands = static_cast<int*>(CPLMalloc(sizeof(int)));
    options->panSrcBands[0] = options->panDstBands[0] = 1;
    GDALWarpInitSrcNoDataReal(options, double(hole));
    GDALWarpInitDstNoDataReal(options, double(hole));
    options->papszWarpOptions = CSLSetNameValue(options->papszWarpOptions, "INIT_DEST", "NO_DATA");
    options->eResampleAlg = source.resampling == "near"      ? GRA_NearestNeighbour
                            : source.resampling == "average" ? GRA_Average
                                                             : GRA_Bilinear;
    options->pfnTransformer = GDALGenImgProjTransform;  // exact: no approximation between cells
    options->pTransformerArg = transformer;
    GDALWarpOperation operation;
    const bool done = operation.Initialize(options) == CE_None &&
                      operation.ChunkAndWarpImage(0, 0, block_cells, block_cells) == CE_None;
    GDALDestroyGenImgProjTransformer(transformer);
    GDALDestroyWarpOptions(options);
    if (!done ||
        to->GetRasterBand(1)->RasterIO(GF_Read, 0, 0, block_cells, block_cells, out.data(), block_cells,
                                       block_cells, GDT_Float32, 0, 0, nullptr) != CE_None)
      fail();
    for (float& v : out)
      if (v == hole) v = none;
  }

  const std::vector<float>& warped(const Block& block) {
    for (const CachedBlock& cached : cache)
      if (cached.block == block) return cached.values;
    if (cache.size() >= 16) cache.pop_back();
    cache.emplace_front();
    cache.front().block = block;
    warp_block(block, cache.front().values);
    return cache.front().values;
  }

  // Floats of a window, however the layer comes to the grid.
  void floats(const Window& window, std::vector<float>& out) {
    out.assign(window.cells(), none);
    if (source.aligned) {
      const Window inside = intersect(window, info.extent);
      if (inside.empty()) return;
      std::vector<float> values;
      read_or_derive(int(inside.col - source.col0), int(inside.row - source.row0), inside.cols, inside.rows,
                     values);
      for (int r = 0; r < inside.rows; ++r)
        std::copy_n(values.begin() + std::ptrdiff_t(r) * inside.cols, inside.cols,
                    out.begin() + std::ptrdiff_t(inside.row - window.row + r) * window.cols +
                        std::ptrdiff_t(inside.col - window.col));
      return;
    }
    const std::int64_t last_bx = floor_div(window.col + window.cols - 1, block_cells);
    const std::int64_t last_by = floor_div(window.row + window.rows - 1, block_cells);
    for (std::int64_t by = floor_div(window.row, block_cells); by <= last_by; ++by)
      for (std::int64_t bx = floor_div(window.col, block_cells); bx <= last_bx; ++bx) {
        const Block block{bx, by};
        const Window part = intersect(window, block.window());
        if (intersect(part, info.extent).empty()) continue;
        const std::vector<float>& values = warped(block);
        for (int r = 0; r < part.rows; ++r)
          std::copy_n(values.begin() + std::ptrdiff_t(part.row - by * block_cells + r) * block_cells +
                          std::ptrdiff_t(part.col - bx * block_cells),
                      part.cols,
                      out.begin() + std::ptrdiff_t(part.row - window.row + r) * window.cols +
                          std::ptrdiff_t(part.col - window.col));
      }
  }

  void bytes(const Window& window, std::vector<std::uint8_t>& out) {
    out.assign(window.cells(), source.fill);
    const Window inside = intersect(window, info.extent);
    if (inside.empty()) return;
    std::uint8_t* begin = out.data() + std::size_t(inside.row - window.row) * std::size_t(window.cols) +
                          std::size_t(inside.col - window.col);
    CPLErrorReset();
    if (band->RasterIO(GF_Read, int(inside.col - source.col0), int(inside.row - source.row0), inside.cols,
                       inside.rows, begin, inside.cols, inside.rows, GDT_Byte, 1, window.cols,
                       nullptr) != CE_None)
      fail();
  }
};

SourceReader::SourceReader(const Layers::Inside& layers, std::size_t layer)
    : inside_(std::make_unique<Inside>(layers, layer)) {}
SourceReader::~SourceReader() = default;

void SourceReader::read(const Window& window, LayerTile& tile) {
  if (inside_->info.bytes)
    inside_->bytes(window, tile.bytes);
  else
    inside_->floats(window, tile.values);
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
  for (const std::size_t i : which)
    inside_->readers.push_back(std::make_unique<SourceReader>(layers.inside(), i));
}
LayerReader::~LayerReader() = default;
LayerReader::LayerReader(LayerReader&&) noexcept = default;

void LayerReader::read(const Window& window, Tile& tile) {
  tile.window = window;
  tile.layers.resize(inside_->readers.size());
  for (std::size_t i = 0; i < inside_->readers.size(); ++i) inside_->readers[i]->read(window, tile.layers[i]);
}

}  // namespace swardline
