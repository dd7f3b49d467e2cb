#include "fixture.hpp"

#include <doctest/doctest.h>
#include <gdal.h>
#include <ogr_srs_api.h>

#include <atomic>
#include <limits>

#include "swardline/grid/layers.hpp"

namespace habitat_test {

using namespace swardline;

Folder::Folder() {
  static std::atomic<int> made{0};
  path_ = std::filesystem::temp_directory_path() /
          ("swardline-habitat-" + std::to_string(::getpid()) + "-" + std::to_string(made++));
  std::filesystem::create_directories(path_);
  set_up_gdal();
}
Folder::~Folder() {
  std::error_code ignored;
  std::filesystem::remove_all(path_, ignored);
}

void write_raster(const std::filesystem::path& path, const Raster& raster) {
  GDALDriverH driver = GDALGetDriverByName("GTiff");
  const GDALDataType type = raster.type == Raster::Type::byte    ? GDT_Byte
                            : raster.type == Raster::Type::whole ? GDT_Int16
                                                                 : GDT_Float32;
  GDALDatasetH dataset = GDALCreate(driver, path.c_str(), raster.cols, raster.rows, 1, type, nullptr);
  REQUIRE(dataset != nullptr);
  double transform[6] = {raster.x0, raster.cell, 0, raster.y1, 0, -raster.cell};
  GDALSetGeoTransform(dataset, transform);
  OGRSpatialReferenceH system = OSRNewSpatialReference(nullptr);
  OSRImportFromEPSG(system, 26914);
  GDALSetSpatialRef(dataset, system);
  OSRDestroySpatialReference(system);
  GDALRasterBandH band = GDALGetRasterBand(dataset, 1);
  GDALSetRasterNoDataValue(band, raster.none);
  std::vector<double> values = raster.values;
  REQUIRE(values.size() == std::size_t(raster.cols) * std::size_t(raster.rows));
  REQUIRE(GDALRasterIO(band, GF_Write, 0, 0, raster.cols, raster.rows, values.data(), raster.cols,
                       raster.rows, GDT_Float64, 0, 0) == CE_None);
  GDALClose(dataset);
}

std::vector<double> read_raster(const std::filesystem::path& path) {
  GDALDatasetH dataset = GDALOpen(path.c_str(), GA_ReadOnly);
  REQUIRE(dataset != nullptr);
  const int cols = GDALGetRasterXSize(dataset), rows = GDALGetRasterYSize(dataset);
  std::vector<double> values(std::size_t(cols) * std::size_t(rows));
  REQUIRE(GDALRasterIO(GDALGetRasterBand(dataset, 1), GF_Read, 0, 0, cols, rows, values.data(), cols, rows,
                       GDT_Float64, 0, 0) == CE_None);
  GDALClose(dataset);
  return values;
}

Factor limiting(const std::string& layer, Response response) {
  Factor factor;
  factor.layer = layer;
  factor.role = Role::limiting;
  factor.response = std::move(response);
  return factor;
}
Factor modifying(const std::string& layer, Response response, double weight) {
  Factor factor = limiting(layer, std::move(response));
  factor.role = Role::modifying;
  factor.weight = weight;
  return factor;
}

Sheet pcob() {
  Sheet sheet;
  sheet.code = "PCOB";
  sheet.name = "Penstemon cobaea";
  sheet.common = "showy beardtongue";
  sheet.factors = {
      limiting("moisture", Trapezoid{4, 8, 16, 24}),
      limiting("cover", ClassTable{{{"GL", 1.0}, {"DP", 0.8}, {"RD", 0.5}, {"WD", 0.4}, {"OF", 0.2}},
                                   {"OW", "CR", "DV"},
                                   0.0}),
      limiting("bedrock",
               ClassTable{{{"DOL", 1.0}, {"LOE", 0.6}, {"CHT", 0.5}, {"SST", 0.1}, {"SND", 0.1}}, {}, 0.0}),
      modifying("canopy", Trapezoid{-inf, -inf, 25, 60}, 2),
      modifying("heat", Trapezoid{0.8, 0.95, 1.1, 1.2}, 1)};
  return sheet;
}

Sheet ptub() {
  Sheet sheet;
  sheet.code = "PTUB";
  sheet.name = "Penstemon tubaeflorus";
  sheet.factors = {
      limiting("moisture", Trapezoid{20, 26, 38, 46}),
      limiting(
          "cover",
          ClassTable{
              {{"WM", 1.0}, {"MP", 0.9}, {"RD", 0.5}, {"OF", 0.4}, {"WD", 0.4}, {"GL", 0.3}, {"DP", 0.2}},
              {"OW", "CR", "DV"},
              0.0}),
      modifying("canopy", Trapezoid{-inf, -inf, 25, 60}, 2),
      modifying("heat", Polyline{{{0.75, 0}, {0.9, 1}, {1.06, 1}, {1.15, 0}}}, 1)};
  sheet.masks = {{"elevation", 260.0, {}, "", {}}};
  return sheet;
}

const std::map<long long, std::string>& cover_classes() {
  static const std::map<long long, std::string> classes{{1, "OW"}, {2, "WW"},  {3, "WM"},  {4, "MP"},
                                                        {5, "DP"}, {6, "GL"},  {7, "WD"},  {8, "CF"},
                                                        {9, "OF"}, {10, "RD"}, {11, "CR"}, {12, "DV"}};
  return classes;
}
const std::map<long long, std::string>& bedrock_classes() {
  static const std::map<long long, std::string> classes{{1, "DOL"}, {2, "SST"}, {3, "CHT"},
                                                        {4, "SND"}, {5, "ALL"}, {6, "LOE"}};
  return classes;
}

Season season_in(const Folder& folder, std::vector<Sheet> sheets, const std::vector<std::string>& layers) {
  Season season;
  season.plan.file = folder / "plan.toml";
  season.plan.folder = folder.path();
  season.plan.name = "Ambry Valley Beardtongue Watch 2027";
  season.plan.crs = "EPSG:26914";
  season.plan.seed = 2027;
  season.plan.grid.cell_m = 10;
  season.sheets = std::move(sheets);
  for (const std::string& name : layers) {
    LayerSpec layer;
    layer.name = name;
    layer.source = folder / (name + ".tif");
    layer.place = {"plan.toml", 0, "[layers." + name + "]"};
    if (name == "cover") layer.classes = cover_classes();
    if (name == "bedrock") layer.classes = bedrock_classes();
    if (name == "moisture" || name == "canopy") layer.unit = "percent";
    if (name == "elevation") layer.unit = "m";
    season.plan.layers.push_back(layer);
  }
  return season;
}

}  // namespace habitat_test
