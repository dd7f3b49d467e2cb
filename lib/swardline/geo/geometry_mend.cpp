// Making polygons valid, and cutting them into triangles.
#include <fmt/format.h>
#include <geos_c.h>

#include <cmath>

#include "swardline/base/error.hpp"
#include "swardline/geo/geometry.hpp"
#include "swardline/geo/geos_call.hpp"

namespace swardline {
namespace {

bool every_part_valid(const Geometry& a) {
  bool valid = true;
  int parts = 0;
  each_polygon(a.get(), [&](const GEOSGeometry* part) {
    ++parts;
    valid = valid && geos_yes(GEOSisValid_r(geos(), part), "validity of a part");
  });
  return valid && parts > 1;
}

/// GEOS's reasons in the words of people who draw boundaries.
std::string reason_in_words(const std::string& reason, const Geometry& a) {
  const auto says = [&](const char* what) { return reason.find(what) != std::string::npos; };
  if (says("Invalid Coordinate")) return "a coordinate that is not a number";
  if (every_part_valid(a)) return "overlapping parts";
  if (says("Ring Self-intersection")) return "ring that touches itself";
  if (says("Self-intersection")) return "self-crossing ring";
  if (says("Hole lies outside")) return "hole outside its ring";
  if (says("Holes are nested")) return "hole within a hole";
  if (says("Nested shells")) return "ring within another ring";
  if (says("Interior is disconnected")) return "hole that cuts the area in two";
  if (says("Duplicate Rings")) return "ring drawn twice";
  if (says("Too few")) return "ring with too few points";
  if (says("not closed")) return "ring that is not closed";
  return reason;
}

std::string place_in_words(const GEOSGeometry* location) {
  GEOSContextHandle_t const handle = geos();
  double x = 0;
  double y = 0;
  if (location == nullptr || GEOSGeomGetX_r(handle, location, &x) != 1 ||
      GEOSGeomGetY_r(handle, location, &y) != 1) {
    return {};
  }
  const bool degrees = std::abs(x) <= 360 && std::abs(y) <= 90;
  return degrees ? fmt::format(" at {:.6f} {:.6f}", x, y) : fmt::format(" at {:.1f} {:.1f}", x, y);
}

}  // namespace

Mended made_valid(const Geometry& a) {
  GEOSContextHandle_t const handle = geos();
  char* reason = nullptr;
  GEOSGeometry* location = nullptr;
  const char valid = GEOSisValidDetail_r(handle, a.get(), 0, &reason, &location);
  if (valid == 1) return {a, {}, 0};
  const std::string why = reason == nullptr ? "" : reason;
  const std::string where = place_in_words(location);
  GEOSFree_r(handle, reason);
  GEOSGeom_destroy_r(handle, location);
  if (valid == 2) geos_failed("validity");

  GEOSMakeValidParams* params = GEOSMakeValidParams_create_r(handle);
  GEOSMakeValidParams_setMethod_r(handle, params, GEOS_MAKE_VALID_STRUCTURE);
  GEOSMakeValidParams_setKeepCollapsed_r(handle, params, 0);
  GEOSGeometry* made = GEOSMakeValidWithParams_r(handle, a.get(), params);
  GEOSMakeValidParams_destroy_r(handle, params);
  const std::string problem = reason_in_words(why, a) + where;
  if (made == nullptr) {
    throw InputError({}, "a polygon cannot be made valid (" + problem + "): " + geos_message(),
                     "Redraw it in the source.");
  }
  Mended mended{Geometry(made), problem, 0};
  mended.area_change_m2 = mended.geometry.area() - a.area();
  return mended;
}

namespace {

/// True when the triangles were all there, to a relative 1e-9 of the area.
bool add_triangles(const Geometry& polygon, std::vector<std::array<Point, 3>>& triangles) {
  GEOSContextHandle_t const handle = geos();
  GEOSGeometry* made = GEOSConstrainedDelaunayTriangulation_r(handle, polygon.get());
  if (made == nullptr) return false;
  const Geometry collection(made);
  if (std::abs(collection.area() - polygon.area()) > 1e-9 * polygon.area() + 1e-9) return false;
  each_polygon(collection.get(), [&](const GEOSGeometry* triangle) {
    const std::vector<Point> ring = sequence_points(GEOSGetExteriorRing_r(handle, triangle));
    if (ring.size() != 4) throw Defect("a triangle of a triangulation has not three corners");
    if (signed_area_twice(ring) != 0) triangles.push_back({ring[0], ring[1], ring[2]});
  });
  return true;
}

/// Where the triangulation of the whole fails or loses area, both halves of the extent
/// are done apart.
void add_triangles_by_halves(const Geometry& polygon, int depth,
                             std::vector<std::array<Point, 3>>& triangles) {
  if (polygon.empty() || polygon.area() == 0 || add_triangles(polygon, triangles)) return;
  if (depth == 0) throw Defect("a polygon cannot be cut into triangles: " + geos_message());
  Box one = polygon.box();
  Box other = one;
  if (one.x1 - one.x0 > one.y1 - one.y0) {
    one.x1 = other.x0 = one.x0 + (one.x1 - one.x0) / 2;
  } else {
    one.y1 = other.y0 = one.y0 + (one.y1 - one.y0) / 2;
  }
  add_triangles_by_halves(clipped(polygon, one), depth - 1, triangles);
  add_triangles_by_halves(clipped(polygon, other), depth - 1, triangles);
}

}  // namespace

std::vector<std::array<Point, 3>> triangles(const Geometry& polygons) {
  constexpr int kHalvings = 16;
  std::vector<std::array<Point, 3>> all;
  each_polygon(polygons.get(), [&](const GEOSGeometry* part) {
    add_triangles_by_halves(Geometry(GEOSGeom_clone_r(geos(), part)), kHalvings, all);
  });
  return all;
}

}  // namespace swardline
