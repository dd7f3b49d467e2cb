#include "swardline/compare/map_file.hpp"

#include <cpl_error.h>
#include <fmt/format.h>
#include <ogrsf_frmts.h>

#include <algorithm>
#include <cmath>
#include <memory>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"

namespace swardline {
namespace {

constexpr const char* text_fields[] = {"plot",    "site",    "stratum",     "status",
                                       "species", "finding", "held_down_by"};
constexpr const char* real_fields[] = {"stems",     "stems_not_certain", "area_m2",        "stems_per_ha",
                                       "score",     "score_over_plot",   "score_over_fix", "score_proposed",
                                       "weight_m2", "fix_accuracy_m",    "fix_distance_m"};

[[noreturn]] void fail(const std::filesystem::path& path) {
  throw IoError({path.string(), 0, {}}, fmt::format("could not be written: {}", CPLGetLastErrorMsg()),
                "Check the disk's space and the folder's permissions.");
}

void add_field(OGRLayer& layer, const std::string& name, OGRFieldType type,
               const std::filesystem::path& path) {
  OGRFieldDefn field(name.c_str(), type);
  if (layer.CreateField(&field) != OGRERR_NONE) fail(path);
}

/// Layers' names that no field has already.
std::string layer_field(const std::string& layer) {
  const auto taken = [&](const char* name) { return layer == name; };
  const bool clash = std::any_of(std::begin(text_fields), std::end(text_fields), taken) ||
                     std::any_of(std::begin(real_fields), std::end(real_fields), taken) || layer == "point" ||
                     layer == "fid";
  return clash ? layer + "_layer" : layer;
}

void set(OGRFeature& row, const char* field, double value) {
  if (std::isfinite(value)) row.SetField(field, value);
}
void set(OGRFeature& row, const char* field, const std::string& value) {
  if (!value.empty()) row.SetField(field, value.c_str());
}

class PlotsLayer {
 public:
  PlotsLayer(GDALDataset& dataset, const Comparison& comparison, const Season& season,
             const EvaluatedSeason& counted, const Crs& crs, const std::filesystem::path& path)
      : comparison_(comparison), season_(season), counted_(counted), path_(path) {
    OGRSpatialReference system;
    if (system.SetFromUserInput(crs.wkt().c_str()) != OGRERR_NONE) fail(path);
    system.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
    CPLStringList options;
    options.SetNameValue("GEOMETRY_NAME", "point");
    layer_ = dataset.CreateLayer("plots", &system, wkbPoint, options.List());
    if (layer_ == nullptr) fail(path);
    for (const char* name : text_fields) add_field(*layer_, name, OFTString, path);
    for (const char* name : real_fields) add_field(*layer_, name, OFTReal, path);
    for (const std::string& name : comparison.layers)
      add_field(*layer_, layer_field(name), holds_classes(name) ? OFTString : OFTReal, path);
  }

  void add_all() {
    std::vector<bool> there(counted_.units.size(), false);
    for (const SpeciesComparison& species : comparison_.species)
      for (const PlotAndScore& plot : species.plots) {
        there[comparison_.plots[plot.plot].unit] = true;
        add_compared(species, plot);
      }
    for (std::size_t u = 0; u < counted_.units.size(); ++u)
      if (!there[u] && counted_.units[u].in_use) add_waiting(counted_.units[u]);
  }

 private:
  [[nodiscard]] bool holds_classes(const std::string& name) const {
    const LayerSpec* spec = season_.plan.layer(name);
    return spec != nullptr && spec->is_classes();
  }

  void set_unit(OGRFeature& row, const EvaluatedUnit& unit) const {
    set(row, "plot", unit.name);
    set(row, "site", unit.site);
    set(row, "stratum", unit.stratum);
    set(row, "status", unit.fate);
    set(row, "fix_accuracy_m", unit.fix_accuracy_m);
    if (std::isfinite(unit.east) && std::isfinite(unit.north)) {
      OGRPoint at(unit.east, unit.north);
      row.SetGeometry(&at);
    }
  }

  void add_compared(const SpeciesComparison& species, const PlotAndScore& plot) {
    const ComparedPlot& place = comparison_.plots[plot.plot];
    OGRFeature row(layer_->GetLayerDefn());
    set_unit(row, counted_.units[place.unit]);
    set(row, "species", species.code);
    set(row, "finding", finding_of(species, plot));
    if (plot.held_down_by)
      set(row, "held_down_by", season_.sheets[species.sheet].factors[*plot.held_down_by].layer);
    set(row, "stems", plot.stems);
    set(row, "stems_not_certain", plot.not_certain);
    set(row, "area_m2", plot.area_m2);
    set(row, "stems_per_ha", plot.per_ha());
    set(row, "score", plot.score);
    set(row, "score_over_plot", plot.over_plot);
    set(row, "score_over_fix", plot.over_fix);
    if (species.effect) set(row, "score_proposed", plot.score_then);
    set(row, "weight_m2", plot.weight_m2);
    set(row, "fix_distance_m", place.fix_distance_m);
    for (std::size_t i = 0; i < place.values.size(); ++i) set_value(row, i, place.values[i]);
    add(row);
  }

  void set_value(OGRFeature& row, std::size_t layer, const LayerValue& value) const {
    if (value.none) return;
    const std::string field = layer_field(comparison_.layers[layer]);
    if (holds_classes(comparison_.layers[layer]))
      set(row, field.c_str(), value.class_code);
    else if (value.number)
      set(row, field.c_str(), *value.number);
  }

  void add_waiting(const EvaluatedUnit& unit) {
    OGRFeature row(layer_->GetLayerDefn());
    set_unit(row, unit);
    set(row, "finding",
        unit.evaluated ? std::string("counted, no species compared")
                       : "not counted: " + (unit.why.empty() ? unit.fate : unit.why));
    add(row);
  }

  void add(OGRFeature& row) {
    if (layer_->CreateFeature(&row) != OGRERR_NONE) fail(path_);
  }

  const Comparison& comparison_;
  const Season& season_;
  const EvaluatedSeason& counted_;
  const std::filesystem::path& path_;
  OGRLayer* layer_ = nullptr;
};

}  // namespace

void write_compare_map(const Comparison& comparison, const Season& season, const EvaluatedSeason& counted,
                       const Crs& crs, const std::filesystem::path& file) {
  // The driver keeps a journal under the name it is given, so the work name keeps the suffix and only
  // publish() sees ".part".
  const std::filesystem::path work = file.parent_path() / ("." + file.filename().string());
  std::error_code ignored;
  std::filesystem::remove(work, ignored);
  CPLErrorReset();
  const unsigned errors_before = CPLGetErrorCounter();
  try {
    GDALDriver* driver = GetGDALDriverManager()->GetDriverByName("GPKG");
    if (driver == nullptr) throw Defect("GDAL here has no GeoPackage driver");
    std::unique_ptr<GDALDataset> dataset(driver->Create(work.c_str(), 0, 0, 0, GDT_Unknown, nullptr));
    if (!dataset || dataset->StartTransaction() != OGRERR_NONE) fail(file);
    PlotsLayer(*dataset, comparison, season, counted, crs, file).add_all();
    if (dataset->CommitTransaction() != OGRERR_NONE) fail(file);
    dataset->FlushCache(true);
    dataset.reset();
    if (CPLGetErrorCounter() != errors_before && CPLGetLastErrorType() >= CE_Failure) fail(file);
    std::filesystem::rename(work, part_path(file));
    publish(file);
  } catch (const std::filesystem::filesystem_error& error) {
    std::filesystem::remove(work, ignored);
    throw IoError({file.string(), 0, {}}, fmt::format("could not be written: {}", error.code().message()),
                  "Check the folder.");
  } catch (...) {
    std::filesystem::remove(work, ignored);
    discard_part(file);
    throw;
  }
}

}  // namespace swardline
