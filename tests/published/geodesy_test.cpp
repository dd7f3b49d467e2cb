// Published values of geodesy. Where a file of shared/references is read and that folder
// is absent, the test says that it was skipped.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "swardline/geo/earth.hpp"
#include "swardline/geo/grid_reference.hpp"

namespace geodesy_test {

using namespace swardline;

namespace {

std::string packed(std::string usng) {
  std::erase(usng, ' ');
  return usng;
}

struct Row {
  double lat, lon;
  std::string zone;
  double easting, northing, convergence;
  std::string mgrs;
};

void check_row(const Row& row) {
  CAPTURE(row.lat);
  CAPTURE(row.lon);
  const Utm place = utm(row.lat, row.lon);
  CHECK(fmt::format("{:02}{}", place.zone, place.north ? 'n' : 's') == row.zone);
  CHECK(std::abs(place.easting - row.easting) < 0.001);
  CHECK(std::abs(place.northing - row.northing) < 0.001);
  CHECK(packed(usng(row.lat, row.lon)) == row.mgrs);

  const Crs crs = Crs::from_text(fmt::format("EPSG:{}{:02}", place.north ? 326 : 327, place.zone));
  const double convergence = convergence_deg({place.easting, place.northing}, Route(crs, Crs::wgs84()));
  CHECK(std::abs(convergence - row.convergence) < 1e-6);
}

std::filesystem::path references_data() {
  const char* shared = std::getenv("SWARDLINE_SHARED");
  const std::filesystem::path root = shared != nullptr
                                         ? std::filesystem::path(shared)
                                         : std::filesystem::path(SWARDLINE_SOURCE_DIR) / ".." / "shared";
  return root / "references" / "data";
}

}  // namespace

TEST_CASE("UTM and MGRS of one point, and the centre of a kilometre square") {
  // GeographicLib 2.1.2, manual page of GeoConvert: 33.3N 44.4E and 38SMB4488.
  const Utm place = utm(33.3, 44.4);
  CHECK(place.zone == 38);
  CHECK(std::abs(place.easting - 444140.545) < 0.001);
  CHECK(std::abs(place.northing - 3684706.356) < 0.001);
  CHECK(usng(33.3, 44.4) == "38S MB 44140 84706");
  const LatLon centre = from_usng("38SMB4488");
  CHECK(std::abs(centre.lat - 33.33424) < 1e-5);
  CHECK(std::abs(centre.lon - 44.40363) < 1e-5);
}

TEST_CASE("the United States National Grid is cut at every precision") {
  // FGDC-STD-011-2001, section 5.2.2 and table 1: NAD83 UTM 18N 323483.168 E 4306479.498 N.
  const double lat = 38.88946731;
  const double lon = -77.035240216;
  CHECK(packed(usng(lat, lon, 5)) == "18SUJ2348306479");
  CHECK(packed(usng(lat, lon, 4)) == "18SUJ23480647");
  CHECK(packed(usng(lat, lon, 3)) == "18SUJ234064");
  CHECK(packed(usng(lat, lon, 2)) == "18SUJ2306");
  CHECK(packed(usng(lat, lon, 1)) == "18SUJ20");
  // The millimetre string is the one to lose a unit to floating error. The standard's point
  // is given on the grid, so degrees come from the grid here (the inverse projection).
  const Route from_grid(Crs::from_text("EPSG:26918"), Crs::from_text("EPSG:4269"));
  const Point degrees = from_grid.forward(Point{323483.168, 4306479.498});
  CHECK(std::abs(degrees.y - lat) < 1e-8);
  CHECK(std::abs(degrees.x - lon) < 1e-8);
  CHECK(packed(usng(degrees.y, degrees.x, 8)) == "18SUJ2348316806479498");
}

TEST_CASE("zone edges, Norway, Svalbard, the equator and the antimeridian") {
  // UTM and MGRS rules of NGA.STND.0037; values GeographicLib 2.1.2, also by PROJ to 0.1 mm.
  for (const Row& row :
       {Row{40, -78, "18n", 243900.352, 4432069.057, -1.92940969214, "18TTK4390032069"},
        Row{40, -78.000001, "17n", 756099.563, 4432069.054, 1.92940904830, "17TQE5609932069"},
        Row{60, 3, "32n", 165640.332, 6666593.572, -5.20092221629, "32VJM6564066593"},
        Row{60, 2.999999, "31n", 499999.944, 6651411.190, -0.00000086603, "31VDG9999951411"},
        Row{78.5, 9, "33n", 366686.771, 8721017.727, -5.88040151908, "33XUH6668621017"},
        Row{0, 0, "31n", 166021.443, 0, 0, "31NAA6602100000"},
        Row{-0.000001, 0, "31s", 166021.443, 9999999.889, 0.00000005241, "31MAV6602199999"},
        Row{45, -180, "01n", 263553.974, 4987329.505, -2.12229971658, "01TBK6355387329"}}) {
    check_row(row);
  }
}

TEST_CASE("all 31 points of the reference table") {
  const std::filesystem::path file = references_data() / "utm_mgrs_points.csv";
  std::ifstream in(file);
  if (!in) {
    MESSAGE("skipped: no references/data/utm_mgrs_points.csv (set SWARDLINE_SHARED)");
    return;
  }
  std::string line;
  std::getline(in, line);
  int rows = 0;
  while (std::getline(in, line)) {
    std::vector<std::string> cells;
    std::stringstream stream(line);
    for (std::string cell; std::getline(stream, cell, ',');) cells.push_back(cell);
    REQUIRE(cells.size() == 8);
    check_row({std::stod(cells[0]), std::stod(cells[1]), cells[2], std::stod(cells[3]), std::stod(cells[4]),
               std::stod(cells[5]), cells[7]});
    ++rows;
  }
  CHECK(rows == 31);
}

TEST_CASE("geodesics of Karney's worked examples") {
  // Karney 2013, Journal of Geodesy 87:43-55, tables 2 (read backwards), 3 and 4.
  const Leg direct = geodesic({0, 40}, {137.84490004377, 41.79331020506});
  CHECK(std::abs(direct.metres - 10000000) < 1e-3);  // the end point is printed to 1e-11 degrees
  CHECK(std::abs(direct.bearing_deg - 30) < 1e-9);
  const Leg small = geodesic({0, -30.12345}, {0.00005, -30.12344});
  CHECK(std::abs(small.metres - 4.944208) < 1e-6);
  CHECK(std::abs(small.bearing_deg - 77.04353354237) < 1e-8);
  const Leg antipodal = geodesic({0, -30}, {179.8, 29.9});
  CHECK(std::abs(antipodal.metres - 19989832.82761) < 1e-5);
  CHECK(std::abs(antipodal.bearing_deg - 161.89052473633) < 1e-9);
}

}  // namespace geodesy_test
