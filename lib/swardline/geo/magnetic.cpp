#include "swardline/geo/magnetic.hpp"

#include <fmt/format.h>

#include <GeographicLib/Geocentric.hpp>
#include <GeographicLib/SphericalHarmonic.hpp>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <sstream>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"

namespace swardline {
namespace {

constexpr double reference_radius_m = 6371200;  // of the model's expansion
constexpr int highest_degree = 200;

/// Where the sums look for a degree and an order: columns of one order, each from its own degree on.
std::size_t place_of(int n, int m, int degree) {
  return std::size_t(m * (degree + 1) - m * (m - 1) / 2 + n - m);
}

struct Row {
  int n = 0, m = 0;
  double g = 0, h = 0, g_a_year = 0, h_a_year = 0;
};

[[noreturn]] void not_coefficients(const std::filesystem::path& file, int line, const std::string& what) {
  throw InputError({file.string(), line, {}}, what + ", so this is no file of magnetic coefficients.",
                   "Give the model's own file, such as WMM2025.COF.");
}

}  // namespace

MagneticModel MagneticModel::read(const std::filesystem::path& file) {
  std::istringstream lines(read_whole(file));
  lines.imbue(std::locale::classic());
  MagneticModel model;
  std::string line;
  int number = 1;
  if (!std::getline(lines, line)) not_coefficients(file, 0, "it is empty");
  std::istringstream head(line);
  head.imbue(std::locale::classic());
  if (!(head >> model.epoch_ >> model.name_) || model.epoch_ < 1900 || model.epoch_ > 2200)
    not_coefficients(file, 1, "the first line does not begin with a year and a name");
  std::vector<Row> rows;
  while (std::getline(lines, line)) {
    ++number;
    if (line.starts_with("9999")) break;
    if (line.find_first_not_of(" \t\r") == std::string::npos) continue;
    std::istringstream values(line);
    values.imbue(std::locale::classic());
    Row row;
    if (!(values >> row.n >> row.m >> row.g >> row.h >> row.g_a_year >> row.h_a_year) || row.n < 1 ||
        row.n > highest_degree || row.m < 0 || row.m > row.n)
      not_coefficients(file, number, "this line is not a degree, an order and four coefficients");
    model.degree_ = std::max(model.degree_, row.n);
    rows.push_back(row);
  }
  const std::size_t all = std::size_t(model.degree_) * std::size_t(model.degree_ + 3) / 2;
  if (model.degree_ < 1 || rows.size() != all)
    not_coefficients(file, 0,
                     fmt::format("{} lines of coefficients where its degree needs {}", rows.size(), all));
  const std::size_t size = place_of(model.degree_, model.degree_, model.degree_) + 1;
  const std::size_t first_sine = std::size_t(model.degree_) + 1;  // sines of order 0 are left out
  model.cosines_.assign(size, 0);
  model.cosines_a_year_.assign(size, 0);
  model.sines_.assign(size - first_sine, 0);
  model.sines_a_year_.assign(size - first_sine, 0);
  for (const Row& row : rows) {
    const std::size_t at = place_of(row.n, row.m, model.degree_);
    model.cosines_[at] = row.g;
    model.cosines_a_year_[at] = row.g_a_year;
    if (row.m == 0) continue;
    model.sines_[at - first_sine] = row.h;
    model.sines_a_year_[at - first_sine] = row.h_a_year;
  }
  return model;
}

MagneticField MagneticModel::at(double lat, double lon, double height_m, double year) const {
  const auto grown = [&](const std::vector<double>& from, const std::vector<double>& a_year) {
    std::vector<double> values(from.size());
    for (std::size_t i = 0; i < from.size(); ++i) values[i] = from[i] + (year - epoch_) * a_year[i];
    return values;
  };
  const std::vector<double> cosines = grown(cosines_, cosines_a_year_), sines = grown(sines_, sines_a_year_);
  const GeographicLib::SphericalHarmonic potential(cosines, sines, degree_, reference_radius_m,
                                                   GeographicLib::SphericalHarmonic::SCHMIDT);
  double x = 0, y = 0, z = 0;
  std::vector<double> turn(9);  // local east, north, up to earth-centred
  GeographicLib::Geocentric::WGS84().Forward(lat, lon, height_m, x, y, z, turn);
  double by_x = 0, by_y = 0, by_z = 0;
  (void)potential(x, y, z, by_x, by_y, by_z);
  const auto local = [&](std::size_t column) {
    return -reference_radius_m * (turn[column] * by_x + turn[3 + column] * by_y + turn[6 + column] * by_z);
  };
  MagneticField field;
  field.east = local(0);
  field.north = local(1);
  field.down = -local(2);
  field.declination_deg = std::atan2(field.east, field.north) * 180 / std::numbers::pi;
  return field;
}

double magnetic_bearing(double true_bearing_deg, double declination_deg) {
  const double turned = std::fmod(true_bearing_deg - declination_deg, 360.0);
  return turned < 0 ? (turned + 360 >= 360 ? 0 : turned + 360) : turned;
}

std::string bearing_text(double bearing_deg) {
  const double tenths = std::round(bearing_deg * 10) / 10;
  return fmt::format("{:05.1f}", tenths >= 360 ? tenths - 360 : tenths);
}

std::string declination_text(double declination_deg) {
  const double tenths = std::round(std::abs(declination_deg) * 10) / 10;
  if (tenths == 0) return "0.0°";
  return fmt::format("{:.1f}° {}", tenths, declination_deg < 0 ? "W" : "E");
}

}  // namespace swardline
