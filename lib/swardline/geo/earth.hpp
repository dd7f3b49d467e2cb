// Distances, bearings and areas on the WGS84 ellipsoid (GeographicLib; Karney 2013).
#pragma once

#include "swardline/geo/crs.hpp"
#include "swardline/geo/geometry.hpp"

namespace swardline {

struct Leg {
  double metres = 0;
  double bearing_deg = 0;  ///< true bearing at the start, 0 <= bearing < 360
};
/// Geodesic between two points (x = longitude, y = latitude, degrees).
[[nodiscard]] Leg geodesic(Point from_lon_lat, Point to_lon_lat);

/// Area in square metres of a polygon in longitude and latitude (degrees), holes taken
/// out; long edges should be densified by the caller (edges are taken as geodesics).
[[nodiscard]] double geodesic_area(const Geometry& lon_lat);

/// Geodesic area of record over plane area, for a polygon in a projected system
/// whose route to WGS84 is given. Edges are densified to 100 m before the transform.
[[nodiscard]] double geodesic_ratio(const Geometry& plane, const Route& to_wgs84);

/// Angle in degrees from grid north to true north's meridian direction at a point: true bearing =
/// grid bearing + convergence.
[[nodiscard]] double convergence_deg(Point plane, const Route& to_wgs84);

}  // namespace swardline
