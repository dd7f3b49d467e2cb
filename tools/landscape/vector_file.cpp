#include "vector_file.hpp"

#include <cpl_conv.h>
#include <cpl_error.h>
#include <fmt/format.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>

#include <cmath>
#include <memory>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "valley.hpp"

namespace swardline::landscape {
namespace {

OGRSpatialReference named_system(const std::string& crs) {
  OGRSpatialReference system;
  if (system.SetFromUserInput(crs.c_str()) != OGRERR_NONE) throw Defect("unknown system " + crs + ".");
  system.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
  return system;
}

OGRPolygon polygon_of(const std::vector<Spot>& ring) {
  OGRLinearRing line;
  for (const Spot s : ring) line.addPoint(s.x, s.y);
  line.closeRings();
  OGRPolygon polygon;
  polygon.addRing(&line);
  return polygon;
}

OGRMultiPolygon area_of(const std::vector<std::vector<Spot>>& rings) {
  OGRMultiPolygon area;
  for (const auto& ring : rings) {
    const OGRPolygon polygon = polygon_of(ring);
    area.addGeometry(&polygon);
  }
  return area;
}

std::unique_ptr<OGRGeometry> geometry_of(const Drawn& drawn, Shape shape) {
  if (shape == Shape::area) return std::unique_ptr<OGRGeometry>(area_of(drawn.parts).clone());
  if (shape == Shape::point) return std::make_unique<OGRPoint>(drawn.parts[0][0].x, drawn.parts[0][0].y);
  auto lines = std::make_unique<OGRMultiLineString>();
  for (const auto& part : drawn.parts) {
    OGRLineString line;
    for (const Spot s : part) line.addPoint(s.x, s.y);
    lines->addGeometry(&line);
  }
  return lines;
}

OGRwkbGeometryType kind_of(Shape shape) {
  return shape == Shape::area ? wkbMultiPolygon : shape == Shape::line ? wkbMultiLineString : wkbPoint;
}

// To the millimetre in both: what a programme would keep, and the same digits on every machine.
class Millimetres : public OGRDefaultGeometryVisitor {
 public:
  using OGRDefaultGeometryVisitor::visit;
  void visit(OGRPoint* point) override {
    point->setX(std::floor(point->getX() * 1000 + 0.5) / 1000);
    point->setY(std::floor(point->getY() * 1000 + 0.5) / 1000);
  }
};

void add_layer(GDALDataset& set, const std::filesystem::path& path, const DrawnLayer& drawn,
               const OGRSpatialReference* system, OGRCoordinateTransformation* change, char** options) {
  // OGR keeps its own reference-counted copy.
  OGRLayer* layer = set.CreateLayer(drawn.name.c_str(), const_cast<OGRSpatialReference*>(system),
                                    kind_of(drawn.shape), options);
  if (layer == nullptr) failed_file(path, "cannot be made");
  for (const std::string& field : drawn.fields) {
    OGRFieldDefn text(field.c_str(), OFTString);
    text.SetWidth(60);
    if (layer->CreateField(&text) != OGRERR_NONE) failed_file(path, "cannot be written");
  }
  for (const Drawn& one : drawn.features) {
    auto geometry = geometry_of(one, drawn.shape);
    if (change != nullptr && geometry->transform(change) != OGRERR_NONE)
      failed_file(path, "cannot be projected");
    Millimetres millimetres;
    geometry->accept(&millimetres);
    OGRFeature feature(layer->GetLayerDefn());
    feature.SetGeometry(geometry.get());
    for (const auto& [field, value] : one.fields) feature.SetField(field.c_str(), value.c_str());
    if (layer->CreateFeature(&feature) != OGRERR_NONE) failed_file(path, "cannot be written");
  }
}

std::unique_ptr<GDALDataset> start(const char* driver_name, const std::filesystem::path& path) {
  GDALDriver* driver = GetGDALDriverManager()->GetDriverByName(driver_name);
  CPLErrorReset();
  CPLPushErrorHandler(CPLQuietErrorHandler);  // it warns of the ending .part
  std::unique_ptr<GDALDataset> set(driver->Create(path.c_str(), 0, 0, 0, GDT_Unknown, nullptr));
  CPLPopErrorHandler();
  if (!set) failed_file(path, "cannot be made");
  return set;
}

void close(std::unique_ptr<GDALDataset> set, const std::filesystem::path& path) {
  CPLErrorReset();
  set->FlushCache();
  set.reset();
  if (CPLGetLastErrorType() >= CE_Failure) failed_file(path, "cannot be written");
}

}  // namespace

void failed_file(const std::filesystem::path& path, const std::string& what) {
  throw IoError(Place{path.string(), 0, {}}, fmt::format("{}: {}.", what, CPLGetLastErrorMsg()),
                "Check free space and permissions.");
}

void write_geopackage(const std::filesystem::path& path, const std::string& crs,
                      const std::vector<DrawnLayer>& layers) {
  make_folder(path.parent_path());
  CPLSetConfigOption("OGR_CURRENT_DATE", "2027-02-01T00:00:00.000Z");
  const OGRSpatialReference from = named_system(kValleyCrs), to = named_system(crs);
  std::unique_ptr<OGRCoordinateTransformation> change;
  if (crs != kValleyCrs) change.reset(OGRCreateCoordinateTransformation(&from, &to));
  const std::filesystem::path part = part_path(path);
  discard_part(path);
  auto set = start("GPKG", part);
  char** options =
      CSLSetNameValue(nullptr, "DESCRIPTION", "Invented demo data: no such place or people exist.");
  options = CSLSetNameValue(options, "GEOMETRY_NAME", "geom");
  for (const DrawnLayer& layer : layers) add_layer(*set, part, layer, &to, change.get(), options);
  CSLDestroy(options);
  close(std::move(set), part);
  CPLSetConfigOption("OGR_CURRENT_DATE", nullptr);
  publish(path);
}

void write_unlabelled_shapefile(const std::filesystem::path& path, const DrawnLayer& layer) {
  const std::filesystem::path aside = path.parent_path() / "aside.part";
  std::filesystem::remove_all(aside);
  make_folder(aside);
  auto set = start("ESRI Shapefile", aside / path.filename());
  char** options = CSLSetNameValue(nullptr, "DBF_DATE_LAST_UPDATE", "2027-02-01");
  options = CSLSetNameValue(options, "ENCODING", "UTF-8");
  add_layer(*set, path, layer, nullptr, nullptr, options);
  CSLDestroy(options);
  close(std::move(set), path);
  for (const auto& entry : std::filesystem::directory_iterator(aside)) {
    std::filesystem::rename(entry.path(), path.parent_path() / entry.path().filename());
  }
  std::filesystem::remove_all(aside);
}

double shared_area(const std::vector<std::vector<Spot>>& a, const std::vector<std::vector<Spot>>& b) {
  const OGRMultiPolygon one = area_of(a), two = area_of(b);
  const std::unique_ptr<OGRGeometry> both(one.Intersection(&two));
  if (!both) throw Defect("areas of the demo valley do not intersect cleanly.");
  const OGRwkbGeometryType kind = wkbFlatten(both->getGeometryType());
  if (kind == wkbPolygon) return both->toPolygon()->get_Area();
  if (OGR_GT_IsSubClassOf(kind, wkbGeometryCollection)) return both->toGeometryCollection()->get_Area();
  return 0;
}

}  // namespace swardline::landscape
