// The writers behind write_points, one per format. Private to this folder.
#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "swardline/field/point_files.hpp"

namespace swardline {

/// Plots that go into one file, in waypoint order, with the names the unit gets.
struct PointLoad {
  std::string title;                           ///< "QPR Quill Prairie", or the season
  std::vector<const Plot*> plots;              ///< by name
  std::map<std::string, std::string> on_unit;  ///< plot name -> name on the unit
  std::vector<std::string> sites;              ///< whose boundaries go along
};

/// Planned plots of one site in walking order.
[[nodiscard]] std::vector<const Plot*> walk_of(const PointLoad& load, const std::string& site);

void write_gpx(const std::filesystem::path& path, const FieldPlots& field, const PointLoad& load,
               int points_per_route);
void write_point_csv(const std::filesystem::path& path, const FieldPlots& field, const PointLoad& load);
/// GeoJSON (RFC 7946), KML and GPKG through GDAL; `format` is the plan's word.
void write_with_gdal(const std::filesystem::path& path, const std::string& format, const FieldPlots& field,
                     const PointLoad& load);

/// Reads a written file back through GDAL: name on the unit -> (longitude, latitude).
[[nodiscard]] std::map<std::string, Point> read_points_back(const std::filesystem::path& path,
                                                            const std::string& format);

}  // namespace swardline
