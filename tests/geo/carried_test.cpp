#include <doctest/doctest.h>

#include <cmath>

#include "swardline/base/error.hpp"
#include "swardline/geo/crs.hpp"

namespace carried_test {

using namespace swardline;

TEST_CASE("a long edge keeps to its true course") {
  const Route route(Crs::wgs84(), Crs::from_text("EPSG:32614"));
  // A county line along a parallel: straight in degrees, a curve on the map.
  const Geometry parallel = line({{-96.5, 38}, {-96.4, 38}});
  const Geometry there = carried(route, parallel);
  CHECK(there.vertices() > 10);
  for (int i = 0; i <= 1000; ++i) {
    const Point p = route.forward(Point{-96.5 + i * 1e-4, 38});
    CHECK(distance(there, point_geometry(p)) < 0.0005);
  }
  // The two end points alone would cut the corner by metres.
  CHECK(distance(route.forward(parallel), point_geometry(route.forward(Point{-96.45, 38}))) > 1);
}

TEST_CASE("short edges get no points and end points are exact") {
  const Route route(Crs::wgs84(), Crs::from_text("EPSG:32614"));
  const Geometry small = box_polygon({-96.022, 38.004, -96.021, 38.005});
  CHECK(carried(route, small).vertices() == 5);
  CHECK(points_of(carried(route, small)).front() == route.forward(points_of(small).front()));
}

TEST_CASE("neighbours keep one boundary") {
  const Route route(Crs::wgs84(), Crs::from_text("EPSG:32614"));
  const Geometry south = carried(route, box_polygon({-96.5, 37.9, -96.3, 38}));
  const Geometry north = carried(route, box_polygon({-96.5, 38, -96.3, 38.1}));
  CHECK(intersection(south, north).area() == 0);
  CHECK(united({south, north}).area() == doctest::Approx(south.area() + north.area()).epsilon(1e-12));
  CHECK(united({south, north}).vertices() < south.vertices() + north.vertices());
}

TEST_CASE("parts and holes stay what they were") {
  const Route route(Crs::wgs84(), Crs::from_text("EPSG:32614"));
  const Geometry parts = from_wkt(
      "MULTIPOLYGON (((-96 38, -96.01 38, -96.01 38.01, -96 38.01, -96 38),"
      " (-96.004 38.004, -96.004 38.006, -96.006 38.006, -96.006 38.004, -96.004 38.004)),"
      " ((-96.1 38, -96.11 38, -96.11 38.01, -96.1 38)))");
  const Geometry there = carried(route, parts);
  CHECK(rings_of(there).rings.size() == 3);
  CHECK(to_wkt(there).find("MULTIPOLYGON") == 0);
  CHECK(to_wkt(carried(route, from_wkt("MULTIPOINT ((-96 38), (-97 38))"))).find("MULTIPOINT") == 0);
  CHECK(carried(route, Geometry()).empty());
  CHECK_THROWS_AS((void)carried(route, box_polygon({-97, -97, -96, 38})), InputError);
}

}  // namespace carried_test
