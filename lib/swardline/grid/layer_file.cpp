// What a layer's file says of itself, and where it lies in the plan's system.
#include <cpl_conv.h>
#include <cpl_error.h>
#include <fmt/format.h>
#include <gdal_priv.h>
#include <ogr_spatialref.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <memory>
#include <numbers>
#include <vector>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/grid/layers_inside.hpp"

namespace swardline {
namespace {

/// TIFF writes its tag as "2024:05:01 12:00:00" (TIFF 6.0, tag 306).
std::string day_of(GDALDataset& dataset) {
  const char* tag = dataset.GetMetadataItem("TIFFTAG_DATETIME");
  std::string day = tag == nullptr ? "" : std::string(tag).substr(0, 10);
  std::replace(day.begin(), day.end(), ':', '-');
  return day;
}

/// Looks at one file, finding after finding.
class Look {
 public:
  Look(const LayerSpec& spec, const Crs& plan, Flags& flags) : spec_(spec), plan_(plan), flags_(flags) {}

  std::optional<LayerFile> at_file() {
    CPLErrorReset();
    dataset_.reset(GDALDataset::Open(spec_.source.c_str(), GDAL_OF_RASTER | GDAL_OF_VERBOSE_ERROR));
    if (!dataset_)
      return stop("file cannot be opened",
                  fmt::format("{} cannot be opened ({}).", spec_.source.string(), CPLGetLastErrorMsg()),
                  "Check the name and the file.");
    if (spec_.band < 1 || spec_.band > dataset_->GetRasterCount())
      return stop("no such band",
                  fmt::format("the file has {} band{}, not band {}.", dataset_->GetRasterCount(),
                              dataset_->GetRasterCount() == 1 ? "" : "s", spec_.band),
                  "Correct band in the plan.");
    file_.spec = &spec_;
    LayerSource& source = file_.source;
    source.path = spec_.source.string();
    source.band = spec_.band;
    source.cols = dataset_->GetRasterXSize();
    source.rows = dataset_->GetRasterYSize();
    source.mosaic = EQUAL(dataset_->GetDriverName(), "VRT");
    double inverse[6];
    if (dataset_->GetGeoTransform(source.gt) != CE_None || GDALInvGeoTransform(source.gt, inverse) == 0)
      return stop("no position", "the file does not say where its cells lie.", "Georeference the raster.");
    file_.dated = day_of(*dataset_);
    if (!cells()) return {};
    const std::optional<Crs> crs = system();
    if (!crs || !in_plan(*crs)) return {};
    return std::move(file_);
  }

 private:
  std::nullopt_t stop(const char* check, const std::string& meaning, const std::string& remedy) {
    flags_.add(Severity::stop, check, spec_.place, fmt::format("layer {}: {}", spec_.name, meaning), remedy);
    return std::nullopt;
  }

  bool cells() {
    GDALRasterBand* band = dataset_->GetRasterBand(spec_.band);
    const GDALDataType type = band->GetRasterDataType();
    if (spec_.is_classes() && (GDALDataTypeIsFloating(type) != 0 || GDALDataTypeIsComplex(type) != 0)) {
      stop("classes on decimals", "it has classes but holds decimal numbers.",
           "Use the class raster itself; averaging makes values nobody defined.");
      return false;
    }
    constexpr long long most_exact = 1LL << 24;  // cells of more than a byte are held as floats
    for (const auto& [value, code] : spec_.classes)
      if (value <= -most_exact || value >= most_exact) {
        stop("class number too large", fmt::format("class {} ({}) is beyond 16,777,215.", value, code),
             "Renumber the raster's classes.");
        return false;
      }
    LayerSource& source = file_.source;
    const char* pixels = band->GetMetadataItem("PIXELTYPE", "IMAGE_STRUCTURE");
    source.signed_bytes = type == GDT_Byte && pixels != nullptr && EQUAL(pixels, "SIGNEDBYTE");
    file_.byte_cells = type == GDT_Byte && !source.signed_bytes;
    // The file's mask, an alpha band, or the band's own mask: that one has no flag at all.
    const int mask = band->GetMaskFlags();
    source.masked = (mask & GMF_PER_DATASET) != 0 || (mask & (GMF_ALL_VALID | GMF_NODATA)) == 0;
    band->GetBlockSize(&source.block_cols, &source.block_rows);
    if (!spec_.is_classes()) {  // a class is a name: scaling it would make another of it
      file_.own_scale = band->GetScale();
      file_.own_offset = band->GetOffset();
    }
    no_data(band, type);
    return true;
  }

  void no_data(GDALRasterBand* band, GDALDataType type) {
    int declared = 0;
    const double value = GDALGetRasterNoDataValue(GDALRasterBand::ToHandle(band), &declared);
    if (declared == 0) return;
    int clamped = 0, rounded = 0;
    (void)GDALAdjustValueToDataType(type, value, &clamped, &rounded);
    const bool whole = GDALDataTypeIsInteger(type) != 0;
    const bool possible = file_.source.signed_bytes
                              ? value >= -128 && value <= 127 && std::floor(value) == value
                              : !whole || (clamped == 0 && rounded == 0 && std::isfinite(value));
    if (!possible) {
      flags_.add(Severity::note, "impossible no-data value", spec_.place,
                 fmt::format("layer {} declares {} as no data, which its cells cannot hold: ignored.",
                             spec_.name, shortest(value)));
      return;
    }
    file_.source.nodata = value;
    if (!spec_.is_classes() || std::floor(value) != value || std::abs(value) > 1e9) return;
    const auto named = spec_.classes.find(static_cast<long long>(value));
    if (named != spec_.classes.end())
      flags_.add(
          Severity::ask, "class is no data", spec_.place,
          fmt::format("layer {} declares {} as no data, and the plan calls it {}: those cells have no data.",
                      spec_.name, named->first, named->second),
          "Take the class out of the plan, or the no-data value out of the raster.");
  }

  std::optional<Crs> read(const std::string& definition, const char* whose) {
    try {
      return Crs::from_text(definition, spec_.place);
    } catch (const InputError& error) {
      return stop("coordinate system not understood", fmt::format("{}: {}", whose, error.what()),
                  "Say which system it is in, e.g. crs = \"EPSG:26914\".");
    }
  }

  std::optional<Crs> system() {
    const OGRSpatialReference* own = dataset_->GetSpatialRef();
    const bool names_one = own != nullptr && own->IsLocal() == 0 && own->IsEmpty() == 0;
    if (spec_.crs.empty() && !names_one) {
      flags_.add(Severity::stop, "no coordinate system", spec_.place,
                 fmt::format("layer {} has no coordinate system. Nothing was guessed.", spec_.name),
                 "Say which one in the plan, e.g. crs = \"EPSG:26914\".");
      return {};
    }
    std::optional<Crs> written;
    if (names_one) {
      char* wkt = nullptr;
      const char* options[] = {"FORMAT=WKT2_2018", nullptr};
      own->exportToWkt(&wkt, options);
      const std::string text = wkt == nullptr ? "" : wkt;
      CPLFree(wkt);
      written = read(text, "the file's own");
      if (!written) return {};
    }
    if (spec_.crs.empty()) return written;
    std::optional<Crs> declared = read(spec_.crs, "crs");
    if (declared && written && !written->same_as(*declared)) {
      flags_.add(Severity::stop, "coordinate system declared twice", spec_.place,
                 fmt::format("layer {} says it is in {}, the plan declares {}.", spec_.name, written->name(),
                             declared->name()),
                 "Take crs out of the plan, or mend the file.");
      return {};
    }
    return declared;
  }

  [[nodiscard]] Point at(double col, double row) const {
    const double* gt = file_.source.gt;
    return {gt[0] + col * gt[1] + row * gt[2], gt[3] + col * gt[4] + row * gt[5]};
  }

  void units(const Crs& crs) {
    LayerSource& source = file_.source;
    source.wkt = crs.wkt();
    OGRSpatialReference system;
    system.importFromWkt(source.wkt.c_str());
    if (crs.projected()) {
      source.metres_per_unit = system.GetLinearUnits();
    } else {
      source.radians_per_unit = system.GetAngularUnits();
      source.semi_major_m = system.GetSemiMajor();
      const double inverse = system.GetInvFlattening();
      const double f = inverse > 0 ? 1 / inverse : 0;
      source.e2 = f * (2 - f);
    }
  }

  // Longitudes may run from 0 to 360. Whole turns bring the file's middle nearest to the plan's ground.
  void turn_to_plan() {
    LayerSource& source = file_.source;
    const std::optional<Box> ground = plan_.area_of_use();
    if (!ground || !(source.radians_per_unit > 0)) return;
    const double turn = 2 * std::numbers::pi / source.radians_per_unit;
    const double there = (ground->x0 + ground->x1) / 2 * (turn / 360);
    source.gt[0] += turn * std::round((there - at(source.cols / 2.0, source.rows / 2.0).x) / turn);
  }

  /// The file's own box, of longitudes only what PROJ knows as such.
  [[nodiscard]] Box own_box() const {
    const LayerSource& source = file_.source;
    Box own = {at(0, 0).x, at(0, 0).y, at(0, 0).x, at(0, 0).y};
    for (const Point p : {at(source.cols, 0), at(0, source.rows), at(source.cols, source.rows)})
      own.grow({p.x, p.y, p.x, p.y});
    if (source.radians_per_unit > 0) {
      const double half_turn = std::numbers::pi / source.radians_per_unit;
      own.x0 = std::clamp(own.x0, -half_turn, half_turn);
      own.x1 = std::clamp(own.x1, -half_turn, half_turn);
    }
    return own;
  }

  bool in_plan(const Crs& crs) {
    LayerSource& source = file_.source;
    units(crs);
    turn_to_plan();
    file_.system = crs.name();
    file_.in_plan = crs.same_as(plan_);
    std::optional<Route> route;
    if (!file_.in_plan) {
      try {
        route.emplace(crs, plan_, own_box());
      } catch (const InputError& error) {
        stop("no way to the plan's coordinate system", error.what(), "Check the layer's system.");
        return false;
      }
      source.pipeline = route->pipeline();
      file_.route = route->in_words();
    }
    return place(route);
  }

  // The side of a square of one cell's area, at the middle of the file where systems differ.
  template <class There>
  [[nodiscard]] double side_of_cell(const std::optional<Route>& route, const There& there) const {
    const double* gt = file_.source.gt;
    if (!route && gt[2] == 0 && gt[4] == 0 && std::abs(gt[1]) == std::abs(gt[5])) return std::abs(gt[1]);
    if (!route) return std::sqrt(std::abs(gt[1] * gt[5] - gt[2] * gt[4]));
    const double col = file_.source.cols / 2.0, row = file_.source.rows / 2.0;
    const auto a = there(col, row), b = there(col + 1, row), c = there(col, row + 1);
    if (!a || !b || !c) return 0;
    return std::sqrt(std::abs((b->x - a->x) * (c->y - a->y) - (c->x - a->x) * (b->y - a->y)));
  }

  // The box from points all over the file: its sides are curves in another system. Points the plan's
  // system cannot show at all (a world map's far side) are left out.
  bool place(const std::optional<Route>& route) {
    const LayerSource& source = file_.source;
    const auto there = [&](double col, double row) -> std::optional<Point> {
      if (!route) return at(col, row);
      try {
        return route->forward(at(col, row));
      } catch (const InputError&) {
        return {};
      }
    };
    const std::size_t steps = route ? 32 : 1, across = steps + 1;
    std::vector<std::optional<Point>> points;
    bool any = false;
    for (std::size_t i = 0; i <= steps; ++i)
      for (std::size_t k = 0; k <= steps; ++k) {
        const auto& p = points.emplace_back(
            there(source.cols * double(i) / double(steps), source.rows * double(k) / double(steps)));
        if (!p) continue;
        const Box spot{p->x, p->y, p->x, p->y};
        if (!any) file_.box = spot;
        file_.box.grow(spot);
        any = true;
      }
    // Between its points a side bows out by an eighth of their second difference, as a parabola does.
    double bow_x = 0, bow_y = 0;
    const auto bow = [&](std::size_t at, std::size_t step) {
      const auto &a = points[at - step], &b = points[at], &c = points[at + step];
      if (!a || !b || !c) return;
      bow_x = std::max(bow_x, std::abs(a->x - 2 * b->x + c->x) / 8);
      bow_y = std::max(bow_y, std::abs(a->y - 2 * b->y + c->y) / 8);
    };
    for (std::size_t i = 0; route && i <= steps; ++i)
      for (std::size_t k = 1; k < steps; ++k) {
        bow(i * across + k, 1);
        bow(k * across + i, across);
      }
    file_.box = {file_.box.x0 - bow_x, file_.box.y0 - bow_y, file_.box.x1 + bow_x, file_.box.y1 + bow_y};
    file_.cell_m = side_of_cell(route, there);
    if (!any || !(file_.cell_m > 0) || !std::isfinite(file_.cell_m)) {
      stop("outside the plan's coordinate system", "its middle cannot be shown in the plan's system.",
           "Cut out the part of the raster that the season needs.");
      return false;
    }
    return true;
  }

  const LayerSpec& spec_;
  const Crs& plan_;
  Flags& flags_;
  std::unique_ptr<GDALDataset> dataset_;
  LayerFile file_;
};

}  // namespace

std::optional<LayerFile> look_at(const LayerSpec& spec, const Crs& plan, Flags& flags) {
  return Look(spec, plan, flags).at_file();
}

}  // namespace swardline
