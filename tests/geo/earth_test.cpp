#include "swardline/geo/earth.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>

namespace earth_test {

using namespace swardline;

namespace {
// WGS84 ellipsoid (NIMA TR 8350.2).
constexpr double kA = 6378137;
constexpr double kF = 1 / 298.257223563;
}  // namespace

TEST_CASE("from one plot to the next: metres and true bearing") {
  // A planner's worked example.
  const Leg leg = geodesic({-96.02184, 38.00412}, {-96.01923, 38.00581});
  CHECK(leg.metres == doctest::Approx(296.2).epsilon(0.0002));
  CHECK(leg.bearing_deg == doctest::Approx(50.7).epsilon(0.001));
}

TEST_CASE("bearings run from 0 to below 360") {
  CHECK(geodesic({0, 0}, {0, 1}).bearing_deg == 0);
  CHECK(geodesic({0, 0}, {1, 0}).bearing_deg == doctest::Approx(90));
  CHECK(geodesic({0, 1}, {0, 0}).bearing_deg == doctest::Approx(180));
  CHECK(geodesic({0, 0}, {-1, 0}).bearing_deg == doctest::Approx(270));
  CHECK(geodesic({-96, 38}, {-96.000001, 39}).bearing_deg < 360);
  CHECK(geodesic({5, 5}, {5, 5}).metres == 0);
}

TEST_CASE("the area of a zone between two parallels follows the closed formula") {
  // Area between the equator and latitude phi for one radian of longitude on the ellipsoid:
  // b^2/2 (sin/(1 - e^2 sin^2) + artanh(e sin)/e); Snyder 1987, USGS Prof. Paper 1395, eq. 3-12.
  const double e2 = kF * (2 - kF);
  const double e = std::sqrt(e2);
  const double b2 = kA * kA * (1 - e2);
  const auto zone = [&](double degrees) {
    const double s = std::sin(degrees * std::numbers::pi / 180);
    return b2 / 2 * (s / (1 - e2 * s * s) + std::atanh(e * s) / e);
  };
  std::vector<Point> ring;  // parallels are no geodesics: many short edges
  constexpr int kSteps = 2000;
  for (int i = 0; i <= kSteps; ++i) ring.push_back({-97 + 1.0 * i / kSteps, 38});
  for (int i = kSteps; i >= 0; --i) ring.push_back({-97 + 1.0 * i / kSteps, 39});
  const double expected = (zone(39) - zone(38)) * std::numbers::pi / 180;
  CHECK(geodesic_area(polygon(ring)) == doctest::Approx(expected).epsilon(1e-9));
}

TEST_CASE("holes come out of a geodesic area and the way round does not matter") {
  const Geometry with_hole = from_wkt(
      "POLYGON ((-96 38, -96.1 38, -96.1 38.1, -96 38.1, -96 38),"
      " (-96.02 38.02, -96.02 38.04, -96.04 38.04, -96.04 38.02, -96.02 38.02))");
  const double whole = geodesic_area(box_polygon({-96.1, 38, -96, 38.1}));
  const double hole = geodesic_area(box_polygon({-96.04, 38.02, -96.02, 38.04}));
  CHECK(geodesic_area(with_hole) == doctest::Approx(whole - hole).epsilon(1e-12));
  CHECK(geodesic_area(Geometry()) == 0);
}

TEST_CASE("the geodesic ratio is the inverse square of the projection's scale") {
  const Route route(Crs::from_text("EPSG:32614"), Crs::wgs84());
  // On the central meridian the scale is 0.9996 (common practice).
  const Geometry middle = box_polygon({499900, 4209900, 500100, 4210100});
  CHECK(geodesic_ratio(middle, route) == doctest::Approx(1 / (0.9996 * 0.9996)).epsilon(1e-8));
  // 261 km east of it the scale is k0 (1 + x^2 / (2 rho nu k0^2)) to second order: about 1.000437.
  const Geometry edge = box_polygon({761400, 4210400, 761600, 4210600});
  CHECK(geodesic_ratio(edge, route) == doctest::Approx(1 / std::pow(1.000442, 2)).epsilon(2e-5));
  // A long verge: the same whether its edges are given short or long.
  const Geometry verge = box_polygon({758000, 4210000, 761400, 4210020});
  CHECK(geodesic_ratio(verge, route) == doctest::Approx(1 / std::pow(1.00043, 2)).epsilon(5e-5));
}

TEST_CASE("convergence turns a grid bearing into a true one") {
  const Crs utm14 = Crs::from_text("EPSG:32614");
  const Route route(utm14, Crs::wgs84());
  const Point plot{761488, 4210459};
  const double convergence = convergence_deg(plot, route);
  CHECK(convergence == doctest::Approx(1.834).epsilon(0.001));
  CHECK(convergence_deg({500000, 4210459}, route) == doctest::Approx(0).epsilon(1e-9));
  CHECK(convergence_deg({238512, 4210459}, route) == doctest::Approx(-convergence).epsilon(1e-6));

  const double grid_bearing = 30;
  const double radians = grid_bearing * std::numbers::pi / 180;
  const Point next{plot.x + 20 * std::sin(radians), plot.y + 20 * std::cos(radians)};
  const Leg leg = geodesic(route.forward(plot), route.forward(next));
  CHECK(leg.bearing_deg == doctest::Approx(grid_bearing + convergence).epsilon(1e-5));
}

}  // namespace earth_test
