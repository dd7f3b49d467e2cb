// The World Magnetic Model's own test values, and bearings worked by hand.
#include "swardline/geo/magnetic.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "swardline/base/error.hpp"
#include "swardline/geo/earth.hpp"

namespace magnetic_test {

using namespace swardline;

namespace {

std::filesystem::path coefficients() {
  return std::filesystem::path(SWARDLINE_SOURCE_DIR) / "samples" / "WMM2025.COF";
}

std::filesystem::path shared_data() {
  const char* given = std::getenv("SWARDLINE_SHARED");
  return (given != nullptr ? std::filesystem::path(given)
                           : std::filesystem::path(SWARDLINE_SOURCE_DIR) / ".." / "shared") /
         "references" / "data";
}

}  // namespace

// NOAA NCEI / British Geological Survey 2024, WMM2025_TEST_VALUES (public domain): rows typed in here, so
// that they are checked where the whole file is absent. Year, km, latitude, longitude, declination, X, Y, Z.
TEST_CASE("declination and field at places of the model's test values") {
  const double rows[][8] = {{2025.0, 28, 89, -121, -99.77, -255.388723, -1482.460628, 56194.288771},
                            {2025.0, 48, 80, -96, -29.91, 1875.982280, -1079.269389, 55623.044051},
                            {2025.0, 65, 43, 93, 0.50, 24299.852822, 210.517066, 50037.923998},
                            {2028.5, 28, 54, -120, 15.43, 14735.145798, 4066.959949, 52393.678137},
                            {2028.5, 39, -65, -88, 29.45, 17946.905687, 10131.662696, -35982.872979},
                            {2029.0, 95, -70, 42, -55.06, 10426.249753, -14920.796381, -38237.047006}};
  const MagneticModel model = MagneticModel::read(coefficients());
  CHECK(model.name() == "WMM-2025");
  CHECK(model.first_year() == 2025);
  CHECK(model.holds(2029.9));
  CHECK_FALSE(model.holds(2030.1));
  CHECK_FALSE(model.holds(2024.9));
  for (const auto& row : rows) {
    const MagneticField field = model.at(row[2], row[3], row[1] * 1000, row[0]);
    CHECK(std::abs(field.declination_deg - row[4]) < 0.00501);
    CHECK(std::abs(field.north - row[5]) < 0.001);
    CHECK(std::abs(field.east - row[6]) < 0.001);
    CHECK(std::abs(field.down - row[7]) < 0.001);
  }
}

TEST_CASE("all hundred rows of the model's test file") {
  std::ifstream file(shared_data() / "WMM2025_TEST_VALUES.txt");
  if (!file) {
    MESSAGE("skipped: no shared/references here");
    return;
  }
  const MagneticModel model = MagneticModel::read(coefficients());
  std::string line;
  int rows = 0;
  double worst = 0;
  while (std::getline(file, line)) {
    if (line.empty() || line[0] == '#') continue;
    std::istringstream values(line);
    double year = 0, km = 0, lat = 0, lon = 0, declination = 0;
    const bool read = bool(values >> year >> km >> lat >> lon >> declination);
    REQUIRE(read);
    const double off =
        std::remainder(model.at(lat, lon, km * 1000, year).declination_deg - declination, 360.0);
    worst = std::max(worst, std::abs(off));
    ++rows;
  }
  MESSAGE(rows, " rows, largest difference in declination ", worst, " degrees");
  CHECK(rows == 100);
  CHECK(worst < 0.00501);
}

// By hand: magnetic = true - east declination, + west.
TEST_CASE("a walk between two points: distance, true and magnetic bearing") {
  const Leg leg = geodesic({-96.02184, 38.00412}, {-96.01923, 38.00581});
  CHECK(std::abs(leg.metres - 296.2) < 0.05);
  CHECK(bearing_text(leg.bearing_deg) == "050.7");
  CHECK(bearing_text(magnetic_bearing(leg.bearing_deg, -1.5)) == "052.2");
  CHECK(bearing_text(magnetic_bearing(leg.bearing_deg, 11)) == "039.7");
  CHECK(magnetic_bearing(1, 3) == doctest::Approx(358));
  CHECK(magnetic_bearing(359, -3) == doctest::Approx(2));
  CHECK(bearing_text(359.97) == "000.0");
  CHECK(declination_text(-1.5) == "1.5° W");
  CHECK(declination_text(11) == "11.0° E");
  CHECK(declination_text(-0.04) == "0.0°");
}

TEST_CASE("a file that holds no coefficients is refused in one line") {
  const auto file = std::filesystem::temp_directory_path() / "swardline-no-coefficients.cof";
  for (const char* text : {"", "hello\n", "2025.0 WMM-2025 11/13/2024\n 1 0 -29351.8\n",
                           "2025.0 WMM-2025 11/13/2024\n 1 0 -29351.8 0 12 0\n"}) {
    std::ofstream(file) << text;
    CHECK_THROWS_AS((void)MagneticModel::read(file), InputError);
  }
  std::filesystem::remove(file);
}

}  // namespace magnetic_test
