// Magnetic declination from a file of World Magnetic Model coefficients, and bearings a compass can be set
// to.
//
// Chulliat et al. 2020 and NOAA NCEI / British Geological Survey 2024, The US/UK World Magnetic Model:
// technical reports. The sums are GeographicLib's (SphericalHarmonic, Schmidt semi-normalised).
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace swardline {

/// Nanotesla at a place and date; declination in degrees, east positive, in (-180, 180].
struct MagneticField {
  double north = 0, east = 0, down = 0;
  double declination_deg = 0;
};

/// One edition of the model.
class MagneticModel {
 public:
  /// Reads the model's own coefficient file (WMM2025.COF). Throws InputError where it is not one.
  static MagneticModel read(const std::filesystem::path& file);

  [[nodiscard]] const std::string& name() const { return name_; }  ///< "WMM-2025"
  [[nodiscard]] double first_year() const { return epoch_; }
  /// A new edition comes every five years.
  [[nodiscard]] double last_year() const { return epoch_ + 5; }
  [[nodiscard]] bool holds(double year) const { return year >= first_year() && year <= last_year(); }
  /// Height in metres above the WGS84 ellipsoid; a decimal year.
  [[nodiscard]] MagneticField at(double lat, double lon, double height_m, double year) const;

 private:
  MagneticModel() = default;
  std::string name_;
  double epoch_ = 0;
  int degree_ = 0;
  /// By order, then degree, as the sums want them; and their change in a year.
  std::vector<double> cosines_, sines_, cosines_a_year_, sines_a_year_;
};

/// What a compass shows on a true bearing: true minus east declination, plus west; 0 <= bearing < 360.
[[nodiscard]] double magnetic_bearing(double true_bearing_deg, double declination_deg);

/// Three digits before the point: "050.7", "000.0" for what would round to 360.
[[nodiscard]] std::string bearing_text(double bearing_deg);
/// "1.5° W", "11.0° E", "0.0°".
[[nodiscard]] std::string declination_text(double declination_deg);

}  // namespace swardline
