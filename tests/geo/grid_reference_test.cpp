#include "swardline/geo/grid_reference.hpp"

#include <doctest/doctest.h>
#include <fmt/format.h>

#include <cmath>
#include <limits>

#include "swardline/base/error.hpp"
#include "swardline/geo/earth.hpp"

namespace grid_reference_test {

using namespace swardline;

namespace {
constexpr double kLat = 38.00412;
constexpr double kLon = -96.02184;
}  // namespace

TEST_CASE("one plot in all notations") {
  // A planner's worked example near a zone edge (NAD83 and WGS84 taken as one).
  CHECK(degrees_minutes(kLat, kLon) == "38 00.247 N 96 01.310 W");
  CHECK(utm_text(utm(kLat, kLon)) == "14N 761489 4210459");
  CHECK(usng(kLat, kLon) == "14S QH 61488 10458");
  CHECK(usng_near_edge(kLat, kLon) == std::vector<std::string>{"14S QH 61488 10458", "15S TC 34675 10582"});
}

TEST_CASE("every notation reads back to within a metre of its place") {
  const LatLon minutes = from_degrees_minutes(degrees_minutes(kLat, kLon));
  CHECK(geodesic({kLon, kLat}, {minutes.lon, minutes.lat}).metres <
        1.3);  // a thousandth of a minute is 1.9 m
  for (const std::string& text : usng_near_edge(kLat, kLon)) {
    const LatLon square = from_usng(text);
    CHECK(geodesic({kLon, kLat}, {square.lon, square.lat}).metres < 0.71);  // half a square's diagonal
  }
}

TEST_CASE("a reference is cut, never rounded, and loses nothing to floating error") {
  CHECK(usng(kLat, kLon, 4) == "14S QH 6148 1045");
  CHECK(usng(kLat, kLon, 1) == "14S QH 6 1");
  CHECK(usng(kLat, kLon, 0) == "14S QH");
  CHECK(utm(kLat, kLon).northing > 4210458.5);  // rounding would say 10459
  // The corner of a metre square, found by inverting the projection, is in its own square.
  for (int i = 0; i < 200; ++i) {
    const std::string corner = fmt::format("14S QH 614{:02} 104{:02}", i % 100, (i * 37) % 100);
    const LatLon centre = from_usng(corner);
    CHECK(usng(centre.lat, centre.lon) == corner);
  }
}

TEST_CASE("the neighbour's zone is added near an edge only") {
  CHECK(utm_near_edge(38, -96.02).size() == 2);
  CHECK(utm_near_edge(38, -96.02).front().zone == 14);
  CHECK(utm_near_edge(38, -96.02).back().zone == 15);
  CHECK(utm_near_edge(38, -95.98).front().zone == 15);
  CHECK(utm_near_edge(38, -99).size() == 1);
  CHECK(utm_near_edge(38, -96.4, 30).size() == 1);
  CHECK(utm_near_edge(38, -96.4, 40).size() == 2);
  CHECK(utm_near_edge(60, 2.9).back().zone == 32);  // the wide zone of south-west Norway
  CHECK(utm_near_edge(45, 179.9).back().zone == 1);
}

TEST_CASE("minutes carry into degrees and tiny negatives have no side") {
  CHECK(degrees_minutes(37.9999999, -95.9999999) == "38 00.000 N 96 00.000 W");
  CHECK(degrees_minutes(-0.0000001, -0.0000001) == "0 00.000 N 0 00.000 E");
  CHECK(degrees_minutes(-33.856784, 151.215297) == "33 51.407 S 151 12.918 E");
  CHECK(degrees_minutes(5.05, 0) == "5 03.000 N 0 00.000 E");
}

TEST_CASE("degrees and minutes are read as people write them, and only when whole") {
  const LatLon place = from_degrees_minutes(
      "38\xC2\xB0"
      "00.247'N, 96\xC2\xB0"
      "01.310'W");
  CHECK(place.lat == doctest::Approx(38 + 0.247 / 60).epsilon(1e-12));
  CHECK(place.lon == doctest::Approx(-96 - 1.31 / 60).epsilon(1e-12));
  CHECK(from_degrees_minutes("96 01.310 w 38 00.247 n").lon < -96);
  for (const char* bad :
       {"", "38 00.247 96 01.310", "38 60.000 N 96 01.310 W", "38.5 00.247 N 96 01.310 W",
        "38 00.247 N 96 01.310 N", "-38 00.247 N 96 01.310 W", "91 00.000 N 96 01.310 W",
        "38 00.247 N 181 01.310 W", "38 00.2.47 N 96 01.310 W", "38 00.247 Q 96 01.310 W"}) {
    CAPTURE(bad);
    CHECK_THROWS_AS((void)from_degrees_minutes(bad), InputError);
  }
}

TEST_CASE("a reference that is no reference is refused with what one looks like") {
  for (const char* bad : {"", "14S", "QH 61488 10458", "14S QH 61488 1045", "14S ZZ 61488 10458",
                          "61S QH 1 1", "INVALID", "14Z QH 61488 10458", "-1"}) {
    CAPTURE(bad);
    CHECK_THROWS_AS((void)from_usng(bad), InputError);
  }
}

TEST_CASE("outside UTM and far from a zone there is an error, not a number") {
  CHECK_THROWS_AS((void)utm(84.1, 0), InputError);
  CHECK_THROWS_AS((void)utm(-80.1, 0), InputError);
  CHECK_THROWS_AS((void)utm(38, -96, 40), InputError);
  CHECK_THROWS_AS((void)utm(38, -96, 61), InputError);
  CHECK_THROWS_AS((void)utm(std::numeric_limits<double>::quiet_NaN(), -96), InputError);
  CHECK_THROWS_AS((void)utm(-96, 38), InputError);  // swapped
  CHECK_THROWS_AS((void)usng(38, -96, 9), Defect);
  CHECK(utm(84, 10).zone == 33);
  CHECK(utm(-80, 10).zone == 32);
}

}  // namespace grid_reference_test
