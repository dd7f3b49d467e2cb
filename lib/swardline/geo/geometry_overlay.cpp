// Overlay, clipping, scaling and prepared tests.
#include <geos_c.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/error.hpp"
#include "swardline/geo/geometry.hpp"
#include "swardline/geo/geos_call.hpp"

namespace swardline {

Geometry intersection(const Geometry& a, const Geometry& b) {
  return Geometry(GEOSIntersection_r(geos(), a.get(), b.get()));
}

Geometry difference(const Geometry& a, const Geometry& b) {
  return Geometry(GEOSDifference_r(geos(), a.get(), b.get()));
}

Geometry united(const std::vector<Geometry>& parts) {
  if (parts.empty()) return {};
  GEOSContextHandle_t const handle = geos();
  std::vector<GEOSGeometry*> copies;
  copies.reserve(parts.size());
  for (const Geometry& part : parts) copies.push_back(GEOSGeom_clone_r(handle, part.get()));
  const Geometry all(GEOSGeom_createCollection_r(handle, GEOS_GEOMETRYCOLLECTION, copies.data(),
                                                 static_cast<unsigned>(copies.size())));
  return Geometry(GEOSUnaryUnion_r(handle, all.get()));
}

Geometry buffered(const Geometry& a, double metres, int segments_per_quarter) {
  return Geometry(GEOSBuffer_r(geos(), a.get(), metres, segments_per_quarter));
}

bool intersects(const Geometry& a, const Geometry& b) {
  return geos_yes(GEOSIntersects_r(geos(), a.get(), b.get()), "whether two geometries meet");
}

double distance(const Geometry& a, const Geometry& b) {
  double metres = 0;
  if (GEOSDistance_r(geos(), a.get(), b.get(), &metres) == 0) geos_failed("distance");
  return metres;
}

Geometry boundary(const Geometry& a) { return Geometry(GEOSBoundary_r(geos(), a.get())); }

Geometry polygons_of(const Geometry& a) {
  GEOSContextHandle_t const handle = geos();
  std::vector<GEOSGeometry*> parts;
  each_polygon(a.get(), [&](const GEOSGeometry* part) { parts.push_back(GEOSGeom_clone_r(handle, part)); });
  if (parts.empty()) return {};
  if (parts.size() == 1) return Geometry(parts.front());
  return Geometry(GEOSGeom_createCollection_r(handle, GEOS_MULTIPOLYGON, parts.data(),
                                              static_cast<unsigned>(parts.size())));
}

namespace {

/// One edge of a box as the half plane side * coordinate >= side * limit.
struct HalfPlane {
  bool across_x;
  double limit;
  double side;
  [[nodiscard]] double inside_by(Point p) const { return side * ((across_x ? p.x : p.y) - limit); }
};

/// Sutherland and Hodgman 1974 (Communications of the ACM 17:32-42), one half plane.
std::vector<Point> ring_in_half_plane(const std::vector<Point>& ring, const HalfPlane& half) {
  std::vector<Point> out;
  out.reserve(ring.size() + 8);
  for (std::size_t i = 0; i + 1 < ring.size(); ++i) {
    const Point a = ring[i];
    const Point b = ring[i + 1];
    const double da = half.inside_by(a);
    const double db = half.inside_by(b);
    if (da >= 0) out.push_back(a);
    if ((da >= 0) != (db >= 0)) {
      const double t = da / (da - db);
      out.push_back(half.across_x ? Point{half.limit, a.y + t * (b.y - a.y)}
                                  : Point{a.x + t * (b.x - a.x), half.limit});
    }
  }
  if (!out.empty()) out.push_back(out.front());
  return out;
}

/// The area of polygons within a box by clipping each ring alone. The ring this gives may
/// run along the box's edge twice, but its signed area is right: an independent check.
double area_within(const Geometry& polygons, const Box& box) {
  const HalfPlane halves[] = {{true, box.x0, 1}, {true, box.x1, -1}, {false, box.y0, 1}, {false, box.y1, -1}};
  double twice = 0;
  for (std::vector<Point> ring : rings_of(polygons).rings) {
    for (const HalfPlane& half : halves) ring = ring_in_half_plane(ring, half);
    twice += signed_area_twice(ring);
  }
  return twice / 2;
}

}  // namespace

Geometry clipped(const Geometry& a, const Box& box) {
  if (a.empty()) return {};
  const Box own = a.box();
  if (!own.meets(box)) return {};
  if (own.x0 >= box.x0 && own.x1 <= box.x1 && own.y0 >= box.y0 && own.y1 <= box.y1) return a;

  GEOSContextHandle_t const handle = geos();
  GEOSGeometry* fast = GEOSClipByRect_r(handle, a.get(), box.x0, box.y0, box.x1, box.y1);
  if (fast != nullptr) {
    Geometry piece = polygons_of(Geometry(fast));
    // A micrometre along the longest way round is what rounding can do to the area.
    const double allowed = 1e-6 * std::max(1.0, piece.length());
    if (std::abs(piece.area() - area_within(a, box)) <= allowed &&
        geos_yes(GEOSisValid_r(handle, piece.get()), "validity of a clipped area")) {
      return piece;
    }
  }
  return polygons_of(intersection(a, box_polygon(box)));
}

namespace {

struct Scaling {
  double factor;
  Point about;
};

int scale_point(double* x, double* y, void* data) {
  const auto* scaling = static_cast<const Scaling*>(data);
  *x = scaling->about.x + scaling->factor * (*x - scaling->about.x);
  *y = scaling->about.y + scaling->factor * (*y - scaling->about.y);
  return 1;
}

}  // namespace

Geometry scaled(const Geometry& a, double factor, Point about) {
  Scaling scaling{factor, about};
  return Geometry(GEOSGeom_transformXY_r(geos(), a.get(), scale_point, &scaling));
}

namespace {

/// GEOS's grid can be the last digit off the double nearest to the decimal.
int round_point(double* x, double* y, void*) {
  *x = std::round(*x * 1000) / 1000;
  *y = std::round(*y * 1000) / 1000;
  return 1;
}

}  // namespace

Geometry snapped_mm(const Geometry& a) {
  GEOSContextHandle_t const handle = geos();
  const bool valid = geos_yes(GEOSisValid_r(handle, a.get()), "validity before snapping");
  const Geometry snapped(
      GEOSGeom_setPrecision_r(handle, a.get(), 0.001, valid ? GEOS_PREC_VALID_OUTPUT : GEOS_PREC_NO_TOPO));
  // Through bytes and back: what setPrecision returns carries its own factory, whose
  // reference count is not safe between threads, and would snap all later overlays.
  const Geometry plain = from_wkb(to_wkb(snapped));
  return Geometry(GEOSGeom_transformXY_r(handle, plain.get(), round_point, nullptr));
}

struct PreparedArea::Inside {
  Geometry area;
  const GEOSPreparedGeometry* prepared = nullptr;

  explicit Inside(const Geometry& a) : area(a), prepared(GEOSPrepare_r(geos(), area.get())) {
    if (prepared == nullptr) geos_failed("preparing an area");
  }
  Inside(const Inside&) = delete;
  Inside& operator=(const Inside&) = delete;
  ~Inside() { GEOSPreparedGeom_destroy_r(geos(), prepared); }
};

PreparedArea::PreparedArea(const Geometry& area) : inside_(std::make_unique<Inside>(area)) {}
PreparedArea::~PreparedArea() = default;
PreparedArea::PreparedArea(PreparedArea&&) noexcept = default;

bool PreparedArea::contains(Point point) const {
  return geos_yes(GEOSPreparedIntersects_r(geos(), inside_->prepared, point_geometry(point).get()),
                  "point in area");
}

bool PreparedArea::covers(const Geometry& other) const {
  return geos_yes(GEOSPreparedCovers_r(geos(), inside_->prepared, other.get()),
                  "whether an area covers another");
}

bool PreparedArea::intersects(const Geometry& other) const {
  return geos_yes(GEOSPreparedIntersects_r(geos(), inside_->prepared, other.get()),
                  "whether an area meets another");
}

}  // namespace swardline
