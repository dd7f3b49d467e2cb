#include "swardline/grid/layers.hpp"

#include <cpl_conv.h>
#include <cpl_error.h>
#include <fmt/format.h>
#include <gdal_priv.h>
#include <ogr_spatialref.h>
#include <sys/stat.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <optional>

#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/grid/layers_inside.hpp"

namespace swardline {
namespace {

constexpr double aligned_cells = 1e-6;  // a source this close to the grid's cells is read straight

struct OpenedFile {
  const LayerSpec* spec = nullptr;
  LayerSource source;
  GDALDataType type = GDT_Byte;
  double own_scale = 1, own_offset = 0;
  bool masked = false;
  std::optional<Crs> crs;
  Box box;            ///< in the plan's system
  double cell_m = 0;  ///< of the source, in the plan's system
  bool in_plan = false;
  std::string route;
  double accuracy_m = 0;
};

Box box_of(const LayerSource& s) {
  Box box{1e300, 1e300, -1e300, -1e300};
  for (const double c : {0.0, double(s.cols)})
    for (const double r : {0.0, double(s.rows)}) {
      const double x = s.gt[0] + c * s.gt[1] + r * s.gt[2];
      const double y = s.gt[3] + c * s.gt[4] + r * s.gt[5];
      box = {std::min(box.x0, x), std::min(box.y0, y), std::max(box.x1, x), std::max(box.y1, y)};
    }
  return box;
}

bool north_up(const LayerSource& s) { return s.gt[2] == 0 && s.gt[4] == 0 && s.gt[1] > 0 && s.gt[5] < 0; }

std::optional<Crs> system_of(GDALDataset& dataset, const LayerSpec& spec, Flags& flags) {
  const OGRSpatialReference* own = dataset.GetSpatialRef();
  std::optional<Crs> written;
  if (own != nullptr && !own->IsLocal() && !own->IsEmpty()) {
    char* wkt = nullptr;
    const char* options[] = {"FORMAT=WKT2_2018", nullptr};
    own->exportToWkt(&wkt, options);
    const std::string text = wkt == nullptr ? "" : wkt;
    CPLFree(wkt);
    written = Crs::from_text(text, spec.place);
  }
  if (spec.crs.empty() && !written) {
    flags.add(Severity::stop, "no coordinate system", spec.place,
              fmt::format("layer {} has no coordinate system. Nothing was guessed.", spec.name),
              "Say which one in the plan, e.g. crs = \"EPSG:26914\".");
    return {};
  }
  if (spec.crs.empty()) return written;
  Crs declared = Crs::from_text(spec.crs, spec.place);
  if (written && !written->same_as(declared)) {
    flags.add(Severity::stop, "coordinate system declared twice", spec.place,
              fmt::format("layer {} says it is in {}, the plan declares {}.", spec.name, written->name(),
                          declared.name()),
              "Take crs out of the plan, or mend the file.");
    return {};
  }
  return declared;
}

void place_in_plan(OpenedFile& file, const Crs& plan) {
  const Box own = box_of(file.source);
  file.in_plan = file.crs->same_as(plan);
  if (file.in_plan) {
    file.box = own;
    file.cell_m = std::abs(file.source.gt[1]);
    return;
  }
  const Route route(*file.crs, plan, own);
  file.source.pipeline = route.pipeline();
  file.route = route.in_words();
  file.accuracy_m = route.accuracy_m();
  file.box = {1e300, 1e300, -1e300, -1e300};
  constexpr int steps = 32;
  for (int i = 0; i <= steps; ++i)
    for (int k = 0; k <= steps; ++k) {
      const Point p = route.forward(
          Point{own.x0 + (own.x1 - own.x0) * i / steps, own.y0 + (own.y1 - own.y0) * k / steps});
      file.box = {std::min(file.box.x0, p.x), std::min(file.box.y0, p.y), std::max(file.box.x1, p.x),
                  std::max(file.box.y1, p.y)};
    }
  // The side of a square of one source cell's area at the middle of the layer.
  const Point m{(own.x0 + own.x1) / 2, (own.y0 + own.y1) / 2};
  const Point a = route.forward(m);
  const Point b = route.forward(Point{m.x + file.source.gt[1], m.y});
  const Point c = route.forward(Point{m.x, m.y + file.source.gt[5]});
  file.cell_m = std::sqrt(std::abs((b.x - a.x) * (c.y - a.y) - (c.x - a.x) * (b.y - a.y)));
}

std::optional<OpenedFile> open_file(const LayerSpec& spec, const Crs& plan, Flags& flags) {
  OpenedFile file;
  file.spec = &spec;
  CPLErrorReset();
  const std::unique_ptr<GDALDataset> dataset(
      GDALDataset::Open(spec.source.c_str(), GDAL_OF_RASTER | GDAL_OF_VERBOSE_ERROR));
  if (!dataset) {
    flags.add(Severity::stop, "file cannot be opened", spec.place,
              fmt::format("layer {}: {} cannot be opened ({}).", spec.name, spec.source.string(),
                          CPLGetLastErrorMsg()),
              "Check the name and the file.");
    return {};
  }
  if (spec.band > dataset->GetRasterCount()) {
    flags.add(Severity::stop, "no such band", spec.place,
              fmt::format("layer {}: the file has {} band(s), not band {}.", spec.name,
                          dataset->GetRasterCount(), spec.band),
              "Correct band in the plan.");
    return {};
  }
  LayerSource& source = file.source;
  source.path = spec.source.string();
  source.band = spec.band;
  source.cols = dataset->GetRasterXSize();
  source.rows = dataset->GetRasterYSize();
  if (dataset->GetGeoTransform(source.gt) != CE_None) {
    flags.add(Severity::stop, "no position", spec.place,
              fmt::format("layer {} does not say where its cells lie.", spec.name),
              "Georeference the raster.");
    return {};
  }
  GDALRasterBand* band = dataset->GetRasterBand(spec.band);
  file.type = band->GetRasterDataType();
  if (spec.is_classes() && GDALDataTypeIsFloating(file.type) != 0) {
    flags.add(Severity::stop, "classes on decimals", spec.place,
              fmt::format("layer {} has classes but holds decimal numbers.", spec.name),
              "Use the class raster itself; averaging makes values nobody defined.");
    return {};
  }
  int has_nodata = 0;
  source.nodata = band->GetNoDataValue(&has_nodata);
  source.has_nodata = has_nodata != 0;
  if (source.has_nodata && file.type == GDT_Byte && !(source.nodata >= 0 && source.nodata <= 255)) {
    flags.add(Severity::note, "impossible no-data value", spec.place,
              fmt::format("layer {} declares {} as no data, which its cells cannot hold: ignored.", spec.name,
                          shortest(source.nodata)),
              "");
    source.has_nodata = false;
  }
  file.masked = (band->GetMaskFlags() & GMF_PER_DATASET) != 0;
  if (!spec.is_classes()) {
    file.own_scale = band->GetScale();
    file.own_offset = band->GetOffset();
  }
  band->GetBlockSize(&source.block_cols, &source.block_rows);
  source.mosaic = EQUAL(dataset->GetDriverName(), "VRT");
  file.crs = system_of(*dataset, spec, flags);
  if (!file.crs) return {};
  source.wkt = file.crs->wkt();
  source.degrees = !file.crs->projected();
  place_in_plan(file, plan);
  return file;
}

Grid grid_of(const Plan& plan, const std::vector<OpenedFile>& files) {
  Grid grid;
  const OpenedFile* finest = nullptr;
  for (const OpenedFile& file : files)
    if (finest == nullptr || file.cell_m < finest->cell_m * (1 - 1e-9)) finest = &file;
  if (plan.grid.cell_m) {
    grid.cell_m = *plan.grid.cell_m;
  } else if (finest != nullptr && finest->in_plan) {
    grid.cell_m = finest->cell_m;
  } else if (finest != nullptr) {
    // Three figures: a warped source has no exact cell size in metres.
    const double power = std::pow(10, 2 - std::floor(std::log10(finest->cell_m)));
    grid.cell_m = std::round(finest->cell_m * power) / power;
  }
  if (finest != nullptr && finest->in_plan && north_up(finest->source)) {
    grid.origin_x = finest->source.gt[0] - std::floor(finest->source.gt[0] / grid.cell_m) * grid.cell_m;
    grid.origin_y = finest->source.gt[3] - std::floor(finest->source.gt[3] / grid.cell_m) * grid.cell_m;
  }
  return grid;
}

bool lies_on(const OpenedFile& file, const Grid& grid) {
  if (!file.in_plan || !north_up(file.source)) return false;
  const double* gt = file.source.gt;
  const auto whole = [](double v) { return std::abs(v - std::round(v)) < aligned_cells; };
  const double drift = double(std::max(file.source.cols, file.source.rows));
  return std::abs(gt[1] / grid.cell_m - 1) * drift < aligned_cells &&
         std::abs(-gt[5] / grid.cell_m - 1) * drift < aligned_cells &&
         whole((gt[0] - grid.origin_x) / grid.cell_m) && whole((gt[3] - grid.origin_y) / grid.cell_m);
}

// A byte for "no data here" that no class and no other cell uses, where the file names none.
std::optional<std::uint8_t> fill_byte(const OpenedFile& file) {
  if (file.source.has_nodata) return std::uint8_t(file.source.nodata);
  return {};
}

void set_up_layer(LayerInfo& info, OpenedFile file, const Grid& grid, LayerSource& source, Flags& flags) {
  source = file.source;
  source.aligned = lies_on(file, grid);
  const LayerSpec& spec = *file.spec;
  info.kind = spec.is_classes() ? LayerKind::classes : LayerKind::measure;
  info.unit = spec.unit;
  info.classes = spec.classes;
  info.place = spec.place;
  info.own_scale = file.own_scale;
  info.own_offset = file.own_offset;
  info.scale = spec.scale;
  info.warped = !source.aligned;
  if (source.aligned) {
    source.col0 = std::llround((source.gt[0] - grid.origin_x) / grid.cell_m);
    source.row0 = std::llround((grid.origin_y - source.gt[3]) / grid.cell_m);
    info.extent = {source.col0, source.row0, source.cols, source.rows};
    info.how = "on the grid";
  } else {
    info.extent = grid.covering(file.box);
    const bool shrinks = file.cell_m * 1.5 < grid.cell_m;
    source.resampling = info.kind == LayerKind::classes ? "near" : shrinks ? "average" : "bilinear";
    info.how = fmt::format("warped from {}, {} m cells, {}{}", file.crs->name(),
                           shortest(std::round(file.cell_m * 100) / 100),
                           source.resampling == "near" ? "nearest cell" : source.resampling,
                           file.route.empty() ? "" : "; " + file.route);
  }
  const std::optional<std::uint8_t> fill = fill_byte(file);
  // A byte layer that stops short needs a byte for "no data"; without one it is read as numbers.
  info.bytes =
      source.aligned && file.type == GDT_Byte && fill && !file.masked && source.derived == Derived::no;
  if (info.bytes) {
    source.fill = *fill;
    info.byte_none[*fill] = true;
  }
  if (info.warped)
    flags.add(Severity::note, "layer warped", info.place, fmt::format("layer {}: {}.", info.name, info.how),
              "");
}

Derived derived_of(const std::string& name) {
  return name == "slope"    ? Derived::slope
         : name == "aspect" ? Derived::aspect
         : name == "heat"   ? Derived::heat
                            : Derived::no;
}

}  // namespace

Layers Layers::open(const Plan& plan, const Crs& crs, const std::vector<std::string>& needed, Flags& flags) {
  auto inside = std::make_shared<Inside>();
  inside->crs = crs;
  inside->plan_wkt = crs.wkt();
  // Every layer of the plan is opened, whichever are needed: the grid must not depend on the command.
  std::vector<OpenedFile> files;
  for (const LayerSpec& spec : plan.layers)
    if (auto file = open_file(spec, crs, flags)) files.push_back(std::move(*file));
  inside->grid = grid_of(plan, files);
  std::string marks = fmt::format("{} {} {}", shortest(inside->grid.cell_m), shortest(inside->grid.origin_x),
                                  shortest(inside->grid.origin_y));
  Window extent;
  for (const OpenedFile& file : files) {
    const Window here = inside->grid.covering(file.box);
    extent = extent.empty() ? here : unite(extent, here);
    std::error_code ignored;
    marks +=
        fmt::format("|{} {} {} {}", file.spec->name, std::filesystem::file_size(file.spec->source, ignored),
                    std::filesystem::last_write_time(file.spec->source, ignored).time_since_epoch().count(),
                    shortest(file.spec->scale));
  }
  if (plan.grid.extent)
    extent = inside->grid.covering(
        {(*plan.grid.extent)[0], (*plan.grid.extent)[1], (*plan.grid.extent)[2], (*plan.grid.extent)[3]});
  inside->extent = extent;
  inside->fingerprint = text_fingerprint(marks);

  for (const std::string& name : needed) {
    const bool own = plan.layer(name) != nullptr;
    const Derived derived = own ? Derived::no : derived_of(name);
    const std::string from = derived == Derived::no ? name : "elevation";
    const auto found =
        std::find_if(files.begin(), files.end(), [&](const OpenedFile& f) { return f.spec->name == from; });
    if (found == files.end()) continue;  // said when it could not be opened, or by the sheets' check
    LayerInfo info;
    info.name = name;
    info.derived = derived != Derived::no;
    OpenedFile file = *found;
    file.source.derived = derived;
    LayerSource source;
    set_up_layer(info, file, inside->grid, source, flags);
    if (info.derived) {
      source.to_metres_a = file.own_scale * file.spec->scale;
      source.to_metres_b = file.own_offset * file.spec->scale;
      info.kind = LayerKind::measure;
      info.unit = derived == Derived::heat ? "index" : "degrees";
      info.own_scale = info.scale = 1;
      info.own_offset = 0;
      if (!source.aligned) source.resampling = derived == Derived::aspect ? "near" : "bilinear";
      info.how = "from elevation, " + info.how;
    }
    inside->infos.push_back(std::move(info));
    inside->sources.push_back(std::move(source));
  }
  Layers layers;
  layers.inside_ = std::move(inside);
  return layers;
}

const Grid& Layers::grid() const { return inside_->grid; }
const std::vector<LayerInfo>& Layers::infos() const { return inside_->infos; }
Window Layers::extent() const { return inside_->extent; }
std::string Layers::fingerprint() const { return inside_->fingerprint; }

std::optional<std::size_t> Layers::index(const std::string& name) const {
  for (std::size_t i = 0; i < infos().size(); ++i)
    if (infos()[i].name == name) return i;
  return {};
}

std::vector<Window> Layers::reading_windows(const Window& area) const {
  std::vector<Window> windows;
  if (area.empty()) return windows;
  constexpr int most_cells = 4 << 20;
  bool strips = false;
  bool mosaic = false;
  for (const LayerSource& source : inside_->sources) {
    strips = strips || (source.aligned && source.block_cols >= source.cols && source.cols > 2 * block_cells);
    mosaic = mosaic || source.mosaic;
  }
  std::int64_t wide = strips ? std::max<std::int64_t>(area.cols, block_cells) : mosaic ? 1024 : 512;
  std::int64_t high = strips ? block_cells : wide;
  if (strips && wide * high > most_cells) high = std::max<std::int64_t>(1, most_cells / wide);
  const std::int64_t col0 = strips ? area.col : floor_div(area.col, wide) * wide;
  const std::int64_t row0 = floor_div(area.row, high) * high;
  for (std::int64_t row = row0; row < area.row + area.rows; row += high)
    for (std::int64_t col = col0; col < area.col + area.cols; col += wide)
      windows.push_back(intersect(area, Window{col, row, int(wide), int(high)}));
  return windows;
}

void set_up_gdal() {
  GDALAllRegister();
  GDALSetCacheMax64(GIntBig{128} << 20);
  CPLSetErrorHandler(CPLQuietErrorHandler);
}

}  // namespace swardline
