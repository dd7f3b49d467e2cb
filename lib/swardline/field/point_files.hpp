// Files for GPS units and maps: GPX 1.1, GeoJSON (RFC 7946), KML, CSV, GeoPackage.
#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "swardline/design/draw_season.hpp"
#include "swardline/season/plan.hpp"

namespace swardline {

/// A line to follow: a transect's parts inside, or a reference line.
struct FieldLine {
  std::string name, site;
  std::string kind;  ///< "transect", "reference line"
  Geometry line;     ///< WGS84 longitude/latitude
};

/// What point files are made from.
struct FieldPlots {
  std::string season;
  std::vector<Plot> plots;  ///< named, with walking order
  /// Ends and stations among the plots, by name: the transect whose name they begin with.
  std::map<std::string, std::string> belongs_to;
  std::vector<FieldLine> lines;
  std::map<std::string, Geometry> boundaries;  ///< survey areas by site, WGS84 longitude/latitude
  std::map<std::string, std::string> site_names;
  std::string crs_name;  ///< the plan's system, for east and north
};

struct PointFile {
  std::filesystem::path path;
  std::string format;
  int points = 0;
  double largest_difference_m = 0;  ///< after reading the file back
};

/// Writes every asked format under `out`, split by the unit's limits without losing a point, reads
/// each back and compares; then removes what it wrote under `out` before, in any format. One file for all
/// plots and one for each of several sites, no two of one name. Throws IoError when a file cannot be written,
/// Defect when what comes back differs by 0.2 m or more.
[[nodiscard]] std::vector<PointFile> write_points(const FieldPlots& field, const PointsSpec& spec,
                                                  const std::filesystem::path& out);

/// Puts transects into `field`: start, end and frames as points (QPR01K, QPR01KE, QPR01K1 …), and the lines.
void add_transects(FieldPlots& field, const std::vector<Transect>& transects,
                   const std::vector<ReferenceLine>& reference_lines, const Route& to_wgs84);

/// Removes the point files that this library wrote under `out` before, told by name and content, but for
/// those to `keep`: loaded into a unit, points of an earlier draw lead to places that are no plots any more.
/// Returns how many. Throws IoError when one cannot be removed.
int remove_point_files(const std::filesystem::path& out, const std::vector<PointFile>& keep = {});

}  // namespace swardline
