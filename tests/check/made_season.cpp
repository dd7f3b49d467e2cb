#include "made_season.hpp"

#include <fmt/format.h>
#include <gdal_priv.h>
#include <ogr_spatialref.h>
#include <ogrsf_frmts.h>
#include <unistd.h>

#include <set>

#include "swardline/base/files.hpp"
#include "swardline/grid/layers.hpp"

namespace check_test {

using namespace swardline;

namespace {

const char* const sound_plan = R"([season]
name = "Made season"
crs = "EPSG:26914"
seed = 2027

[sites]
source = "sites.gpkg"

[sites.access]
start = "parking.gpkg"

[layers.cover]
source = "cover.tif"
classes = { 1 = "MP", 2 = "GL", 3 = "OW" }

[layers.moisture]
source = "moisture.tif"
unit = "percent"

[layers.elevation]
source = "elevation.tif"
unit = "m"

[sample]
each = 6
)";

const char* const sound_sheet = R"(code = "PTUB"
name = "Penstemon tubaeflorus"
[[factor]]
layer = "moisture"
trapezoid = [5, 15, 30, 60]
[[factor]]
layer = "cover"
scores = { MP = 1.0, GL = 0.5 }
excluded = ["OW"]
)";

OGRSpatialReference system_of(const std::string& crs) {
  OGRSpatialReference system;
  REQUIRE(system.SetFromUserInput(crs.c_str()) == OGRERR_NONE);
  system.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
  return system;
}

double cover_at(int col, int row) {
  if (col >= 60 && col < 70 && row >= 60 && row < 80) return 3;
  return col >= 100 ? 2 : 1;
}

}  // namespace

MadeSeason::MadeSeason() {
  std::string pattern = (std::filesystem::temp_directory_path() / "swardline-check-XXXXXX").string();
  REQUIRE(mkdtemp(pattern.data()) != nullptr);
  folder_ = pattern;
  plan = sound_plan;
  sheets["PTUB.toml"] = sound_sheet;
  rasters["cover.tif"].value = cover_at;
  rasters["moisture.tif"].value = [](int col, int) { return 10 + col * 47 / 159; };
  MadeRaster& elevation = rasters["elevation.tif"];
  elevation.kind = "Float32";
  elevation.has_nodata = false;
  elevation.value = [](int col, int) { return 250 + 1.5 * col; };
  vectors["sites.gpkg"].features = {
      {square(760200, 4210000, 300), {{"code", "QPR"}, {"name", "Quill Prairie"}}},
      {square(760900, 4210300, 300), {{"code", "SKP"}, {"name", "Skep Sand Prairie"}}}};
  vectors["parking.gpkg"].features = {{point(760190, 4210100), {{"site", "QPR"}}},
                                      {point(760890, 4210400), {{"site", "SKP"}}}};
}

MadeSeason::~MadeSeason() {
  std::error_code ignored;
  std::filesystem::remove_all(folder_, ignored);
}

void MadeSeason::change_plan(const std::string& from, const std::string& to) {
  const auto at = plan.find(from);
  REQUIRE_MESSAGE(at != std::string::npos, "not in the plan: ", from);
  plan.replace(at, from.size(), to);
}

void MadeSeason::write() const {
  write_whole(folder_ / "plan.toml", plan);
  std::filesystem::create_directories(folder_ / "species");
  for (const auto& [name, text] : sheets) write_whole(folder_ / "species" / name, text);
  for (const auto& [name, raster] : rasters) write_raster(folder_ / name, raster);
  for (const auto& [name, made] : vectors) write_vectors(folder_ / name, made);
}

CheckResult MadeSeason::check(int threads) const {
  write();
  return check_season(folder_ / "plan.toml", {threads, {}});
}

std::string square(double x, double y, double side) {
  return fmt::format("POLYGON(({0} {1},{2} {1},{2} {3},{0} {3},{0} {1}))", x, y, x + side, y + side);
}

std::string point(double x, double y) { return fmt::format("POINT({} {})", x, y); }

void write_raster(const std::filesystem::path& file, const MadeRaster& raster) {
  set_up_gdal();
  const char* options[] = {"TILED=YES", nullptr};
  GDALDataset* dataset = GetGDALDriverManager()->GetDriverByName("GTiff")->Create(
      file.c_str(), raster.cols, raster.rows, 1, GDALGetDataTypeByName(raster.kind.c_str()),
      const_cast<char**>(options));
  REQUIRE(dataset != nullptr);
  double transform[6] = {raster.west != 0 ? raster.west : MadeSeason::west,    raster.cell, 0,
                         raster.north != 0 ? raster.north : MadeSeason::north, 0,           -raster.cell};
  dataset->SetGeoTransform(transform);
  if (!raster.crs.empty()) {
    const OGRSpatialReference system = system_of(raster.crs);
    dataset->SetSpatialRef(&system);
  }
  GDALRasterBand* band = dataset->GetRasterBand(1);
  if (raster.has_nodata) band->SetNoDataValue(raster.nodata);
  if (!raster.unit.empty()) band->SetUnitType(raster.unit.c_str());
  std::vector<double> line(static_cast<std::size_t>(raster.cols));
  for (int row = 0; row < raster.rows; ++row) {
    for (int col = 0; col < raster.cols; ++col) line[std::size_t(col)] = raster.value(col, row);
    REQUIRE(band->RasterIO(GF_Write, 0, row, raster.cols, 1, line.data(), raster.cols, 1, GDT_Float64, 0, 0,
                           nullptr) == CE_None);
  }
  GDALClose(dataset);
}

void write_vectors(const std::filesystem::path& file, const MadeVectors& vectors) {
  set_up_gdal();
  std::filesystem::remove(file);
  GDALDataset* dataset =
      GetGDALDriverManager()->GetDriverByName("GPKG")->Create(file.c_str(), 0, 0, 0, GDT_Unknown, nullptr);
  REQUIRE(dataset != nullptr);
  OGRSpatialReference system;
  if (!vectors.crs.empty()) system = system_of(vectors.crs);
  OGRLayer* layer =
      dataset->CreateLayer("made", vectors.crs.empty() ? nullptr : &system, wkbUnknown, nullptr);
  REQUIRE(layer != nullptr);
  std::set<std::string> names;
  for (const MadeFeature& feature : vectors.features)
    for (const auto& [name, value] : feature.fields) names.insert(name);
  for (const std::string& name : names) {
    OGRFieldDefn field(name.c_str(), OFTString);
    REQUIRE(layer->CreateField(&field) == OGRERR_NONE);
  }
  for (const MadeFeature& made : vectors.features) {
    OGRFeature feature(layer->GetLayerDefn());
    for (const auto& [name, value] : made.fields) feature.SetField(name.c_str(), value.c_str());
    OGRGeometry* geometry = nullptr;
    REQUIRE(OGRGeometryFactory::createFromWkt(made.wkt.c_str(), nullptr, &geometry) == OGRERR_NONE);
    feature.SetGeometryDirectly(geometry);
    REQUIRE(layer->CreateFeature(&feature) == OGRERR_NONE);
  }
  GDALClose(dataset);
}

std::string all(const CheckResult& result) {
  std::string text;
  for (const Flag& flag : result.flags.all())
    text += fmt::format("{} [{}] {}: {} {}\n", word(flag.severity), flag.check, flag.place.text(),
                        flag.meaning, flag.remedy);
  return text;
}

std::vector<Flag> of(const CheckResult& result, const std::string& check) {
  std::vector<Flag> found;
  for (const Flag& flag : result.flags.all())
    if (flag.check == check) found.push_back(flag);
  return found;
}

bool has(const std::string& text, const std::string& piece) { return text.find(piece) != std::string::npos; }

}  // namespace check_test
