#include "swardline/geo/vectors.hpp"

#include <doctest/doctest.h>
#include <fmt/format.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <functional>
#include <limits>

#include "swardline/base/error.hpp"

namespace vectors_test {

using namespace swardline;
namespace fs = std::filesystem;

namespace {

/// A folder that goes when the test ends.
class Folder {
 public:
  Folder() : path_(fs::temp_directory_path() / fmt::format("swardline-vectors-{}-{}", getpid(), ++count_)) {
    fs::create_directories(path_);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  ~Folder() {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
  }
  fs::path operator/(const std::string& name) const { return path_ / name; }

 private:
  static inline int count_ = 0;
  fs::path path_;
};

void write_text(const fs::path& file, const std::string& text) {
  std::ofstream(file, std::ios::binary) << text;
}

struct Sample {
  std::string driver = "GPKG";
  std::string crs = "EPSG:26914";  ///< empty: none
  std::vector<std::string> shapes = {
      "POLYGON ((657000 4209800,657100 4209800,657100 4209900,657000 4209800))"};
  std::string layer = "sites";
  OGRwkbGeometryType type = wkbUnknown;
  std::function<void(OGRFeature&)> adjust = {};
};

void write_layer(const fs::path& file, const Sample& sample) {
  GDALAllRegister();
  CPLPushErrorHandler(CPLQuietErrorHandler);  // some samples are broken on purpose
  GDALDriver* driver = GetGDALDriverManager()->GetDriverByName(sample.driver.c_str());
  REQUIRE(driver != nullptr);
  GDALDataset* dataset = fs::exists(file) ? GDALDataset::Open(file.c_str(), GDAL_OF_VECTOR | GDAL_OF_UPDATE)
                                          : driver->Create(file.c_str(), 0, 0, 0, GDT_Unknown, nullptr);
  REQUIRE(dataset != nullptr);
  OGRSpatialReference reference;
  if (!sample.crs.empty()) reference.SetFromUserInput(sample.crs.c_str());
  reference.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
  OGRLayer* layer = dataset->CreateLayer(sample.layer.c_str(), sample.crs.empty() ? nullptr : &reference,
                                         sample.type, nullptr);
  REQUIRE(layer != nullptr);
  OGRFieldDefn code("code", OFTString);
  OGRFieldDefn owner("owner", OFTString);
  OGRFieldDefn area("area_ha", OFTReal);
  OGRFieldDefn seen("seen", OFTDate);
  OGRFieldDefn at("at", sample.driver == "ESRI Shapefile" ? OFTDate : OFTDateTime);
  OGRFieldDefn blank("blank", OFTInteger);
  for (OGRFieldDefn* field : {&code, &owner, &area, &seen, &at, &blank})
    REQUIRE(layer->CreateField(field) == OGRERR_NONE);
  int number = 0;
  for (const std::string& shape : sample.shapes) {
    OGRFeature feature(layer->GetLayerDefn());
    feature.SetField("code", fmt::format("S{:02}", ++number).c_str());
    feature.SetField("owner", "private person");
    feature.SetField("area_ha", 0.1);
    feature.SetField("seen", 2027, 5, 8);
    feature.SetField("at", 2027, 5, 8, 9, 5, 7.0F, 100);
    if (!shape.empty()) {
      OGRGeometry* geometry = nullptr;
      REQUIRE(OGRGeometryFactory::createFromWkt(shape.c_str(), nullptr, &geometry) == OGRERR_NONE);
      feature.SetGeometryDirectly(geometry);
    }
    if (sample.adjust) sample.adjust(feature);
    REQUIRE(layer->CreateFeature(&feature) == OGRERR_NONE);
  }
  GDALClose(dataset);
  CPLPopErrorHandler();
}

struct Result {
  VectorLayer layer;
  Flags flags;

  [[nodiscard]] const Flag* find(const std::string& check) const {
    for (const Flag& flag : flags.all()) {
      if (flag.check == check) return &flag;
    }
    return nullptr;
  }
};

Result read(const fs::path& file, const std::string& declared = {}, const std::string& layer = {},
            const std::vector<std::string>& private_fields = {"owner"}) {
  Result result;
  const VectorRequest request{file, layer, declared, private_fields, {"plan.toml", 12, "[sites]"}};
  result.layer = read_vectors(request, Crs::from_text("EPSG:26914"), result.flags);
  return result;
}

}  // namespace

TEST_CASE("a layer in the plan's own system comes through untouched") {
  const Folder folder;
  write_layer(folder / "sites.gpkg", {});
  const Result result = read(folder / "sites.gpkg");
  CHECK(result.flags.all().empty());
  REQUIRE(result.layer.features.size() == 1);
  const Feature& site = result.layer.features.front();
  CHECK(site.geometry.area() == 5000);
  CHECK(site.place.text() == "sites.gpkg, feature 1");
  CHECK(result.layer.route.empty());
  CHECK(result.layer.route_accuracy_m == 0);
  CHECK_FALSE(result.layer.crs_declared);
  REQUIRE(result.layer.crs);
  CHECK(result.layer.crs->code() == "EPSG:26914");
}

TEST_CASE("attributes come as text, dates as ISO, nulls as nothing and private ones never") {
  const Folder folder;
  write_layer(folder / "sites.gpkg", {});
  const Sample json{"GeoJSON", "EPSG:4326", {"POLYGON ((-96.1 38,-96 38,-96 38.1,-96.1 38))"}};
  write_layer(folder / "sites.geojson", json);  // a format that cannot skip attributes
  for (const char* name : {"sites.gpkg", "sites.geojson"}) {
    CAPTURE(name);
    const Result result = read(folder / name, {}, {}, {"OWNER"});
    REQUIRE(result.layer.features.size() == 1);
    const auto& fields = result.layer.features.front().fields;
    CHECK(fields.at("code") == "S01");
    CHECK(fields.at("area_ha") == "0.1");
    CHECK(fields.at("seen") == "2027-05-08");
    CHECK(fields.at("at") == "2027-05-08T09:05:07Z");
    if (fields.contains("blank")) CHECK(fields.at("blank").empty());  // GeoJSON leaves unset ones out
    CHECK_FALSE(fields.contains("owner"));
    for (const auto& [key, value] : fields) CHECK(value.find("private") == std::string::npos);
  }
}

TEST_CASE("a private attribute that is only nearly there is asked about") {
  const Folder folder;
  write_layer(folder / "sites.gpkg", {});
  const Result result = read(folder / "sites.gpkg", {}, {}, {"ownr"});
  const Flag* flag = result.find("private attribute not found");
  REQUIRE(flag != nullptr);
  CHECK(flag->severity == Severity::ask);
  CHECK(flag->meaning.find("\"owner\"") != std::string::npos);
}

TEST_CASE("without a coordinate system nothing is guessed and nothing is read") {
  const Folder folder;
  write_layer(folder / "none.gpkg", {.crs = ""});
  write_layer(folder / "none.shp", {.driver = "ESRI Shapefile", .crs = "", .type = wkbPolygon});
  write_layer(folder / "undefined.gpkg", {});
  write_layer(folder / "cartesian.gpkg", {});
  for (const auto& [name, id] : {std::pair{"undefined.gpkg", 0}, std::pair{"cartesian.gpkg", -1}}) {
    GDALDataset* dataset = GDALDataset::Open((folder / name).c_str(), GDAL_OF_VECTOR | GDAL_OF_UPDATE);
    REQUIRE(dataset != nullptr);
    for (const char* table : {"gpkg_contents", "gpkg_geometry_columns"}) {
      dataset->ExecuteSQL(fmt::format("UPDATE {} SET srs_id = {}", table, id).c_str(), nullptr, nullptr);
    }
    GDALClose(dataset);
  }
  for (const char* name : {"none.gpkg", "none.shp", "undefined.gpkg", "cartesian.gpkg"}) {
    CAPTURE(name);
    const Result result = read(folder / name);
    CHECK(result.layer.features.empty());
    CHECK_FALSE(result.layer.crs);
    const Flag* flag = result.find("no coordinate system");
    REQUIRE(flag != nullptr);
    CHECK(flag->severity == Severity::stop);
    CHECK(flag->place.text() == "plan.toml:12 [sites]");
    CHECK(flag->meaning.find(std::string(name) + " has no coordinate system. Nothing was guessed") == 0);
    CHECK(flag->remedy.find("crs = \"EPSG:") != std::string::npos);

    const Result declared = read(folder / name, "EPSG:26914");
    CHECK(declared.flags.all().empty());
    CHECK(declared.layer.features.size() == 1);
    CHECK(declared.layer.crs_declared);
  }
}

TEST_CASE("a projection without a datum counts as no coordinate system") {
  const Folder folder;
  write_layer(folder / "sites.gpkg", {.crs = "+proj=utm +zone=14 +ellps=clrk66 +units=m"});
  const Result result = read(folder / "sites.gpkg");
  CHECK(result.layer.features.empty());
  const Flag* flag = result.find("no coordinate system");
  REQUIRE(flag != nullptr);
  CHECK(flag->meaning.find("no datum") != std::string::npos);
  CHECK(read(folder / "sites.gpkg", "EPSG:26714").layer.features.size() == 1);
}

TEST_CASE("NAD27 numbers declared as such move by some 211 m, with the route said") {
  const Folder folder;
  write_layer(folder / "qpr.gpkg", {.crs = "", .shapes = {"POINT (761688.07 4209802.98)"}});
  const Result result = read(folder / "qpr.gpkg", "EPSG:26714");
  REQUIRE(result.layer.features.size() == 1);
  const Feature& feature = result.layer.features.front();
  const Point p = points_of(feature.geometry).front();
  CHECK(std::hypot(p.x - 761656.8, p.y - 4210011.8) < 10);
  CHECK(p.x == std::round(p.x * 1000) / 1000);
  CHECK(points_of(feature.as_read).front() == Point{761688.07, 4209802.98});
  CHECK(result.layer.route.find("NAD27") != std::string::npos);
  CHECK(result.layer.route_accuracy_m > 0);
}

TEST_CASE("a declared system that the file contradicts is a stop that says both") {
  const Folder folder;
  write_layer(folder / "sites.gpkg", {});
  const Result result = read(folder / "sites.gpkg", "EPSG:26714");
  CHECK(result.layer.features.empty());
  const Flag* flag = result.find("coordinate system declared twice");
  REQUIRE(flag != nullptr);
  CHECK(flag->severity == Severity::stop);
  CHECK(flag->meaning.find("NAD83 / UTM zone 14N") != std::string::npos);
  CHECK(flag->meaning.find("NAD27 / UTM zone 14N") != std::string::npos);
  CHECK(read(folder / "sites.gpkg", "EPSG:26914").flags.all().empty());  // said twice, but the same
  CHECK(read(folder / "sites.gpkg", "EPSG:99").find("coordinate system not known") != nullptr);
}

TEST_CASE("GeoJSON is WGS84, and projected numbers in it are found out") {
  const Folder folder;
  write_text(folder / "good.geojson",
             R"({"type":"FeatureCollection","features":[{"type":"Feature","properties":{"code":"A"},)"
             R"("geometry":{"type":"Point","coordinates":[-96.02184,38.00412,310]}}]})");
  write_text(folder / "metres.geojson",
             R"({"type":"FeatureCollection","features":[{"type":"Feature","properties":{},)"
             R"("geometry":{"type":"Point","coordinates":[761488,4210459]}}]})");
  const Result good = read(folder / "good.geojson");
  REQUIRE(good.layer.features.size() == 1);
  const Point p = points_of(good.layer.features.front().geometry).front();
  CHECK(std::hypot(p.x - 761488.598, p.y - 4210458.643) < 0.002);
  const Result metres = read(folder / "metres.geojson");
  CHECK(metres.layer.features.empty());
  CHECK(metres.find("coordinates are not degrees") != nullptr);
}

TEST_CASE("an empty layer, a missing one, a table without geometry and no file at all are stops") {
  const Folder folder;
  write_layer(folder / "empty.gpkg", {.shapes = {}});
  CHECK(read(folder / "empty.gpkg").find("empty layer") != nullptr);

  const Result missing = read(folder / "empty.gpkg", {}, "site");
  REQUIRE(missing.find("layer not found") != nullptr);
  CHECK(missing.find("layer not found")->remedy == "Did you mean \"sites\"?");

  write_text(folder / "table.csv", "code,name\nA,b\n");
  CHECK(read(folder / "table.csv", "EPSG:26914").find("no geometry") != nullptr);

  const Result none = read(folder / "nothing.gpkg");
  REQUIRE(none.find("file cannot be opened") != nullptr);
  CHECK(none.find("file cannot be opened")->meaning.find("No such file") != std::string::npos);
  CHECK(none.find("file cannot be opened")->meaning.back() == '.');
  for (const Result& result : {read(folder / "empty.gpkg"), read(folder / "nothing.gpkg")}) {
    CHECK(result.flags.stopped());
    CHECK(result.layer.features.empty());
  }
}

TEST_CASE("with several layers the first is used and said, or the one that is named") {
  const Folder folder;
  write_layer(folder / "both.gpkg", {.layer = "sites"});
  write_layer(folder / "both.gpkg", {.shapes = {"POINT (1 2)", "POINT (3 4)"}, .layer = "gates"});
  const Result first = read(folder / "both.gpkg");
  CHECK(first.layer.features.size() == 1);
  CHECK(first.find("several layers") != nullptr);
  const Result named = read(folder / "both.gpkg", {}, "gates");
  CHECK(named.layer.features.size() == 2);
  CHECK(named.flags.all().empty());
}

TEST_CASE("truncated files give a stop and no features, never some of them") {
  const Folder folder;
  std::vector<std::string> many;
  for (int i = 0; i < 3000; ++i) {
    many.push_back(fmt::format("POLYGON (({0} 0,{1} 0,{1} 1,{0} 1,{0} 0))", 2 * i, 2 * i + 1));
  }
  write_layer(folder / "whole.gpkg", {.shapes = many});
  write_layer(folder / "whole.geojson",
              {.driver = "GeoJSON", .crs = "EPSG:4326", .shapes = {many[0], many[1]}});
  write_layer(folder / "whole.shp", {.driver = "ESRI Shapefile", .shapes = many, .type = wkbPolygon});
  REQUIRE(read(folder / "whole.gpkg").layer.features.size() == 3000);
  REQUIRE(read(folder / "whole.shp").layer.features.size() == 3000);
  for (const char* name : {"whole.gpkg", "whole.geojson", "whole.shp"}) {
    const fs::path file = folder / name;
    const auto size = static_cast<double>(fs::file_size(file));
    for (const double share : {0.8, 0.5, 0.2, 0.001}) {
      CAPTURE(name);
      CAPTURE(share);
      fs::resize_file(file, static_cast<std::uintmax_t>(size * share));
      const Result result = read(file);
      CHECK(result.layer.features.empty());
      CHECK(result.flags.stopped());
    }
  }
}

TEST_CASE("broken features are found all at once, with their places, and the sound ones stay") {
  const Folder folder;
  const double nan = std::numeric_limits<double>::quiet_NaN();
  int row = 0;
  Sample sample{.shapes = {"POINT (1 2)", "", "POINT (3 4)", "LINESTRING (0 0,1 1)", "POLYGON EMPTY",
                           "POLYGON ((0 0,1e300 0,1 1,0 0))", "POINT (1 1e20)"}};
  sample.adjust = [&](OGRFeature& feature) {
    ++row;
    if (row == 3) feature.GetGeometryRef()->toPoint()->setX(std::numeric_limits<double>::infinity());
    if (row == 4) feature.GetGeometryRef()->toLineString()->setPoint(1, nan, 1);
  };
  write_layer(folder / "mixed.gpkg", sample);
  const Result result = read(folder / "mixed.gpkg");
  CHECK(result.layer.features.size() == 1);
  std::vector<std::string> found;
  for (const Flag& flag : result.flags.all()) found.push_back(flag.place.text() + ": " + flag.check);
  CHECK(found == std::vector<std::string>{
                     "mixed.gpkg, feature 2: no geometry", "mixed.gpkg, feature 3: coordinates not numbers",
                     "mixed.gpkg, feature 4: coordinates not numbers", "mixed.gpkg, feature 5: no geometry",
                     "mixed.gpkg, feature 6: coordinates beyond the earth",
                     "mixed.gpkg, feature 7: coordinates beyond the earth"});
}

TEST_CASE("curves become lines within half a millimetre, heights go and parts stay parts") {
  const Folder folder;
  write_layer(folder / "curves.gpkg",
              {.shapes = {"CURVEPOLYGON (CIRCULARSTRING (657100 4209800,657000 4209900,656900 4209800,"
                          "657000 4209700,657100 4209800))",
                          "MULTIPOLYGON Z (((0 0 5,1 0 5,1 1 5,0 0 5)),((2 0 5,3 0 5,3 1 5,2 0 5)))"}});
  const Result result = read(folder / "curves.gpkg");
  REQUIRE(result.layer.features.size() == 2);
  const Geometry& circle = result.layer.features[0].geometry;
  CHECK(circle.area() == doctest::Approx(3.14159265358979 * 100 * 100).epsilon(2e-6));
  CHECK(result.find("curves") != nullptr);
  CHECK(to_wkt(result.layer.features[1].geometry).find("MULTIPOLYGON (((") == 0);
  CHECK(to_wkt(result.layer.features[1].as_read).find(" 5") == std::string::npos);
}

TEST_CASE("an unclosed ring is closed and said; a self-crossing one stays for the check to report") {
  const Folder folder;
  write_text(folder / "open.geojson",
             R"({"type":"FeatureCollection","features":[{"type":"Feature","properties":{},"geometry":)"
             R"({"type":"Polygon","coordinates":[[[-96,38],[-96.01,38],[-96.01,38.01],[-96,38.01]]]}}]})");
  const Result open = read(folder / "open.geojson");
  REQUIRE(open.layer.features.size() == 1);
  CHECK(open.find("rings not closed") != nullptr);
  CHECK(open.layer.features.front().geometry.area() > 9e5);

  write_layer(
      folder / "bow.gpkg",
      {.shapes = {"POLYGON ((657000 4209800,657020 4209820,657020 4209800,657000 4209820,657000 4209800))"}});
  const Result bow = read(folder / "bow.gpkg");
  REQUIRE(bow.layer.features.size() == 1);
  CHECK(made_valid(bow.layer.features.front().geometry).problem ==
        "self-crossing ring at 657010.0 4209810.0");
}

TEST_CASE("text that is not UTF-8 is read as Latin-1 and asked about") {
  const Folder folder;
  write_layer(folder / "sites.shp", {.driver = "ESRI Shapefile", .type = wkbPolygon});
  fs::remove(folder / "sites.cpg");
  std::fstream table(folder / "sites.dbf", std::ios::in | std::ios::out | std::ios::binary);
  std::string bytes((std::istreambuf_iterator<char>(table)), std::istreambuf_iterator<char>());
  bytes[29] = 0;  // no code page: GDAL hands the bytes over as they are
  const std::size_t at = bytes.find("S01");
  REQUIRE(at != std::string::npos);
  bytes[at] = '\xC9';
  table.close();
  write_text(folder / "sites.dbf", bytes);
  const Result result = read(folder / "sites.shp");
  REQUIRE(result.find("text encoding") != nullptr);
  REQUIRE(result.layer.features.size() == 1);
  const std::string& code = result.layer.features.front().fields.at("code");
  CHECK(code ==
        "\xC3\x89"
        "01");
}

TEST_CASE(
    "a feature that does not survive the transformation is a stop; one under a millimetre is asked about") {
  const Folder folder;
  write_layer(folder / "far.gpkg",
              {.crs = "EPSG:4326",
               .shapes = {"POINT (-96 38)", "POINT (0 0)",
                          "POLYGON ((-96 38,-96.000000001 38,-96 38.000000001,-96 38))"}});
  const Result result = read(folder / "far.gpkg");
  CHECK(result.layer.features.size() == 1);
  CHECK(result.find("too small") != nullptr);
  const Flag* lost = result.find("cannot be transformed");
  REQUIRE(lost != nullptr);
  CHECK(lost->severity == Severity::stop);
  CHECK(lost->place.text() == "far.gpkg, feature 2");
}

}  // namespace vectors_test
