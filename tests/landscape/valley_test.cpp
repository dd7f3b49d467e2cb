// The demo season's files in git against the generator, and the trouble planted in them.
#include <cpl_error.h>
#include <doctest/doctest.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>

#include <array>
#include <filesystem>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "swardline/base/files.hpp"
#include "swardline/base/workers.hpp"
#include "valley.hpp"
#include "writer.hpp"

namespace valley_test {

using namespace swardline;
using namespace swardline::landscape;
namespace fs = std::filesystem;

namespace {

fs::path demo() { return fs::path(SWARDLINE_SOURCE_DIR) / "samples" / "ambry-valley"; }

std::unique_ptr<GDALDataset> open(const fs::path& path, unsigned kind) {
  GDALAllRegister();
  std::unique_ptr<GDALDataset> set(GDALDataset::Open(path.c_str(), kind | GDAL_OF_READONLY));
  REQUIRE_MESSAGE(set, path.string());
  return set;
}

std::map<std::string, std::unique_ptr<OGRGeometry>> shapes(const fs::path& path, const char* key = "code") {
  const auto set = open(path, GDAL_OF_VECTOR);
  std::map<std::string, std::unique_ptr<OGRGeometry>> found;
  for (const auto& feature : *set->GetLayer(0)) {
    found[feature->GetFieldAsString(key)].reset(feature->GetGeometryRef()->clone());
  }
  return found;
}

double area(const OGRGeometry& geometry) {
  const auto kind = wkbFlatten(geometry.getGeometryType());
  if (kind == wkbPolygon) return geometry.toPolygon()->get_Area();
  if (kind == wkbMultiPolygon || kind == wkbGeometryCollection)
    return geometry.toGeometryCollection()->get_Area();
  return 0;
}

double shared(const OGRGeometry& a, const OGRGeometry& b) {
  const std::unique_ptr<OGRGeometry> both(a.Intersection(&b));
  return both ? area(*both) : 0;
}

// Every layer's features as text: fields and coordinates.
std::string content(const fs::path& path) {
  const auto set = open(path, GDAL_OF_VECTOR);
  std::string text;
  for (OGRLayer* layer : set->GetLayers()) {
    text += std::string("layer ") + layer->GetName() + "\n";
    const OGRSpatialReference* system = layer->GetSpatialRef();
    text += system != nullptr ? system->GetName() : "no system";
    for (const auto& feature : *layer) {
      for (int field = 0; field < feature->GetFieldCount(); ++field) {
        text += std::string("\n") + feature->GetFieldDefnRef(field)->GetNameRef() + "=" +
                feature->GetFieldAsString(field);
      }
      text += "\n" + feature->GetGeometryRef()->exportToWkt();
    }
  }
  return text;
}

}  // namespace

TEST_CASE("the demo's layers in git are what the generator makes, cell by cell") {
  const Land land = valley_land();
  const View view = valley_view();
  std::vector<std::vector<float>> in_git;
  for (const std::string& layer : layer_names()) {
    const auto set = open(demo() / "layers" / (layer + ".tif"), GDAL_OF_RASTER);
    REQUIRE(set->GetRasterXSize() == view.cols);
    REQUIRE(set->GetRasterYSize() == view.rows);
    std::array<double, 6> corner{};
    set->GetGeoTransform(corner.data());
    CHECK(corner == std::array<double, 6>{751400, 10, 0, 4217000, 0, -10});
    in_git.emplace_back(view.cells());
    REQUIRE(set->GetRasterBand(1)->RasterIO(GF_Read, 0, 0, view.cols, view.rows, in_git.back().data(),
                                            view.cols, view.rows, GDT_Float32, 0, 0, nullptr) == CE_None);
  }
  constexpr int kBand = 100;  // rows made at once
  std::vector<std::array<std::size_t, 6>> different(static_cast<std::size_t>(view.rows / kBand));
  in_runs(different.size(), 2, [&](int, std::size_t begin, std::size_t end) {
    LandTile tile;
    for (std::size_t band = begin; band < end; ++band) {
      land.make(view.part(0, static_cast<int>(band) * kBand, view.cols, kBand), tile);
      const std::size_t offset = band * kBand * static_cast<std::size_t>(view.cols);
      const auto count = [&](std::size_t layer, const auto& cells) {
        for (std::size_t i = 0; i < cells.size(); ++i) {
          if (static_cast<float>(cells[i]) != in_git[layer][offset + i]) ++different[band][layer];
        }
      };
      count(0, tile.cover);
      count(1, tile.moisture);
      count(2, tile.elevation);
      count(3, tile.canopy);
      count(4, tile.bedrock);
      count(5, tile.water);
    }
  });
  for (const auto& band : different) CHECK(band == std::array<std::size_t, 6>{});
}

TEST_CASE("the demo's vector files in git hold what the generator makes") {
  const fs::path again = fs::temp_directory_path() / "swardline-valley-again";
  fs::remove_all(again);
  GDALAllRegister();
  write_valley_vectors(again);
  std::size_t sources = 0;
  for (const auto& entry : fs::recursive_directory_iterator(again)) {
    if (entry.path().extension() != ".gpkg" && entry.path().extension() != ".shp") continue;
    ++sources;
    const fs::path name = fs::relative(entry.path(), again);
    CAPTURE(name.string());
    CHECK(content(entry.path()) == content(demo() / name));
  }
  CHECK(sources == 11);
  fs::remove_all(again);
}

TEST_CASE("the demo's pilot in git is what the generator makes") {
  const fs::path again = fs::temp_directory_path() / "swardline-valley-pilot-again";
  fs::remove_all(again);
  fs::create_directories(again);
  write_valley_pilot(again);
  CHECK(read_whole(again / "pilot.csv") == read_whole(demo() / "pilot.csv"));
  fs::remove_all(again);
}

TEST_CASE("every site has the size it should have") {
  auto sites = shapes(demo() / "sites-mended.gpkg");
  auto quill = shapes(demo() / "received" / "quill-prairie.shp");
  auto skep = shapes(demo() / "received" / "skep-east.gpkg");
  const std::map<std::string, double> hectares = {{"ANL", 14},   {"CND", 3.1}, {"DSK", 30},
                                                  {"FLG", 0.11}, {"GRV", 9},   {"HDR", 96},
                                                  {"MRB", 4},    {"NBK", 61},  {"TNY", 18}};
  CHECK(sites.size() == 9);
  for (const auto& [code, size] : hectares) {
    CAPTURE(code);
    CHECK(area(*sites.at(code)) == doctest::Approx(size * 10000).epsilon(1e-3));
    CHECK(sites.at(code)->IsValid());
  }
  CHECK(area(*quill.at("QPR")) == doctest::Approx(420000).epsilon(1e-3));
  double grown = 0;
  const auto larger = open(demo() / "quill-2028.gpkg", GDAL_OF_VECTOR);
  for (const auto& feature : *larger->GetLayer(0)) grown += area(*feature->GetGeometryRef());
  CHECK(grown == doctest::Approx(480000).epsilon(1e-3));
  // Zone 15's scale differs from zone 14's by little: both are three degrees from their middle.
  CHECK(area(*skep.at("SKP")) == doctest::Approx(230000).epsilon(1e-3));
  // 3.4 km, two sides of 2 to 5 m.
  auto received = shapes(demo() / "received" / "sites-main.gpkg");
  CHECK(area(*received.at("PEL")) > 2 * 3400 * 2.0);
  CHECK(area(*received.at("PEL")) < 2 * 3400 * 5.0);
}

TEST_CASE("the trouble is planted where it should be") {
  auto mended = shapes(demo() / "sites-mended.gpkg");
  auto received = shapes(demo() / "received" / "sites-main.gpkg");

  SUBCASE("Gravel Slough overlaps Hadrel Bottoms by 0.6 ha and crosses itself, and is mended") {
    const OGRGeometry& slough = *received.at("GRV");
    CPLPushErrorHandler(CPLQuietErrorHandler);
    CHECK_FALSE(slough.IsValid());
    CPLPopErrorHandler();
    const OGRMultiPolygon& parts = *slough.toMultiPolygon();
    REQUIRE(parts.getNumGeometries() == 2);
    CHECK(shared(*parts.getGeometryRef(0), *received.at("HDR")) == doctest::Approx(6000).epsilon(0.001));
    for (const auto& [a, one] : mended) {
      for (const auto& [b, two] : mended) {
        if (a < b) CHECK_MESSAGE(shared(*one, *two) == 0, a << " and " << b);
      }
    }
  }
  SUBCASE("Quill Prairie's file names no coordinate system and its numbers are NAD27's") {
    const auto set = open(demo() / "received" / "quill-prairie.shp", GDAL_OF_VECTOR);
    CHECK(set->GetLayer(0)->GetSpatialRef() == nullptr);
    OGREnvelope box;
    REQUIRE(set->GetLayer(0)->GetExtent(&box) == OGRERR_NONE);
    const auto& ring = valley_site("QPR").rings[0];
    double west = 1e30, south = 1e30;
    for (const Spot s : ring) {
      west = std::min(west, s.x);
      south = std::min(south, s.y);
    }
    CHECK(box.MinX - west == doctest::Approx(31.3).epsilon(0.001));
    CHECK(box.MinY - south == doctest::Approx(-208.86).epsilon(0.001));
  }
  SUBCASE("Skep Sand Prairie is cut by the 96th meridian, about in half") {
    auto skep = shapes(demo() / "received" / "skep-east.gpkg");
    OGRSpatialReference zone15, degrees;
    zone15.importFromEPSG(26915);
    degrees.importFromEPSG(4269);
    zone15.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
    degrees.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
    const std::unique_ptr<OGRCoordinateTransformation> to(
        OGRCreateCoordinateTransformation(&zone15, &degrees));
    OGRGeometry& shape = *skep.at("SKP");
    REQUIRE(shape.transform(to.get()) == OGRERR_NONE);
    OGREnvelope box;
    shape.getEnvelope(&box);
    const double west_share = (-96 - box.MinX) / (box.MaxX - box.MinX);
    CHECK(west_share > 0.4);
    CHECK(west_share < 0.6);
  }
  SUBCASE("Candlerock: 3.1 ha drawn, 0.4 ha pond with its 3 m, 0.2 ha cliff, 2.5 ha left") {
    auto ponds = shapes(demo() / "ponds.gpkg", "site");
    auto keep_out = shapes(demo() / "no-entry.gpkg", "site");
    const OGRGeometry& site = *mended.at("CND");
    const std::unique_ptr<OGRGeometry> pond(ponds.at("CND")->Buffer(3, 16));
    CHECK(shared(*pond, site) == doctest::Approx(4000).epsilon(0.005));
    CHECK(shared(*keep_out.at("CND"), site) == doctest::Approx(2000).epsilon(0.05));
    CHECK(shared(*pond, *keep_out.at("CND")) == 0);
    CHECK(shared(*keep_out.at("TNY"), *mended.at("TNY")) > 200);
    CHECK(shared(*keep_out.at("ANL"), *mended.at("ANL")) > 3000);
  }
  SUBCASE("Candlerock's pond is newer than the cover, which shows no water there") {
    auto ponds = shapes(demo() / "ponds.gpkg", "site");
    OGREnvelope box;
    ponds.at("CND")->getEnvelope(&box);
    const View view{static_cast<std::int64_t>(box.MinX / 10), static_cast<std::int64_t>(box.MaxY / 10) + 1, 8,
                    8, 10};
    LandTile tile;
    valley_land().make(view, tile);
    for (const auto cover : tile.cover) CHECK(cover != kOpenWater);
  }
  SUBCASE("the bridge lies across both verges of Pell Road") {
    auto bridges = shapes(demo() / "bridges.gpkg", "site");
    CHECK(shared(*bridges.at("PEL"), *received.at("PEL")) > 40 * 2 * 2.0);
  }
  SUBCASE("moisture is missing across the edge of Ninebark Woods, and only there") {
    const auto set = open(demo() / "layers" / "moisture.tif", GDAL_OF_RASTER);
    std::vector<std::uint8_t> cells(valley_view().cells());
    REQUIRE(set->GetRasterBand(1)->RasterIO(GF_Read, 0, 0, 2400, 1400, cells.data(), 2400, 1400, GDT_Byte, 0,
                                            0, nullptr) == CE_None);
    std::size_t inside = 0, outside = 0, i = 0;
    Stretch woods;
    woods.rings = valley_site("NBK").rings;
    for (int r = 0; r < 1400; ++r) {
      for (int c = 0; c < 2400; ++c, ++i) {
        if (cells[i] != kNoMoisture) continue;
        const double edge = edge_distance(woods, {valley_view().x(c), valley_view().y(r)});
        CHECK(edge < 160);
        ++(edge < 0 ? inside : outside);
      }
    }
    CHECK(inside > 40);
    CHECK(outside > 20);
  }
}

TEST_CASE("ten known patches and ten known absences lie in their sites, clear of what is cut out") {
  auto sites = shapes(demo() / "sites-mended.gpkg");
  const auto ponds = shapes(demo() / "ponds.gpkg", "site");
  const auto keep_out = shapes(demo() / "no-entry.gpkg", "site");
  const auto set = open(demo() / "known-patches.gpkg", GDAL_OF_VECTOR);
  std::map<std::string, int> answers;
  for (const auto& feature : *set->GetLayer(0)) {
    const std::string site = feature->GetFieldAsString("site");
    CAPTURE(site);
    ++answers[feature->GetFieldAsString("here")];
    const OGRGeometry& spot = *feature->GetGeometryRef();
    if (sites.count(site) != 0) CHECK(sites.at(site)->Contains(&spot));
    for (const auto* closed : {&ponds, &keep_out}) {
      for (const auto& [where, shape] : *closed) CHECK(shape->Distance(&spot) > 3);
    }
  }
  CHECK(answers == std::map<std::string, int>{{"no", 10}, {"yes", 10}});
}

TEST_CASE("every site holds its habitat") {
  const auto share = [](const char* code, std::vector<std::uint8_t> covers) {
    const Land land = valley_land();
    const auto& rings = valley_site(code).rings;
    Stretch site;
    site.rings = rings;
    std::size_t all = 0, fits = 0, i = 0;
    const View view = valley_view();
    double x0 = 1e30, x1 = 0, y0 = 1e30, y1 = 0;
    for (const auto& ring : rings) {
      for (const Spot s : ring) {
        x0 = std::min(x0, s.x), x1 = std::max(x1, s.x), y0 = std::min(y0, s.y), y1 = std::max(y1, s.y);
      }
    }
    const View box{static_cast<std::int64_t>(x0 / 10), static_cast<std::int64_t>(y1 / 10) + 1,
                   static_cast<int>((x1 - x0) / 10) + 2, static_cast<int>((y1 - y0) / 10) + 2, view.cell_m};
    LandTile tile;
    land.make(box, tile);
    for (int r = 0; r < box.rows; ++r) {
      for (int c = 0; c < box.cols; ++c, ++i) {
        if (edge_distance(site, {box.x(c), box.y(r)}) >= 0) continue;
        ++all;
        for (const auto cover : covers) fits += tile.cover[i] == cover ? 1 : 0;
      }
    }
    return static_cast<double>(fits) / static_cast<double>(all);
  };
  CHECK(share("HDR", {kBottomlandWoods, kWetMeadow}) > 0.9);
  CHECK(share("ANL", {kWetMeadow}) > 0.6);
  CHECK(share("QPR", {kMoistPrairie}) == doctest::Approx(12.0 / 42).epsilon(0.1));
  CHECK(share("SKP", {kDryPrairie}) > 0.6);
  CHECK(share("CND", {kGlade}) > 0.6);
  CHECK(share("FLG", {kGlade, kOpenWoods}) == 1);
  CHECK(share("NBK", {kOpenWoods}) > 0.6);
  CHECK(share("MRB", {kOpenWoods, kGlade}) > 0.7);
  CHECK(share("PEL", {kRoadVerge}) == 1);
  CHECK(share("TNY", {kOldField}) > 0.6);
  CHECK(share("GRV", {kBottomlandWoods, kWetMeadow}) > 0.9);
  CHECK(share("DSK", {kClosedForest}) > 0.8);
}

}  // namespace valley_test
