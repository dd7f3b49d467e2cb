// Ownership of GEOS geometry, and the few operations the survey needs.
//
// Coordinates are plane, in metres of the plan's coordinate system unless a
// function says otherwise. Each thread has its own GEOS context; a Geometry may be
// read from any thread but changed from one only.
#pragma once

#include <array>
#include <cmath>
#include <memory>
#include <optional>
#include <string>
#include <vector>

typedef struct GEOSGeom_t GEOSGeometry;
typedef struct GEOSContextHandle_HS* GEOSContextHandle_t;

namespace swardline {

struct Point {
  double x = 0;
  double y = 0;
  friend bool operator==(const Point&, const Point&) = default;
};

[[nodiscard]] inline double metres_between(Point a, Point b) {
  return std::sqrt((a.x - b.x) * (a.x - b.x) + (a.y - b.y) * (a.y - b.y));
}

/// x0 <= x1, y0 <= y1.
struct Box {
  double x0 = 0, y0 = 0, x1 = 0, y1 = 0;
  [[nodiscard]] bool meets(const Box& other) const {
    return x0 <= other.x1 && other.x0 <= x1 && y0 <= other.y1 && other.y0 <= y1;
  }
  void grow(const Box& other);
  [[nodiscard]] Point middle() const { return {(x0 + x1) / 2, (y0 + y1) / 2}; }
};

/// This thread's GEOS context; GEOS errors become Defect exceptions with its message.
[[nodiscard]] GEOSContextHandle_t geos();

/// A GEOS geometry owned by value (copy is a deep copy, move is free).
class Geometry {
 public:
  Geometry();  ///< an empty polygon
  explicit Geometry(GEOSGeometry* owned);
  Geometry(const Geometry& other);
  Geometry(Geometry&& other) noexcept;
  Geometry& operator=(Geometry other) noexcept;
  ~Geometry();

  [[nodiscard]] const GEOSGeometry* get() const { return geometry_; }
  [[nodiscard]] bool empty() const;
  [[nodiscard]] double area() const;  ///< square metres
  [[nodiscard]] double length() const;
  [[nodiscard]] Box box() const;                   ///< empty geometry: all zero
  [[nodiscard]] bool contains(Point point) const;  ///< interior or boundary
  [[nodiscard]] std::size_t vertices() const;

 private:
  GEOSGeometry* geometry_ = nullptr;
};

[[nodiscard]] Geometry from_wkb(const std::vector<unsigned char>& wkb);
[[nodiscard]] std::vector<unsigned char> to_wkb(const Geometry& geometry);  ///< ISO, little-endian
[[nodiscard]] Geometry from_wkt(const std::string& wkt);
[[nodiscard]] std::string to_wkt(const Geometry& geometry, int decimals = 3);

[[nodiscard]] Geometry box_polygon(const Box& box);
[[nodiscard]] Geometry polygon(const std::vector<Point>& ring);  ///< ring is closed if it is not
[[nodiscard]] Geometry point_geometry(Point point);
[[nodiscard]] Geometry line(const std::vector<Point>& points);

[[nodiscard]] Geometry intersection(const Geometry& a, const Geometry& b);
[[nodiscard]] Geometry difference(const Geometry& a, const Geometry& b);
[[nodiscard]] Geometry united(const std::vector<Geometry>& parts);
[[nodiscard]] Geometry buffered(const Geometry& a, double metres, int segments_per_quarter = 16);
[[nodiscard]] bool intersects(const Geometry& a, const Geometry& b);
[[nodiscard]] double distance(const Geometry& a, const Geometry& b);
/// Only the polygon parts, as one MultiPolygon or Polygon (what overlay leaves of lines and points is
/// dropped).
[[nodiscard]] Geometry polygons_of(const Geometry& a);
[[nodiscard]] Geometry boundary(const Geometry& a);
/// Clips polygons to a box: fast path of the cover computation.
[[nodiscard]] Geometry clipped(const Geometry& a, const Box& box);

/// x' = a x + b, y' = a y + c: a scaling and a shift, used for shrinking an area about a pin.
[[nodiscard]] Geometry scaled(const Geometry& a, double factor, Point about);

/// Every coordinate to whole millimetres, kept valid (GEOS precision model).
[[nodiscard]] Geometry snapped_mm(const Geometry& a);

/// A polygon made valid, and what was wrong in words (empty when it was valid).
struct Mended {
  Geometry geometry;
  std::string problem;  ///< "self-crossing ring at 657000.0 4209800.0"
  double area_change_m2 = 0;
};
[[nodiscard]] Mended made_valid(const Geometry& a);

/// The rings of a polygon or multipolygon: every outer ring counter-clockwise with
/// its holes clockwise, closed (first point repeated).
struct Rings {
  std::vector<std::vector<Point>> rings;
};
[[nodiscard]] Rings rings_of(const Geometry& polygons);

/// Points of a point or multipoint, vertices of a line.
[[nodiscard]] std::vector<Point> points_of(const Geometry& a);

/// The lines of a line or polygon geometry (rings closed), part by part; none of points.
[[nodiscard]] std::vector<std::vector<Point>> lines_of(const Geometry& a);

/// Triangles that tile a polygon exactly (constrained Delaunay).
[[nodiscard]] std::vector<std::array<Point, 3>> triangles(const Geometry& polygons);

/// A geometry prepared for many point tests (not shared between threads).
class PreparedArea {
 public:
  explicit PreparedArea(const Geometry& area);
  ~PreparedArea();
  PreparedArea(PreparedArea&&) noexcept;
  PreparedArea(const PreparedArea&) = delete;
  [[nodiscard]] bool contains(Point point) const;  ///< interior or boundary
  [[nodiscard]] bool covers(const Geometry& other) const;
  [[nodiscard]] bool intersects(const Geometry& other) const;

 private:
  struct Inside;
  std::unique_ptr<Inside> inside_;
};

}  // namespace swardline
