#include "swardline/grid/layers.hpp"

#include <cpl_conv.h>
#include <cpl_error.h>
#include <fmt/format.h>
#include <gdal_priv.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <map>
#include <optional>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/grid/layers_inside.hpp"

namespace swardline {
namespace {

constexpr double aligned_cells = 1e-6;  // a source this close to the grid's cells is read straight

const char* word(Resampling resampling) {
  return resampling == Resampling::nearest   ? "nearest cell"
         : resampling == Resampling::average ? "average"
                                             : "bilinear";
}

/// The origin modulo the cell; a coordinate that is a whole number of cells but for its rounding gives 0.
double origin_of(double coordinate, double cell_m) {
  const double origin = coordinate - std::floor(coordinate / cell_m) * cell_m;
  return origin / cell_m > 1 - aligned_cells ? 0 : origin;
}

Grid grid_of(const Plan& plan, const std::vector<LayerFile>& files) {
  Grid grid;
  const LayerFile* finest = nullptr;
  const LayerFile* finest_in_plan = nullptr;  // a warped layer has no cells in the plan's system to begin at
  const auto finer = [](const LayerFile& file, const LayerFile* than) {
    return than == nullptr || file.cell_m < than->cell_m * (1 - 1e-9);
  };
  for (const LayerFile& file : files) {
    if (finer(file, finest)) finest = &file;
    if (file.in_plan && north_up(file.source) && finer(file, finest_in_plan)) finest_in_plan = &file;
  }
  if (plan.grid.cell_m) {
    grid.cell_m = *plan.grid.cell_m;
  } else if (finest != nullptr && finest->in_plan) {
    grid.cell_m = finest->cell_m;
  } else if (finest != nullptr) {
    // Three figures: a warped source has no exact cell size in metres.
    const double power = std::pow(10, 2 - std::floor(std::log10(finest->cell_m)));
    grid.cell_m = std::round(finest->cell_m * power) / power;
  }
  if (finest_in_plan != nullptr) {
    grid.origin_x = origin_of(finest_in_plan->source.gt[0], grid.cell_m);
    grid.origin_y = origin_of(finest_in_plan->source.gt[3], grid.cell_m);
  }
  return grid;
}

bool lies_on(const LayerFile& file, const Grid& grid) {
  if (!file.in_plan || !north_up(file.source)) return false;
  const double* gt = file.source.gt;
  const auto whole = [](double v) { return std::abs(v - std::round(v)) < aligned_cells; };
  const double drift = double(std::max(file.source.cols, file.source.rows));
  return std::abs(gt[1] / grid.cell_m - 1) * drift < aligned_cells &&
         std::abs(-gt[5] / grid.cell_m - 1) * drift < aligned_cells &&
         whole((gt[0] - grid.origin_x) / grid.cell_m) && whole((gt[3] - grid.origin_y) / grid.cell_m);
}

/// A byte to stand for "no data" in a file that declares none: one whose presence in the file is an error
/// anyway. See LayerInfo::byte_none.
std::optional<std::uint8_t> spare_byte(const LayerInfo& info) {
  const auto impossible = [&info](int raw) {
    if (info.kind == LayerKind::classes) return !info.classes.contains(raw);
    const double value = info.value(raw);
    const double most = info.unit == "percent" ? 100 : info.unit == "fraction" ? 1 : HUGE_VAL;
    return value < 0 || value > most;
  };
  // Not 250 and above first: programs that declare no value for missing data like to use those.
  for (int raw = 249; raw >= 0; --raw)
    if ((info.kind == LayerKind::classes || info.unit == "percent" || info.unit == "fraction") &&
        impossible(raw))
      return std::uint8_t(raw);
  return {};
}

void read_as_bytes(LayerInfo& info, LayerSource& source) {
  if (source.nodata)
    source.fill = std::uint8_t(*source.nodata);
  else if (const auto spare = spare_byte(info))
    source.spare = source.fill = *spare;
  else
    return;
  info.bytes = true;
  info.byte_none[source.fill] = true;
}

/// Whole cells of the grid are read straight, others warped.
void place_on_grid(LayerInfo& info, const LayerFile& file, const Grid& grid, LayerSource& source) {
  source.aligned = lies_on(file, grid);
  info.warped = !source.aligned;
  if (source.aligned) {
    source.col0 = std::llround((source.gt[0] - grid.origin_x) / grid.cell_m);
    source.row0 = std::llround((grid.origin_y - source.gt[3]) / grid.cell_m);
    info.extent = {source.col0, source.row0, source.cols, source.rows};
    info.how = "on the grid";
    return;
  }
  info.extent = grid.covering(file.box);
  // An angle's mean is not a mean of directions, and a class has none.
  const bool shrinks = file.cell_m * 1.5 < grid.cell_m;
  source.resampling = info.kind == LayerKind::classes || source.derived == Derived::aspect
                          ? Resampling::nearest
                      : shrinks ? Resampling::average
                                : Resampling::bilinear;
  info.how = fmt::format("warped from {}, {} m cells, {}{}", file.system,
                         shortest(std::round(file.cell_m * 100) / 100), word(source.resampling),
                         file.route.empty() ? "" : "; " + file.route);
}

void set_up_layer(LayerInfo& info, const LayerFile& file, const Grid& grid, LayerSource& source) {
  const LayerSpec& spec = *file.spec;
  info.place = spec.place;
  info.derived = source.derived != Derived::no;
  if (info.derived) {
    source.metres_per_raw = file.own_scale * spec.scale;
    info.unit = source.derived == Derived::heat ? "index" : "degrees";
  } else {
    info.kind = spec.is_classes() ? LayerKind::classes : LayerKind::measure;
    info.unit = spec.unit;
    info.classes = spec.classes;
    info.own_scale = file.own_scale;
    info.own_offset = file.own_offset;
    info.scale = spec.is_classes() ? 1 : spec.scale;
  }
  place_on_grid(info, file, grid, source);
  if (info.derived) info.how = "from elevation, " + info.how;
  if (!file.dated.empty()) info.how += ", dated " + file.dated;
  const bool cells_as_they_are = source.aligned || source.resampling == Resampling::nearest;
  if (file.byte_cells && cells_as_they_are && !info.derived) read_as_bytes(info, source);
}

Derived derived_of(const std::string& name) {
  return name == "slope"    ? Derived::slope
         : name == "aspect" ? Derived::aspect
         : name == "heat"   ? Derived::heat
                            : Derived::no;
}

/// A file's content, so that a copied season has the same fingerprint; of large files the size and time,
/// because reading them would cost as much as the work itself.
std::string mark_of(const std::filesystem::path& file) {
  constexpr std::uintmax_t largest_read = std::uintmax_t{64} << 20;
  std::error_code failed;
  const std::uintmax_t size = std::filesystem::file_size(file, failed);
  if (!failed && size <= largest_read) return content_fingerprint(file);
  return fmt::format("{} {}", size,
                     std::filesystem::last_write_time(file, failed).time_since_epoch().count());
}

/// All that the values of a layer follow from; `content`: of its file.
std::string mark_of(const LayerSpec& spec, const std::string& content, const std::string& derived) {
  std::string mark = fmt::format("{} {} {} {} {} '{}' '{}'", derived, spec.name, spec.band, content,
                                 shortest(spec.scale), spec.unit, spec.crs);
  for (const auto& [value, code] : spec.classes) mark += fmt::format(" {}={}", value, code);
  return mark;
}

}  // namespace

Layers Layers::open(const Plan& plan, const Crs& crs, const std::vector<std::string>& needed, Flags& flags) {
  auto inside = std::make_shared<Inside>();
  inside->plan_wkt = crs.wkt();
  // Every layer of the plan is opened, whichever are needed: the grid must not depend on the command.
  std::vector<LayerFile> files;
  for (const LayerSpec& spec : plan.layers)
    if (auto file = look_at(spec, crs, flags)) files.push_back(std::move(*file));
  inside->grid = grid_of(plan, files);
  Window extent;
  for (const LayerFile& file : files) {
    inside->specs.push_back(*file.spec);
    const Window here = inside->grid.covering(file.box);
    extent = extent.empty() ? here : unite(extent, here);
  }
  if (plan.grid.extent)
    extent = inside->grid.covering(
        {(*plan.grid.extent)[0], (*plan.grid.extent)[1], (*plan.grid.extent)[2], (*plan.grid.extent)[3]});
  inside->extent = extent;

  for (const std::string& name : needed) {
    const bool own = plan.layer(name) != nullptr;
    const Derived derived = own ? Derived::no : derived_of(name);
    const std::string from = derived == Derived::no ? name : "elevation";
    const auto found =
        std::find_if(files.begin(), files.end(), [&](const LayerFile& f) { return f.spec->name == from; });
    if (found == files.end()) continue;  // said when it could not be opened, or by the sheets' check
    LayerInfo info;
    info.name = name;
    LayerSource source = found->source;
    source.derived = derived;
    set_up_layer(info, *found, inside->grid, source);
    if (info.warped)
      flags.add(Severity::note, "layer warped", info.place, fmt::format("layer {}: {}.", name, info.how));
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
const std::map<std::string, std::string>& Layers::Inside::contents() const {
  std::call_once(read_, [this] {
    for (const LayerSpec& spec : specs) contents_[spec.name] = mark_of(spec.source);
  });
  return contents_;
}

std::string Layers::fingerprint() const {
  const Grid& grid = inside_->grid;
  std::string marks =
      fmt::format("{} {} {}", shortest(grid.cell_m), shortest(grid.origin_x), shortest(grid.origin_y));
  for (const LayerSpec& spec : inside_->specs)
    marks += fmt::format("|{} {} {} {}", spec.name, spec.band, inside_->contents().at(spec.name),
                         shortest(spec.scale));
  return text_fingerprint(marks);
}

std::string Layers::fingerprint(const std::vector<std::size_t>& which) const {
  const Window& extent = inside_->extent;
  std::string marks = fmt::format("{} {} {} {} {} {} {}\n{}", shortest(inside_->grid.cell_m),
                                  shortest(inside_->grid.origin_x), shortest(inside_->grid.origin_y),
                                  extent.col, extent.row, extent.cols, extent.rows, inside_->plan_wkt);
  for (const std::size_t layer : which) {
    const LayerInfo& info = infos()[layer];
    const std::string from = info.derived ? "elevation" : info.name;
    const auto spec = std::find_if(inside_->specs.begin(), inside_->specs.end(),
                                   [&from](const LayerSpec& each) { return each.name == from; });
    if (spec == inside_->specs.end()) throw Defect("layer " + info.name + " has no file");
    marks += "\n" + mark_of(*spec, inside_->contents().at(from), info.derived ? info.name : "");
  }
  return text_fingerprint(marks);
}

std::optional<std::size_t> Layers::index(const std::string& name) const {
  for (std::size_t i = 0; i < infos().size(); ++i)
    if (infos()[i].name == name) return i;
  return {};
}

namespace {

/// How reading windows lie: their size, and a cell that one of them begins at.
struct WindowShape {
  std::int64_t cols = 512, rows = 512;
  std::int64_t col0 = 0, row0 = 0;
};

/// Where all layers are stored in the same blocks, those: each is then read straight into its place.
std::optional<WindowShape> shared_blocks(const std::vector<LayerSource>& sources,
                                         const std::vector<LayerInfo>& infos) {
  constexpr int least = 128, most = 1024;
  std::optional<WindowShape> shape;
  for (std::size_t i = 0; i < sources.size(); ++i) {
    const LayerSource& s = sources[i];
    if (!s.aligned || s.mosaic || !infos[i].bytes || s.block_cols < least || s.block_rows < least ||
        s.block_cols > most || s.block_rows > most)
      return {};
    const WindowShape own{s.block_cols, s.block_rows, s.col0, s.row0};
    if (!shape) shape = own;
    if (own.cols != shape->cols || own.rows != shape->rows || (own.col0 - shape->col0) % own.cols != 0 ||
        (own.row0 - shape->row0) % own.rows != 0)
      return {};
  }
  return shape;
}

WindowShape shape_of(const std::vector<LayerSource>& sources, const std::vector<LayerInfo>& infos,
                     const Window& area) {
  if (const auto shared = shared_blocks(sources, infos)) return *shared;
  constexpr int most_cells = 4 << 20;
  bool strips = false, mosaic = false;
  for (const LayerSource& source : sources) {
    strips = strips || (source.aligned && source.block_cols >= source.cols && source.cols > 2 * block_cells);
    mosaic = mosaic || source.mosaic;
  }
  WindowShape shape;
  if (mosaic) shape.cols = shape.rows = 1024;
  if (!strips) return shape;
  shape.cols = std::max<std::int64_t>(area.cols, block_cells);
  shape.rows = block_cells;
  if (shape.cols * shape.rows > most_cells) shape.rows = std::max<std::int64_t>(1, most_cells / shape.cols);
  shape.col0 = area.col;
  return shape;
}

}  // namespace

std::vector<Window> Layers::reading_windows(const Window& area) const {
  std::vector<Window> windows;
  if (area.empty()) return windows;
  const WindowShape shape = shape_of(inside_->sources, inside_->infos, area);
  const std::int64_t col0 = shape.col0 + floor_div(area.col - shape.col0, shape.cols) * shape.cols;
  const std::int64_t row0 = shape.row0 + floor_div(area.row - shape.row0, shape.rows) * shape.rows;
  for (std::int64_t row = row0; row < area.row + area.rows; row += shape.rows)
    for (std::int64_t col = col0; col < area.col + area.cols; col += shape.cols)
      windows.push_back(intersect(area, Window{col, row, int(shape.cols), int(shape.rows)}));
  return windows;
}

void set_up_gdal() {
  GDALAllRegister();
  GDALSetCacheMax64(GIntBig{128} << 20);
  CPLSetErrorHandler(CPLQuietErrorHandler);
}

}  // namespace swardline
