// Geometry from one coordinate system to another without cutting corners.
#include <geos_c.h>

#include <algorithm>
#include <cmath>

#include "swardline/geo/crs.hpp"
#include "swardline/geo/geos_call.hpp"

namespace swardline {
namespace {

class Carrier {
 public:
  Carrier(const Route& route, double sag) : route_(route), sag_(sag) {}

  [[nodiscard]] GEOSGeometry* geometry(const GEOSGeometry* source) const {
    GEOSContextHandle_t const handle = geos();
    const int type = GEOSGeomTypeId_r(handle, source);
    if (GEOSisEmpty_r(handle, source) != 0) return GEOSGeom_clone_r(handle, source);
    if (type == GEOS_POLYGON) return polygon(source);
    if (type >= GEOS_MULTIPOINT) return collection(source, type);
    return simple(source, type);
  }

 private:
  /// How many straight parts the edge needs. A curve's sag falls with the square of the parts.
  [[nodiscard]] int parts(Point a, Point b, Point there_a, Point there_b) const {
    constexpr double kMost = 10000;
    const Point middle = route_.forward(Point{(a.x + b.x) / 2, (a.y + b.y) / 2});
    const double off =
        std::hypot(middle.x - (there_a.x + there_b.x) / 2, middle.y - (there_a.y + there_b.y) / 2);
    return off <= sag_ ? 1 : static_cast<int>(std::ceil(std::min(std::sqrt(off / sag_), kMost)));
  }

  void add_edge(Point a, Point b, Point there_a, Point there_b, std::vector<Point>& out) const {
    const int count = parts(a, b, there_a, there_b);
    // From the same end whichever way the ring runs, so that neighbours keep one boundary.
    const bool turned = std::pair{b.x, b.y} < std::pair{a.x, a.y};
    for (int i = 1; i < count; ++i) {
      const double t = static_cast<double>(turned ? count - i : i) / count;
      const Point start = turned ? b : a;
      const Point end = turned ? a : b;
      out.push_back(route_.forward(Point{start.x + t * (end.x - start.x), start.y + t * (end.y - start.y)}));
    }
    out.push_back(there_b);
  }

  [[nodiscard]] std::vector<Point> points(const std::vector<Point>& source) const {
    std::vector<Point> out;
    out.reserve(source.size());
    for (std::size_t i = 0; i < source.size(); ++i) {
      const Point there = route_.forward(source[i]);
      if (i == 0) {
        out.push_back(there);
      } else {
        add_edge(source[i - 1], source[i], out.back(), there, out);
      }
    }
    return out;
  }

  [[nodiscard]] GEOSCoordSequence* sequence(const GEOSGeometry* source) const {
    GEOSContextHandle_t const handle = geos();
    const std::vector<Point> there = points(sequence_points(source));
    GEOSCoordSequence* made = GEOSCoordSeq_create_r(handle, static_cast<unsigned>(there.size()), 2);
    if (made == nullptr) geos_failed("making a coordinate sequence");
    for (unsigned i = 0; i < there.size(); ++i) GEOSCoordSeq_setXY_r(handle, made, i, there[i].x, there[i].y);
    return made;
  }

  [[nodiscard]] GEOSGeometry* simple(const GEOSGeometry* source, int type) const {
    GEOSContextHandle_t const handle = geos();
    if (type == GEOS_POINT) return GEOSGeom_createPoint_r(handle, sequence(source));
    if (type == GEOS_LINEARRING) return GEOSGeom_createLinearRing_r(handle, sequence(source));
    return GEOSGeom_createLineString_r(handle, sequence(source));
  }

  [[nodiscard]] GEOSGeometry* polygon(const GEOSGeometry* source) const {
    GEOSContextHandle_t const handle = geos();
    const int count = GEOSGetNumInteriorRings_r(handle, source);
    std::vector<Geometry> holes;  // owned until all are made: a failing point must leak nothing
    const Geometry shell(simple(GEOSGetExteriorRing_r(handle, source), GEOS_LINEARRING));
    for (int i = 0; i < count; ++i) {
      holes.emplace_back(simple(GEOSGetInteriorRingN_r(handle, source, i), GEOS_LINEARRING));
    }
    std::vector<GEOSGeometry*> rings;
    rings.reserve(holes.size());
    for (const Geometry& hole : holes) rings.push_back(GEOSGeom_clone_r(handle, hole.get()));
    return GEOSGeom_createPolygon_r(handle, GEOSGeom_clone_r(handle, shell.get()), rings.data(),
                                    static_cast<unsigned>(rings.size()));
  }

  [[nodiscard]] GEOSGeometry* collection(const GEOSGeometry* source, int type) const {
    GEOSContextHandle_t const handle = geos();
    const int count = GEOSGetNumGeometries_r(handle, source);
    std::vector<Geometry> made;
    made.reserve(static_cast<std::size_t>(count));
    for (int i = 0; i < count; ++i) made.emplace_back(geometry(GEOSGetGeometryN_r(handle, source, i)));
    std::vector<GEOSGeometry*> parts;
    parts.reserve(made.size());
    for (const Geometry& part : made) parts.push_back(GEOSGeom_clone_r(handle, part.get()));
    return GEOSGeom_createCollection_r(handle, type, parts.data(), static_cast<unsigned>(parts.size()));
  }

  const Route& route_;
  double sag_;
};

}  // namespace

Geometry carried(const Route& route, const Geometry& geometry, double sag) {
  return Geometry(Carrier(route, sag).geometry(geometry.get()));
}

}  // namespace swardline
