#include "swardline/geo/geometry.hpp"

#include <geos_c.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "swardline/base/error.hpp"
#include "swardline/geo/geos_call.hpp"

namespace swardline {
namespace {

/// One GEOS context, with its readers and writers, for the life of a thread.
class Context {
 public:
  Context() : handle_(GEOS_init_r()) {
    GEOSContext_setErrorMessageHandler_r(handle_, remember, &message_);
    GEOSContext_setNoticeMessageHandler_r(handle_, ignore, nullptr);
  }
  Context(const Context&) = delete;
  Context& operator=(const Context&) = delete;
  ~Context() { GEOS_finish_r(handle_); }

  [[nodiscard]] GEOSContextHandle_t handle() const { return handle_; }
  [[nodiscard]] std::string take_message() { return std::exchange(message_, {}); }

 private:
  static void remember(const char* message, void* where) { *static_cast<std::string*>(where) = message; }
  static void ignore(const char*, void*) {}

  GEOSContextHandle_t handle_;
  std::string message_;
};

Context& context() {
  thread_local Context one;
  return one;
}

void settle_envelope(GEOSContextHandle_t handle, const GEOSGeometry* geometry) {
  double ignored = 0;
  GEOSGeom_getXMin_r(handle, geometry, &ignored);
}

/// GEOS works out envelopes when first asked and keeps them in the geometry, which
/// would be a race between threads that only read. So all are asked for at once.
void settle_envelopes(const GEOSGeometry* geometry) {
  GEOSContextHandle_t const handle = geos();
  if (GEOSisEmpty_r(handle, geometry) != 0) return;
  settle_envelope(handle, geometry);
  const int type = GEOSGeomTypeId_r(handle, geometry);
  if (type == GEOS_POLYGON) {
    settle_envelope(handle, GEOSGetExteriorRing_r(handle, geometry));
    const int holes = GEOSGetNumInteriorRings_r(handle, geometry);
    for (int i = 0; i < holes; ++i) settle_envelope(handle, GEOSGetInteriorRingN_r(handle, geometry, i));
  } else if (type >= GEOS_MULTIPOINT) {
    const int parts = GEOSGetNumGeometries_r(handle, geometry);
    for (int i = 0; i < parts; ++i) settle_envelopes(GEOSGetGeometryN_r(handle, geometry, i));
  }
}

GEOSCoordSequence* sequence_of(const std::vector<Point>& points) {
  GEOSContextHandle_t const handle = geos();
  GEOSCoordSequence* sequence = GEOSCoordSeq_create_r(handle, static_cast<unsigned>(points.size()), 2);
  if (sequence == nullptr) geos_failed("making a coordinate sequence");
  for (unsigned i = 0; i < points.size(); ++i)
    GEOSCoordSeq_setXY_r(handle, sequence, i, points[i].x, points[i].y);
  return sequence;
}

}  // namespace

GEOSContextHandle_t geos() { return context().handle(); }

std::string geos_message() { return context().take_message(); }

void geos_failed(const char* doing) {
  const std::string message = geos_message();
  throw Defect(std::string("geometry: ") + doing + (message.empty() ? "" : ": " + message));
}

void Box::grow(const Box& other) {
  x0 = std::min(x0, other.x0);
  y0 = std::min(y0, other.y0);
  x1 = std::max(x1, other.x1);
  y1 = std::max(y1, other.y1);
}

Geometry::Geometry() : Geometry(GEOSGeom_createEmptyPolygon_r(geos())) {}

Geometry::Geometry(GEOSGeometry* owned) : geometry_(owned) {
  if (geometry_ == nullptr) geos_failed("an operation gave no result");
  settle_envelopes(geometry_);
}

Geometry::Geometry(const Geometry& other)
    : Geometry(other.geometry_ == nullptr ? GEOSGeom_createEmptyPolygon_r(geos())
                                          : GEOSGeom_clone_r(geos(), other.geometry_)) {}

Geometry::Geometry(Geometry&& other) noexcept : geometry_(std::exchange(other.geometry_, nullptr)) {}

Geometry& Geometry::operator=(Geometry other) noexcept {
  std::swap(geometry_, other.geometry_);
  return *this;
}

Geometry::~Geometry() {
  if (geometry_ != nullptr) GEOSGeom_destroy_r(geos(), geometry_);
}

bool Geometry::empty() const {
  return geometry_ == nullptr || geos_yes(GEOSisEmpty_r(geos(), geometry_), "asking whether it is empty");
}

double Geometry::area() const {
  double area = 0;
  if (GEOSArea_r(geos(), geometry_, &area) == 0) geos_failed("area");
  return area;
}

double Geometry::length() const {
  double length = 0;
  if (GEOSLength_r(geos(), geometry_, &length) == 0) geos_failed("length");
  return length;
}

Box Geometry::box() const {
  Box box;
  if (empty()) return box;
  GEOSContextHandle_t const handle = geos();
  if (GEOSGeom_getXMin_r(handle, geometry_, &box.x0) == 0 ||
      GEOSGeom_getXMax_r(handle, geometry_, &box.x1) == 0 ||
      GEOSGeom_getYMin_r(handle, geometry_, &box.y0) == 0 ||
      GEOSGeom_getYMax_r(handle, geometry_, &box.y1) == 0) {
    geos_failed("extent");
  }
  return box;
}

bool Geometry::contains(Point point) const {
  return geos_yes(GEOSIntersects_r(geos(), geometry_, point_geometry(point).get()), "point in area");
}

std::size_t Geometry::vertices() const {
  const int count = GEOSGetNumCoordinates_r(geos(), geometry_);
  if (count < 0) geos_failed("counting vertices");
  return static_cast<std::size_t>(count);
}

Geometry from_wkb(const std::vector<unsigned char>& wkb) {
  GEOSContextHandle_t const handle = geos();
  GEOSWKBReader* reader = GEOSWKBReader_create_r(handle);
  GEOSGeometry* read = GEOSWKBReader_read_r(handle, reader, wkb.data(), wkb.size());
  GEOSWKBReader_destroy_r(handle, reader);
  if (read == nullptr)
    throw InputError({}, "a geometry's well-known binary cannot be read: " + geos_message());
  return Geometry(read);
}

std::vector<unsigned char> to_wkb(const Geometry& geometry) {
  GEOSContextHandle_t const handle = geos();
  GEOSWKBWriter* writer = GEOSWKBWriter_create_r(handle);
  GEOSWKBWriter_setByteOrder_r(handle, writer, GEOS_WKB_NDR);
  GEOSWKBWriter_setOutputDimension_r(handle, writer, 2);
  GEOSWKBWriter_setFlavor_r(handle, writer, GEOS_WKB_ISO);
  std::size_t size = 0;
  unsigned char* bytes = GEOSWKBWriter_write_r(handle, writer, geometry.get(), &size);
  GEOSWKBWriter_destroy_r(handle, writer);
  if (bytes == nullptr) geos_failed("writing well-known binary");
  std::vector<unsigned char> wkb(bytes, bytes + size);
  GEOSFree_r(handle, bytes);
  return wkb;
}

Geometry from_wkt(const std::string& wkt) {
  GEOSContextHandle_t const handle = geos();
  GEOSWKTReader* reader = GEOSWKTReader_create_r(handle);
  GEOSGeometry* read = GEOSWKTReader_read_r(handle, reader, wkt.c_str());
  GEOSWKTReader_destroy_r(handle, reader);
  if (read == nullptr) throw InputError({}, "a geometry's well-known text cannot be read: " + geos_message());
  return Geometry(read);
}

std::string to_wkt(const Geometry& geometry, int decimals) {
  GEOSContextHandle_t const handle = geos();
  GEOSWKTWriter* writer = GEOSWKTWriter_create_r(handle);
  GEOSWKTWriter_setTrim_r(handle, writer, 1);
  GEOSWKTWriter_setRoundingPrecision_r(handle, writer, decimals);
  GEOSWKTWriter_setOutputDimension_r(handle, writer, 2);
  char* text = GEOSWKTWriter_write_r(handle, writer, geometry.get());
  GEOSWKTWriter_destroy_r(handle, writer);
  if (text == nullptr) geos_failed("writing well-known text");
  std::string wkt = text;
  GEOSFree_r(handle, text);
  return wkt;
}

Geometry box_polygon(const Box& box) {
  return polygon({{box.x0, box.y0}, {box.x1, box.y0}, {box.x1, box.y1}, {box.x0, box.y1}});
}

Geometry polygon(const std::vector<Point>& ring) {
  std::vector<Point> closed = ring;
  if (!closed.empty() && !(closed.front() == closed.back())) closed.push_back(closed.front());
  GEOSGeometry* shell = GEOSGeom_createLinearRing_r(geos(), sequence_of(closed));
  if (shell == nullptr) geos_failed("making a ring");
  return Geometry(GEOSGeom_createPolygon_r(geos(), shell, nullptr, 0));
}

Geometry point_geometry(Point point) {
  return Geometry(GEOSGeom_createPointFromXY_r(geos(), point.x, point.y));
}

Geometry line(const std::vector<Point>& points) {
  return Geometry(GEOSGeom_createLineString_r(geos(), sequence_of(points)));
}

std::vector<Point> sequence_points(const GEOSGeometry* geometry) {
  GEOSContextHandle_t const handle = geos();
  const GEOSCoordSequence* sequence = GEOSGeom_getCoordSeq_r(handle, geometry);
  unsigned size = 0;
  if (sequence == nullptr || GEOSCoordSeq_getSize_r(handle, sequence, &size) == 0)
    geos_failed("reading coordinates");
  std::vector<Point> points(size);
  for (unsigned i = 0; i < size; ++i) GEOSCoordSeq_getXY_r(handle, sequence, i, &points[i].x, &points[i].y);
  return points;
}

double signed_area_twice(const std::vector<Point>& ring) {
  if (ring.size() < 3) return 0;
  // Relative to the first point: coordinates of millions of metres would eat the digits.
  const Point o = ring.front();
  double twice = 0;
  for (std::size_t i = 0; i + 1 < ring.size(); ++i) {
    twice += (ring[i].x - o.x) * (ring[i + 1].y - o.y) - (ring[i + 1].x - o.x) * (ring[i].y - o.y);
  }
  return twice;
}

Rings rings_of(const Geometry& polygons) {
  GEOSContextHandle_t const handle = geos();
  Rings result;
  const auto add = [&](const GEOSGeometry* ring, bool outer) {
    std::vector<Point> points = sequence_points(ring);
    if ((signed_area_twice(points) > 0) != outer) std::reverse(points.begin(), points.end());
    result.rings.push_back(std::move(points));
  };
  each_polygon(polygons.get(), [&](const GEOSGeometry* polygon) {
    add(GEOSGetExteriorRing_r(handle, polygon), true);
    const int holes = GEOSGetNumInteriorRings_r(handle, polygon);
    for (int i = 0; i < holes; ++i) add(GEOSGetInteriorRingN_r(handle, polygon, i), false);
  });
  return result;
}

namespace {

void append_points(const GEOSGeometry* geometry, std::vector<Point>& points) {
  GEOSContextHandle_t const handle = geos();
  if (GEOSisEmpty_r(handle, geometry) != 0) return;
  const int type = GEOSGeomTypeId_r(handle, geometry);
  if (type == GEOS_POLYGON) {
    append_points(GEOSGetExteriorRing_r(handle, geometry), points);
    const int holes = GEOSGetNumInteriorRings_r(handle, geometry);
    for (int i = 0; i < holes; ++i) append_points(GEOSGetInteriorRingN_r(handle, geometry, i), points);
  } else if (type >= GEOS_MULTIPOINT) {
    const int parts = GEOSGetNumGeometries_r(handle, geometry);
    for (int i = 0; i < parts; ++i) append_points(GEOSGetGeometryN_r(handle, geometry, i), points);
  } else {
    const std::vector<Point> more = sequence_points(geometry);
    points.insert(points.end(), more.begin(), more.end());
  }
}

}  // namespace

std::vector<Point> points_of(const Geometry& a) {
  std::vector<Point> points;
  append_points(a.get(), points);
  return points;
}

namespace {

void append_lines(const GEOSGeometry* geometry, std::vector<std::vector<Point>>& lines) {
  GEOSContextHandle_t const handle = geos();
  if (GEOSisEmpty_r(handle, geometry) != 0) return;
  const int type = GEOSGeomTypeId_r(handle, geometry);
  if (type == GEOS_POLYGON) {
    append_lines(GEOSGetExteriorRing_r(handle, geometry), lines);
    const int holes = GEOSGetNumInteriorRings_r(handle, geometry);
    for (int i = 0; i < holes; ++i) append_lines(GEOSGetInteriorRingN_r(handle, geometry, i), lines);
  } else if (type >= GEOS_MULTIPOINT) {
    const int parts = GEOSGetNumGeometries_r(handle, geometry);
    for (int i = 0; i < parts; ++i) append_lines(GEOSGetGeometryN_r(handle, geometry, i), lines);
  } else if (type != GEOS_POINT) {
    lines.push_back(sequence_points(geometry));
  }
}

}  // namespace

std::vector<std::vector<Point>> lines_of(const Geometry& a) {
  std::vector<std::vector<Point>> lines;
  append_lines(a.get(), lines);
  return lines;
}

}  // namespace swardline
