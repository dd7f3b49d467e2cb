// Notations people read on paper and on GPS units (GeographicLib).
// WGS84 and NAD83 are taken as one here, as FGDC-STD-011-2001 does.
#pragma once

#include <string>
#include <vector>

namespace swardline {

struct Utm {
  int zone = 0;
  bool north = true;
  double easting = 0;   ///< metres
  double northing = 0;  ///< metres
};
/// `zone` 0 = the standard zone (Norway and Svalbard exceptions included), else that zone.
/// Throws InputError outside 80 S – 84 N or too far from the zone.
[[nodiscard]] Utm utm(double lat, double lon, int zone = 0);
[[nodiscard]] std::string utm_text(const Utm& utm);  ///< "14N 761489 4210459" (metres, rounded)

/// United States National Grid, truncated, never rounded (FGDC-STD-011-2001):
/// digits 5 -> "14S QH 61488 10458".
[[nodiscard]] std::string usng(double lat, double lon, int digits = 5, int zone = 0);
/// Back to the centre of the square (lat, lon).
struct LatLon {
  double lat = 0, lon = 0;
};
[[nodiscard]] LatLon from_usng(const std::string& text);
/// Both zones' strings within `within_km` of a zone edge, the standard zone first; one elsewhere.
[[nodiscard]] std::vector<std::string> usng_near_edge(double lat, double lon, double within_km = 40);
[[nodiscard]] std::vector<Utm> utm_near_edge(double lat, double lon, double within_km = 40);

/// "38 00.247 N 96 01.310 W": degrees and minutes with three decimals, rounded with carry.
[[nodiscard]] std::string degrees_minutes(double lat, double lon);
[[nodiscard]] LatLon from_degrees_minutes(const std::string& text);

}  // namespace swardline
