// How this stage calls GEOS: every failure becomes a Defect with GEOS's own words.
// Private to geo.
#pragma once

#include <geos_c.h>

#include <string>
#include <vector>

#include "swardline/geo/geometry.hpp"

namespace swardline {

/// Throws Defect with the last message GEOS gave in this thread.
[[noreturn]] void geos_failed(const char* doing);

/// What GEOS last complained of in this thread, emptied by reading.
[[nodiscard]] std::string geos_message();

/// GEOS predicates answer 0, 1 or 2 (an exception inside).
[[nodiscard]] inline bool geos_yes(char answer, const char* doing) {
  if (answer == 2) geos_failed(doing);
  return answer == 1;
}

/// Calls `visit` with every polygon of a polygon or (nested) collection.
template <class Visit>
void each_polygon(const GEOSGeometry* geometry, Visit&& visit) {
  GEOSContextHandle_t const context = geos();
  const int type = GEOSGeomTypeId_r(context, geometry);
  if (type == GEOS_POLYGON) {
    if (GEOSisEmpty_r(context, geometry) == 0) visit(geometry);
    return;
  }
  if (type < GEOS_MULTIPOINT) return;
  const int parts = GEOSGetNumGeometries_r(context, geometry);
  for (int i = 0; i < parts; ++i) each_polygon(GEOSGetGeometryN_r(context, geometry, i), visit);
}

/// The points of a ring, a line or a single point.
[[nodiscard]] std::vector<Point> sequence_points(const GEOSGeometry* geometry);

/// Twice the signed area of a closed ring, positive counter-clockwise.
[[nodiscard]] double signed_area_twice(const std::vector<Point>& ring);

}  // namespace swardline
