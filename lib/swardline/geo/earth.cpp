#include "swardline/geo/earth.hpp"

#include <geos_c.h>

#include <GeographicLib/Geodesic.hpp>
#include <GeographicLib/PolygonArea.hpp>
#include <algorithm>
#include <cmath>

#include "swardline/geo/geos_call.hpp"

namespace swardline {
namespace {

const GeographicLib::Geodesic& wgs84_ellipsoid() { return GeographicLib::Geodesic::WGS84(); }

double ring_area(const std::vector<Point>& ring) {
  GeographicLib::PolygonArea area(wgs84_ellipsoid());
  for (std::size_t i = 0; i + 1 < ring.size(); ++i) area.AddPoint(ring[i].y, ring[i].x);
  double perimeter = 0;
  double square_metres = 0;
  area.Compute(false, true, perimeter, square_metres);
  return std::abs(square_metres);
}

}  // namespace

Leg geodesic(Point from, Point to) {
  Leg leg;
  double ahead = 0;
  wgs84_ellipsoid().Inverse(from.y, from.x, to.y, to.x, leg.metres, leg.bearing_deg, ahead);
  if (leg.bearing_deg < 0) leg.bearing_deg += 360;
  if (leg.bearing_deg >= 360) leg.bearing_deg = 0;  // -1e-20 + 360 is 360
  return leg;
}

double geodesic_area(const Geometry& lon_lat) {
  GEOSContextHandle_t const handle = geos();
  double sum = 0;
  each_polygon(lon_lat.get(), [&](const GEOSGeometry* polygon) {
    sum += ring_area(sequence_points(GEOSGetExteriorRing_r(handle, polygon)));
    const int holes = GEOSGetNumInteriorRings_r(handle, polygon);
    for (int i = 0; i < holes; ++i)
      sum -= ring_area(sequence_points(GEOSGetInteriorRingN_r(handle, polygon, i)));
  });
  return sum;
}

double geodesic_ratio(const Geometry& plane, const Route& to_wgs84) {
  constexpr double kLongestEdge = 100;
  constexpr double kMostPieces = 1e4;  // of an edge as long as the polygon: a continent must not take a day
  const double plane_area = plane.area();
  if (plane_area <= 0) return 1;
  const Box box = plane.box();
  const double longest = std::max(kLongestEdge, std::max(box.x1 - box.x0, box.y1 - box.y0) / kMostPieces);
  const Geometry dense(GEOSDensify_r(geos(), plane.get(), longest));
  return geodesic_area(to_wgs84.forward(dense)) / plane_area;
}

double convergence_deg(Point plane, const Route& to_wgs84) {
  // Bearing of grid north, as the mean of a look ahead and a look back: what bends the
  // grid line against the geodesic cancels.
  constexpr double kStep = 10;
  const Point here = to_wgs84.forward(plane);
  const double ahead = geodesic(here, to_wgs84.forward(Point{plane.x, plane.y + kStep})).bearing_deg;
  const double behind = geodesic(here, to_wgs84.forward(Point{plane.x, plane.y - kStep})).bearing_deg;
  const double turned = std::remainder(behind + 180 - ahead, 360.0);
  return std::remainder(ahead + turned / 2, 360.0);
}

}  // namespace swardline
