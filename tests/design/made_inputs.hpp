// Layers and folders made for one test.
#pragma once

#include <doctest/doctest.h>
#include <gdal_priv.h>
#include <ogr_spatialref.h>
#include <ogrsf_frmts.h>
#include <unistd.h>

#include <filesystem>
#include <functional>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/geo/geometry.hpp"

namespace swardline {

/// A folder that is gone when the test ends.
class TestFolder {
 public:
  TestFolder() {
    static int count = 0;
    path_ = std::filesystem::temp_directory_path() /
            ("swardline-design-" + std::to_string(::getpid()) + "-" + std::to_string(++count));
    std::filesystem::create_directories(path_);
  }
  ~TestFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  TestFolder(const TestFolder&) = delete;
  TestFolder& operator=(const TestFolder&) = delete;
  [[nodiscard]] std::filesystem::path operator/(const std::string& name) const { return path_ / name; }
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

struct MadeFeature {
  std::string wkt;
  std::map<std::string, std::string> fields;
};

/// A GeoPackage layer of text attributes.
inline void make_vectors(const std::filesystem::path& file, const std::string& crs,
                         const std::vector<MadeFeature>& features) {
  GDALAllRegister();
  GDALDataset* dataset = GetGDALDriverManager()->GetDriverByName("GPKG")->Create(file.string().c_str(), 0, 0,
                                                                                 0, GDT_Unknown, nullptr);
  REQUIRE(dataset != nullptr);
  OGRSpatialReference reference;
  REQUIRE(reference.SetFromUserInput(crs.c_str()) == OGRERR_NONE);
  reference.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
  OGRLayer* layer = dataset->CreateLayer("made", &reference, wkbUnknown, nullptr);
  REQUIRE(layer != nullptr);
  for (const MadeFeature& made : features) {
    for (const auto& [name, value] : made.fields) {
      if (layer->GetLayerDefn()->GetFieldIndex(name.c_str()) < 0) {
        OGRFieldDefn field(name.c_str(), OFTString);
        REQUIRE(layer->CreateField(&field) == OGRERR_NONE);
      }
    }
  }
  for (const MadeFeature& made : features) {
    OGRFeature feature(layer->GetLayerDefn());
    for (const auto& [name, value] : made.fields) feature.SetField(name.c_str(), value.c_str());
    OGRGeometry* geometry = nullptr;
    REQUIRE(OGRGeometryFactory::createFromWkt(made.wkt.c_str(), &reference, &geometry) == OGRERR_NONE);
    feature.SetGeometryDirectly(geometry);
    REQUIRE(layer->CreateFeature(&feature) == OGRERR_NONE);
  }
  GDALClose(dataset);
}

/// A Byte raster in tiles; `value(col, row)` of its own cells, row 0 in the north; 255 is no data.
inline void make_raster(const std::filesystem::path& file, const std::string& crs, Point north_west,
                        double cell_m, int cols, int rows, const std::function<int(int, int)>& value) {
  GDALAllRegister();
  const char* options[] = {"TILED=YES", nullptr};
  GDALDataset* dataset = GetGDALDriverManager()->GetDriverByName("GTiff")->Create(
      file.string().c_str(), cols, rows, 1, GDT_Byte, const_cast<char**>(options));
  REQUIRE(dataset != nullptr);
  double transform[6] = {north_west.x, cell_m, 0, north_west.y, 0, -cell_m};
  dataset->SetGeoTransform(transform);
  OGRSpatialReference reference;
  REQUIRE(reference.SetFromUserInput(crs.c_str()) == OGRERR_NONE);
  dataset->SetSpatialRef(&reference);
  GDALRasterBand* band = dataset->GetRasterBand(1);
  band->SetNoDataValue(255);
  std::vector<unsigned char> line(static_cast<std::size_t>(cols));
  for (int row = 0; row < rows; ++row) {
    for (int col = 0; col < cols; ++col) line[std::size_t(col)] = static_cast<unsigned char>(value(col, row));
    REQUIRE(band->RasterIO(GF_Write, 0, row, cols, 1, line.data(), cols, 1, GDT_Byte, 0, 0) == CE_None);
  }
  GDALClose(dataset);
}

/// WKT of a rectangle.
inline std::string rectangle(double x0, double y0, double x1, double y1) {
  return to_wkt(box_polygon({x0, y0, x1, y1}));
}

/// The flags of one check, in the order they were raised.
inline std::vector<Flag> flags_of(const Flags& flags, const std::string& check) {
  std::vector<Flag> found;
  for (const Flag& flag : flags.all()) {
    if (flag.check == check) found.push_back(flag);
  }
  return found;
}

inline bool says(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

}  // namespace swardline
