// Small vector files written whole, with fixed dates so that making them again changes nothing.
#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "view.hpp"

namespace swardline::landscape {

enum class Shape { point, line, area };

struct Drawn {
  std::vector<std::vector<Spot>> parts;  ///< rings (closed implicitly), lines, or one point in one part
  std::map<std::string, std::string> fields;
};

struct DrawnLayer {
  std::string name;
  Shape shape = Shape::area;
  std::vector<std::string> fields;
  std::vector<Drawn> features;
};

/// Throws IoError for a file that cannot be made or written: `what` went wrong, and GDAL's last words.
[[noreturn]] void failed_file(const std::filesystem::path& path, const std::string& what);

/// Writes layers as one GeoPackage, coordinates taken from metres of the valley's system into `crs`, to
/// the millimetre. Throws IoError.
void write_geopackage(const std::filesystem::path& path, const std::string& crs,
                      const std::vector<DrawnLayer>& layers);

/// Writes one layer as a shapefile that does not say its coordinate system; coordinates go in as they are.
void write_unlabelled_shapefile(const std::filesystem::path& path, const DrawnLayer& layer);

/// Square metres two multi-part areas share.
[[nodiscard]] double shared_area(const std::vector<std::vector<Spot>>& a,
                                 const std::vector<std::vector<Spot>>& b);

}  // namespace swardline::landscape
