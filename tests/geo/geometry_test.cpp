#include "swardline/geo/geometry.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <thread>

#include "swardline/base/error.hpp"

namespace geometry_test {

using namespace swardline;

namespace {

double area_of(const std::vector<std::array<Point, 3>>& triangles) {
  double sum = 0;
  for (const auto& [a, b, c] : triangles)
    sum += std::abs((b.x - a.x) * (c.y - a.y) - (c.x - a.x) * (b.y - a.y)) / 2;
  return sum;
}

/// A jagged star with a hole, far from the origin as projected coordinates are.
Geometry star(int points, double x, double y) {
  std::vector<Point> ring;
  for (int i = 0; i < points; ++i) {
    const double angle = 2 * std::numbers::pi * i / points;
    const double reach = i % 2 == 0 ? 100 : 35 + 17 * std::sin(7 * angle);
    ring.push_back({x + reach * std::cos(angle), y + reach * std::sin(angle)});
  }
  return difference(polygon(ring), buffered(point_geometry({x, y}), 8));
}

}  // namespace

TEST_CASE("a polygon knows its area, length, box and vertices, and closes itself") {
  const Geometry a = polygon({{657000, 4209800}, {657010, 4209800}, {657010, 4209820}, {657000, 4209820}});
  CHECK(a.area() == 200);
  CHECK(a.length() == 60);
  CHECK(a.vertices() == 5);
  CHECK(a.box().x0 == 657000);
  CHECK(a.box().y1 == 4209820);
  CHECK(a.contains({657005, 4209805}));
  CHECK(a.contains({657010, 4209805}));  // the boundary counts
  CHECK_FALSE(a.contains({657010.001, 4209805}));
  CHECK(Geometry().empty());
  CHECK(Geometry().box().x1 == 0);
}

TEST_CASE("copies are independent and a moved-from geometry may be assigned again") {
  Geometry a = box_polygon({0, 0, 2, 3});
  Geometry b = a;
  const Geometry c = std::move(a);
  CHECK(b.area() == 6);
  CHECK(c.area() == 6);
  a = b;
  CHECK(a.area() == 6);
  b = Geometry();
  CHECK(b.empty());
}

TEST_CASE("well-known binary goes out little-endian and comes back equal, and nonsense is an error") {
  const Geometry a = star(24, 657000, 4209800);
  const std::vector<unsigned char> wkb = to_wkb(a);
  CHECK(wkb[0] == 1);
  CHECK(to_wkb(from_wkb(wkb)) == wkb);
  CHECK_THROWS_AS(from_wkb({1, 2, 3}), InputError);
  CHECK_THROWS_AS(from_wkt("POLYGON ((0 0, 1"), InputError);
  CHECK(to_wkt(from_wkt("POINT (1.23456 2)"), 3) == "POINT (1.235 2)");
}

TEST_CASE("overlay keeps areas") {
  const Geometry a = box_polygon({0, 0, 10, 10});
  const Geometry b = box_polygon({5, 5, 15, 15});
  CHECK(intersection(a, b).area() == 25);
  CHECK(difference(a, b).area() == 75);
  CHECK(united({a, b}).area() == 175);
  CHECK(united({}).empty());
  CHECK(intersects(a, b));
  CHECK_FALSE(intersects(a, box_polygon({11, 0, 12, 1})));
  CHECK(distance(a, box_polygon({13, 14, 20, 20})) == 5);
  CHECK(boundary(a).length() == 40);
}

TEST_CASE("a buffered point is the 64-gon of sixteen segments per quarter") {
  // Area of a regular n-gon in a circle of radius r: n/2 r^2 sin(2 pi / n).
  const double expected = 64 / 2.0 * 9 * std::sin(2 * std::numbers::pi / 64);
  CHECK(buffered(point_geometry({5, 5}), 3).area() == doctest::Approx(expected).epsilon(1e-12));
}

TEST_CASE("lines and points that overlay leaves behind are dropped") {
  const Geometry mixed = from_wkt(
      "GEOMETRYCOLLECTION (POINT (1 1), LINESTRING (0 0, 1 1), POLYGON ((0 0, 1 0, 1 1, 0 0)),"
      " MULTIPOLYGON (((5 5, 6 5, 6 6, 5 5))))");
  CHECK(polygons_of(mixed).area() == 1);
  CHECK(polygons_of(from_wkt("LINESTRING (0 0, 1 1)")).empty());
  // Two squares that share an edge only.
  CHECK(polygons_of(intersection(box_polygon({0, 0, 1, 1}), box_polygon({1, 0, 2, 1}))).empty());
}

TEST_CASE("clipping to boxes that tile the plane loses and adds no area") {
  const Geometry a = star(60, 657000.3, 4209800.7);
  double sum = 0;
  for (int row = 0; row < 21; ++row) {
    for (int col = 0; col < 21; ++col) {
      const double x = 656895 + 10 * col;
      const double y = 4209695 + 10 * row;
      const Box box{x, y, x + 10, y + 10};
      const Geometry piece = clipped(a, box);
      CHECK(piece.area() == doctest::Approx(intersection(a, box_polygon(box)).area()).epsilon(1e-9));
      sum += piece.area();
    }
  }
  CHECK(sum == doctest::Approx(a.area()).epsilon(1e-9));
}

TEST_CASE("a box inside a hole, around the polygon or beside it clips as it should") {
  const Geometry a = from_wkt("POLYGON ((0 0, 30 0, 30 30, 0 30, 0 0), (10 10, 20 10, 20 20, 10 20, 10 10))");
  CHECK(clipped(a, {12, 12, 14, 14}).empty());
  CHECK(clipped(a, {-5, -5, 40, 40}).area() == 800);
  CHECK(clipped(a, {40, 40, 50, 50}).empty());
  CHECK(clipped(a, {1, 1, 3, 4}).area() == 6);
  CHECK(clipped(a, {10, 10, 20, 20}).area() == 0);
  CHECK(clipped(a, {5, 5, 25, 25}).area() == 300);
}

TEST_CASE("scaling about a pin keeps the pin and multiplies the area by the square") {
  const Geometry a = box_polygon({657000, 4209800, 657002, 4209810});
  const Geometry half = scaled(a, 0.5, {657000, 4209800});
  CHECK(half.area() == 5);
  CHECK(half.box().x1 == 657001);  // the box is of the new geometry, not the old one's
  CHECK(half.box().x0 == 657000);
}

TEST_CASE("snapping puts every coordinate on whole millimetres and keeps the polygon valid") {
  const Geometry a = star(60, 657000.123456, 4209800.654321);
  const Geometry snapped = snapped_mm(a);
  for (const Point p : points_of(snapped)) {
    CHECK(p.x == std::round(p.x * 1000) / 1000);
    CHECK(p.y == std::round(p.y * 1000) / 1000);
  }
  CHECK(made_valid(snapped).problem.empty());
  CHECK(snapped.area() == doctest::Approx(a.area()).epsilon(1e-5));
  // Later overlays work in full precision again.
  CHECK(scaled(snapped, 1.0 / 3.0, {0, 0}).box().x0 !=
        snapped_mm(scaled(snapped, 1.0 / 3.0, {0, 0})).box().x0);
}

TEST_CASE("snapping leaves a self-crossing ring self-crossing, so that it can be reported") {
  const Geometry bow = from_wkt("POLYGON ((0 0, 10.00011 10, 10 0, 0 10, 0 0))");
  CHECK_FALSE(made_valid(snapped_mm(bow)).problem.empty());
}

TEST_CASE("a sound polygon is returned as it is") {
  const Mended mended = made_valid(box_polygon({0, 0, 1, 1}));
  CHECK(mended.problem.empty());
  CHECK(mended.area_change_m2 == 0);
}

TEST_CASE("a self-crossing ring is mended and said with its place") {
  const Geometry bow =
      from_wkt("POLYGON ((657000 4209800, 657020 4209820, 657020 4209800, 657000 4209820, 657000 4209800))");
  const Mended mended = made_valid(bow);
  CHECK(mended.problem == "self-crossing ring at 657010.0 4209810.0");
  CHECK(mended.geometry.area() == doctest::Approx(200));
  CHECK(mended.area_change_m2 == doctest::Approx(200));  // the two halves cancelled as drawn
}

TEST_CASE("overlapping parts count once, and the area counted twice is said") {
  const Geometry twice =
      from_wkt("MULTIPOLYGON (((0 0, 10 0, 10 10, 0 10, 0 0)), ((5 0, 15 0, 15 10, 5 10, 5 0)))");
  const Mended mended = made_valid(twice);
  CHECK(mended.problem.find("overlapping parts at") == 0);
  CHECK(mended.geometry.area() == doctest::Approx(150));
  CHECK(mended.area_change_m2 == doctest::Approx(-50));
}

TEST_CASE("rings come out closed, outer ones counter-clockwise and holes clockwise") {
  const Geometry a = from_wkt("POLYGON ((0 0, 0 30, 30 30, 30 0, 0 0), (10 10, 20 10, 20 20, 10 20, 10 10))");
  const Rings rings = rings_of(a);
  REQUIRE(rings.rings.size() == 2);
  double sum = 0;
  for (const auto& ring : rings.rings) {
    CHECK(ring.front() == ring.back());
    for (std::size_t i = 0; i + 1 < ring.size(); ++i)
      sum += (ring[i].x * ring[i + 1].y - ring[i + 1].x * ring[i].y) / 2;
  }
  CHECK(sum == 800);
  CHECK(rings_of(Geometry()).rings.empty());
}

TEST_CASE("triangles tile a polygon with holes and parts") {
  const Geometry a = united({star(60, 657000.3, 4209800.7), star(24, 657500, 4209800)});
  const auto made = triangles(a);
  CHECK(area_of(made) == doctest::Approx(a.area()).epsilon(1e-9));
  for (const auto& t : made) {
    CHECK(a.contains({(t[0].x + t[1].x + t[2].x) / 3, (t[0].y + t[1].y + t[2].y) / 3}));
  }
  CHECK(triangles(Geometry()).empty());
}

TEST_CASE("points of a multipoint and vertices of a line come in order") {
  CHECK(points_of(from_wkt("MULTIPOINT ((1 2), (3 4))")) == std::vector<Point>{{1, 2}, {3, 4}});
  CHECK(points_of(line({{0, 0}, {1, 5}, {2, 0}})) == std::vector<Point>{{0, 0}, {1, 5}, {2, 0}});
}

TEST_CASE("a prepared area answers as the plain one") {
  const Geometry a = star(60, 657000.3, 4209800.7);
  const PreparedArea prepared(a);
  int inside = 0;
  for (int i = 0; i < 400; ++i) {
    const Point p{656900.0 + 10 * (i % 20), 4209700.0 + 10 * (i / 20)};
    CHECK(prepared.contains(p) == a.contains(p));
    inside += prepared.contains(p) ? 1 : 0;
  }
  CHECK(inside > 20);
  CHECK(prepared.covers(box_polygon({657009, 4209799, 657011, 4209801})));
  CHECK_FALSE(prepared.covers(box_polygon(a.box())));
  CHECK(prepared.intersects(box_polygon(a.box())));
}

TEST_CASE("what GEOS refuses becomes a defect with its words") {
  CHECK_THROWS_AS(polygon({{0, 0}}), Defect);
  CHECK_THROWS_AS(Geometry(static_cast<GEOSGeometry*>(nullptr)), Defect);
}

TEST_CASE("several threads may read one geometry and drop their copies") {
  const Geometry a = snapped_mm(star(60, 657000.3, 4209800.7));
  std::array<double, 4> areas{};
  {
    std::vector<std::jthread> threads;
    for (std::size_t t = 0; t < areas.size(); ++t) {
      threads.emplace_back([&areas, &a, t] {
        for (int i = 0; i < 200; ++i) {
          const Geometry copy = a;
          areas[t] = clipped(copy, {656950, 4209750, 657050, 4209850}).area();
        }
      });
    }
  }
  for (const double area : areas) CHECK(area == areas[0]);
}

}  // namespace geometry_test
