// GeoJSON, KML and GeoPackage through GDAL, and the reading back of every format.
#include <cpl_error.h>
#include <fmt/format.h>
#include <ogrsf_frmts.h>

#include <algorithm>
#include <memory>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/field/point_formats.hpp"

namespace swardline {
namespace {

struct Format {
  const char* word;
  const char* driver;
  bool boundaries;  // a second layer for the survey areas
};
constexpr Format formats[] = {{"geojson", "GeoJSON", false}, {"kml", "KML", true}, {"gpkg", "GPKG", true}};

const Format& format_of(const std::string& word) {
  for (const Format& f : formats)
    if (word == f.word) return f;
  throw Defect("no writer for points as " + word);
}

[[noreturn]] void fail(const std::filesystem::path& path) {
  throw IoError({path.string(), 0, {}}, fmt::format("could not be written: {}", CPLGetLastErrorMsg()),
                "Check the disk's space and the folder's permissions.");
}

OGRLayer* make_layer(GDALDataset& dataset, const Format& format, const char* name, OGRwkbGeometryType type,
                     const std::filesystem::path& path) {
  OGRSpatialReference wgs84;
  wgs84.importFromEPSG(4326);
  wgs84.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
  CPLStringList options;
  if (std::string(format.driver) == "GeoJSON") {
    options.SetNameValue("RFC7946", "YES");
    options.SetNameValue("COORDINATE_PRECISION", "8");
    options.SetNameValue("WRITE_NAME", "NO");
  }
  OGRLayer* layer = dataset.CreateLayer(name, &wgs84, type, options.List());
  if (layer == nullptr) fail(path);
  return layer;
}

void add_field(OGRLayer& layer, const char* name, OGRFieldType type, const std::filesystem::path& path) {
  OGRFieldDefn field(name, type);
  if (layer.CreateField(&field) != OGRERR_NONE) fail(path);
}

constexpr const char* text_fields[] = {"Name",   "Description", "site",         "plot", "stratum",
                                       "status", "tape",        "held_down_by", "side"};
constexpr const char* whole_fields[] = {"order", "spare", "walk"};
constexpr const char* real_fields[] = {"chance_per_m2", "weight_m2", "bearing_true", "inside_m2",
                                       "twice_m2",      "score",     "from_m",       "to_m"};

std::string description(const Plot& p) {
  if (p.kind.empty()) return (p.spare ? "spare " : "plot ") + p.name;
  return fmt::format("{}{} {}", p.spare ? "spare " : "", p.kind, p.name);
}

void add_plots(GDALDataset& dataset, const Format& format, const PointLoad& load,
               const std::filesystem::path& path) {
  OGRLayer* layer = make_layer(dataset, format, "plots", wkbPoint, path);
  for (const char* name : text_fields) add_field(*layer, name, OFTString, path);
  for (const char* name : whole_fields) add_field(*layer, name, OFTInteger, path);
  for (const char* name : real_fields) add_field(*layer, name, OFTReal, path);
  for (const Plot* p : load.plots) {
    OGRFeature feature(layer->GetLayerDefn());
    const std::string& on_unit = load.on_unit.at(p->name);
    feature.SetField("Name", on_unit.c_str());
    feature.SetField("Description", description(*p).c_str());
    feature.SetField("site", p->site.c_str());
    feature.SetField("plot", p->name.c_str());
    feature.SetField("stratum", p->stratum.c_str());
    feature.SetField("status", p->status.c_str());
    feature.SetField("tape", p->tape.c_str());
    feature.SetField("held_down_by", p->held_down_by.c_str());
    feature.SetField("order", p->order);
    feature.SetField("spare", p->spare ? 1 : 0);
    if (p->walk > 0) feature.SetField("walk", p->walk);
    feature.SetField("chance_per_m2", p->chance_per_m2);
    feature.SetField("weight_m2", p->weight_m2);
    feature.SetField("bearing_true", p->bearing_deg);
    feature.SetField("inside_m2", p->inside_m2);
    feature.SetField("twice_m2", p->twice_m2);
    if (p->score) feature.SetField("score", *p->score);
    if (!p->side.empty()) {
      feature.SetField("side", p->side.c_str());
      feature.SetField("from_m", p->from_m);
      feature.SetField("to_m", p->to_m);
    }
    OGRPoint at(p->lon, p->lat);
    feature.SetGeometry(&at);
    if (layer->CreateFeature(&feature) != OGRERR_NONE) fail(path);
  }
}

void add_boundaries(GDALDataset& dataset, const Format& format, const FieldPlots& field,
                    const PointLoad& load, const std::filesystem::path& path) {
  OGRLayer* layer = make_layer(dataset, format, "boundaries", wkbMultiPolygon, path);
  add_field(*layer, "Name", OFTString, path);
  add_field(*layer, "Description", OFTString, path);
  for (const std::string& site : load.sites) {
    const auto area = field.boundaries.find(site);
    if (area == field.boundaries.end() || area->second.empty()) continue;
    const std::vector<unsigned char> wkb = to_wkb(area->second);
    OGRGeometry* read = nullptr;
    if (OGRGeometryFactory::createFromWkb(wkb.data(), nullptr, &read, wkb.size()) != OGRERR_NONE) fail(path);
    OGRFeature feature(layer->GetLayerDefn());
    feature.SetField("Name", site.c_str());
    const auto name = field.site_names.find(site);
    if (name != field.site_names.end()) feature.SetField("Description", name->second.c_str());
    feature.SetGeometryDirectly(OGRGeometryFactory::forceToMultiPolygon(read));
    if (layer->CreateFeature(&feature) != OGRERR_NONE) fail(path);
  }
}

void add_lines(GDALDataset& dataset, const Format& format, const FieldPlots& field, const PointLoad& load,
               const std::filesystem::path& path) {
  if (field.lines.empty()) return;
  OGRLayer* layer = make_layer(dataset, format, "lines", wkbMultiLineString, path);
  add_field(*layer, "Name", OFTString, path);
  add_field(*layer, "Description", OFTString, path);
  for (const FieldLine& line : field.lines) {
    if (std::find(load.sites.begin(), load.sites.end(), line.site) == load.sites.end()) continue;
    const std::vector<unsigned char> wkb = to_wkb(line.line);
    OGRGeometry* read = nullptr;
    if (OGRGeometryFactory::createFromWkb(wkb.data(), nullptr, &read, wkb.size()) != OGRERR_NONE) fail(path);
    OGRFeature feature(layer->GetLayerDefn());
    feature.SetField("Name", line.name.c_str());
    feature.SetField("Description", line.kind.c_str());
    feature.SetGeometryDirectly(OGRGeometryFactory::forceToMultiLineString(read));
    if (layer->CreateFeature(&feature) != OGRERR_NONE) fail(path);
  }
}

}  // namespace

void write_with_gdal(const std::filesystem::path& path, const std::string& word, const FieldPlots& field,
                     const PointLoad& load) {
  const Format& format = format_of(word);
  // The drivers choose by suffix and keep side files under the name they are given, so the
  // work name keeps the suffix and only publish() sees ".part".
  const std::filesystem::path work = path.parent_path() / ("." + path.filename().string());
  const std::filesystem::path part = part_path(path);
  std::error_code ignored;
  std::filesystem::remove(work, ignored);
  CPLErrorReset();
  const unsigned errors_before = CPLGetErrorCounter();
  try {
    GDALDriver* driver = GetGDALDriverManager()->GetDriverByName(format.driver);
    if (driver == nullptr)
      throw IoError({}, fmt::format("GDAL here has no {} driver", format.driver), "Install it.");
    CPLStringList options;
    if (word == "kml") options.SetNameValue("NameField", "Name");
    std::unique_ptr<GDALDataset> dataset(driver->Create(work.c_str(), 0, 0, 0, GDT_Unknown, options.List()));
    if (!dataset) fail(path);
    add_plots(*dataset, format, load, path);
    if (format.boundaries) add_boundaries(*dataset, format, field, load, path);
    if (format.boundaries) add_lines(*dataset, format, field, load, path);
    dataset->FlushCache(true);
    dataset.reset();
    if (CPLGetErrorCounter() != errors_before && CPLGetLastErrorType() >= CE_Failure) fail(path);
    std::filesystem::rename(work, part);
    publish(path);
  } catch (const std::filesystem::filesystem_error& error) {
    std::filesystem::remove(work, ignored);
    throw IoError({path.string(), 0, {}}, fmt::format("could not be written: {}", error.code().message()),
                  "Check the folder.");
  } catch (...) {
    std::filesystem::remove(work, ignored);
    discard_part(path);
    throw;
  }
}

std::map<std::string, Point> read_points_back(const std::filesystem::path& path, const std::string& format) {
  const Place place{path.string(), 0, {}};
  CPLStringList options;
  if (format == "csv") {
    options.SetNameValue("X_POSSIBLE_NAMES", "lon");
    options.SetNameValue("Y_POSSIBLE_NAMES", "lat");
    options.SetNameValue("KEEP_GEOM_COLUMNS", "YES");
  }
  std::unique_ptr<GDALDataset> dataset(
      GDALDataset::Open(path.c_str(), GDAL_OF_VECTOR, nullptr, options.List(), nullptr));
  if (!dataset)
    throw IoError(place, fmt::format("cannot be read back: {}", CPLGetLastErrorMsg()), "Write it again.");
  OGRLayer* layer = format == "gpx" ? dataset->GetLayerByName("waypoints") : dataset->GetLayer(0);
  if (layer == nullptr) throw IoError(place, "has no points when read back", "Write it again.");
  const char* name_field = format == "csv" ? "name_on_unit" : format == "gpx" ? "name" : "Name";
  std::map<std::string, Point> points;
  for (const auto& feature : *layer) {
    const OGRGeometry* geometry = feature->GetGeometryRef();
    if (geometry == nullptr || wkbFlatten(geometry->getGeometryType()) != wkbPoint)
      throw IoError(place, "holds a feature that is no point", "Write it again.");
    const OGRPoint* at = geometry->toPoint();
    points[feature->GetFieldAsString(name_field)] = {at->getX(), at->getY()};
  }
  return points;
}

}  // namespace swardline
