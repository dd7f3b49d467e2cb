#include "swardline/geo/grid_reference.hpp"

#include <fmt/format.h>

#include <GeographicLib/Geodesic.hpp>
#include <GeographicLib/MGRS.hpp>
#include <GeographicLib/UTMUPS.hpp>
#include <algorithm>
#include <cctype>
#include <charconv>
#include <cmath>
#include <optional>

#include "swardline/base/error.hpp"

namespace swardline {
namespace {

using GeographicLib::MGRS;
using GeographicLib::UTMUPS;

constexpr double kSouthLimit = -80;
constexpr double kNorthLimit = 84;

void check_position(double lat, double lon) {
  if (!std::isfinite(lat) || !std::isfinite(lon) || std::abs(lat) > 90 || std::abs(lon) > 360) {
    throw InputError({}, fmt::format("{} {} is not a latitude and longitude in degrees.", lat, lon),
                     "Latitude comes first, -90 to 90.");
  }
}

void check_utm_position(double lat, double lon) {
  check_position(lat, lon);
  if (lat < kSouthLimit || lat > kNorthLimit) {
    throw InputError({}, fmt::format("latitude {} is outside UTM, which runs from 80 S to 84 N.", lat),
                     "Use latitude and longitude there.");
  }
}

/// The standard zone first, then those of the places `within_km` to the four sides.
std::vector<int> zones_near(double lat, double lon, double within_km) {
  check_utm_position(lat, lon);
  std::vector<int> zones{UTMUPS::StandardZone(lat, lon, UTMUPS::UTM)};
  for (const double bearing : {270.0, 90.0, 180.0, 0.0}) {
    double there_lat = 0;
    double there_lon = 0;
    GeographicLib::Geodesic::WGS84().Direct(lat, lon, bearing, within_km * 1000, there_lat, there_lon);
    if (there_lat < kSouthLimit || there_lat > kNorthLimit) continue;
    const int zone = UTMUPS::StandardZone(there_lat, there_lon, UTMUPS::UTM);
    if (std::find(zones.begin(), zones.end(), zone) == zones.end()) zones.push_back(zone);
  }
  return zones;
}

}  // namespace

Utm utm(double lat, double lon, int zone) {
  check_utm_position(lat, lon);
  Utm result;
  try {
    double convergence = 0;
    double scale = 0;
    UTMUPS::Forward(lat, lon, result.zone, result.north, result.easting, result.northing, convergence, scale,
                    zone == 0 ? static_cast<int>(UTMUPS::UTM) : zone);
  } catch (const GeographicLib::GeographicErr& error) {
    throw InputError({},
                     fmt::format("{} {} cannot be written in UTM zone {}: {}.", lat, lon, zone, error.what()),
                     "Use the standard zone, or one beside it.");
  }
  return result;
}

std::string utm_text(const Utm& utm) {
  return fmt::format("{}{} {:.0f} {:.0f}", utm.zone, utm.north ? 'N' : 'S', utm.easting, utm.northing);
}

std::string usng(double lat, double lon, int digits, int zone) {
  constexpr int kMostDigits = 8;  // a millimetre
  if (digits < 0 || digits > kMostDigits) throw Defect(fmt::format("a grid reference of {} digits", digits));
  const Utm place = utm(lat, lon, zone);
  // A coordinate that is whole in the last digit may have come out a hair below it, and
  // would lose a whole unit. Half a micrometre is far below what any digit here means.
  constexpr double kGuard = 5e-7;
  constexpr double kEquatorFromSouth = 1e7;
  const double easting = place.easting + kGuard;
  const double guarded = place.northing + kGuard;
  const double northing = !place.north && guarded >= kEquatorFromSouth ? place.northing : guarded;
  std::string packed;
  try {
    MGRS::Forward(place.zone, place.north, easting, northing, lat, digits, packed);
  } catch (const GeographicLib::GeographicErr& error) {
    throw InputError({},
                     fmt::format("{} {} cannot be written as a grid reference: {}.", lat, lon, error.what()),
                     "Use the standard zone, or one beside it.");
  }
  // Two figures of zone, a band letter, two letters of the square, then the digits.
  std::string text = packed.substr(0, 3) + " " + packed.substr(3, 2);
  const auto count = static_cast<std::size_t>(digits);
  if (count > 0) text += " " + packed.substr(5, count) + " " + packed.substr(5 + count, count);
  return text;
}

LatLon from_usng(const std::string& text) {
  std::string packed;
  for (const char c : text) {
    if (std::isspace(static_cast<unsigned char>(c)) == 0) packed.push_back(c);
  }
  const auto refuse = [&](const std::string& why) {
    return InputError({}, fmt::format("\"{}\" is not a grid reference: {}.", text, why),
                      "Write it as 14S QH 61488 10458.");
  };
  // Without its two letters of the square a reference is a whole zone, not a place.
  if (packed.size() < 4 || std::isdigit(static_cast<unsigned char>(packed.front())) == 0) {
    throw refuse("it has no zone or no square");
  }
  try {
    int zone = 0;
    bool north = true;
    double easting = 0;
    double northing = 0;
    int digits = 0;
    MGRS::Reverse(packed, zone, north, easting, northing, digits, true);
    if (zone < 1 || digits < 0) throw refuse("it has no square");
    LatLon place;
    UTMUPS::Reverse(zone, north, easting, northing, place.lat, place.lon);
    return place;
  } catch (const GeographicLib::GeographicErr& error) {
    throw refuse(error.what());
  }
}

std::vector<std::string> usng_near_edge(double lat, double lon, double within_km) {
  std::vector<std::string> texts;
  for (const int zone : zones_near(lat, lon, within_km)) texts.push_back(usng(lat, lon, 5, zone));
  return texts;
}

std::vector<Utm> utm_near_edge(double lat, double lon, double within_km) {
  std::vector<Utm> places;
  for (const int zone : zones_near(lat, lon, within_km)) places.push_back(utm(lat, lon, zone));
  return places;
}

namespace {

constexpr long long kPerDegree = 60000;  // thousandths of a minute

std::string half_in_minutes(double degrees, char positive, char negative) {
  const long long thousandths = std::llround(std::abs(degrees) * kPerDegree);
  const long long rest = thousandths % kPerDegree;
  const char side = degrees < 0 && thousandths > 0 ? negative : positive;
  return fmt::format("{} {:02}.{:03} {}", thousandths / kPerDegree, rest / 1000, rest % 1000, side);
}

/// Splits into numbers and letters; degree, minute and comma signs are blanks.
std::vector<std::string> tokens_of(const std::string& text) {
  std::vector<std::string> tokens;
  bool in_number = false;
  for (const char c : text) {
    const auto u = static_cast<unsigned char>(c);
    if (std::isdigit(u) != 0 || c == '.' || c == '-' || c == '+') {
      if (!in_number) tokens.emplace_back();
      tokens.back().push_back(c);
      in_number = true;
    } else {
      in_number = false;
      if (std::isalpha(u) != 0) tokens.emplace_back(1, static_cast<char>(std::toupper(u)));
    }
  }
  return tokens;
}

std::optional<double> number(const std::string& text, double below) {
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size() || !(value >= 0) || !(value < below))
    return std::nullopt;
  return value;
}

}  // namespace

std::string degrees_minutes(double lat, double lon) {
  check_position(lat, lon);
  return half_in_minutes(lat, 'N', 'S') + " " + half_in_minutes(std::remainder(lon, 360.0), 'E', 'W');
}

LatLon from_degrees_minutes(const std::string& text) {
  const auto refuse = [&](const char* why) {
    return InputError({}, fmt::format("\"{}\" is not degrees and minutes: {}.", text, why),
                      "Write it as 38 00.247 N 96 01.310 W.");
  };
  const std::vector<std::string> tokens = tokens_of(text);
  if (tokens.size() != 6) throw refuse("it needs degrees, minutes and a letter, twice");
  std::optional<double> lat;
  std::optional<double> lon;
  for (std::size_t half = 0; half < 6; half += 3) {
    const std::string& side = tokens[half + 2];
    const bool north_south = side == "N" || side == "S";
    if (!north_south && side != "E" && side != "W") throw refuse("each half ends in N, S, E or W");
    const std::optional<double> degrees = number(tokens[half], 181);
    const std::optional<double> minutes = number(tokens[half + 1], 60);
    if (!degrees || *degrees != std::floor(*degrees)) throw refuse("degrees are whole and without a sign");
    if (!minutes) throw refuse("minutes run from 0 to below 60");
    const double value = *degrees + *minutes / 60;
    if (value > (north_south ? 90 : 180))
      throw refuse("it is beyond 90 degrees of latitude or 180 of longitude");
    (north_south ? lat : lon) = side == "S" || side == "W" ? -value : value;
  }
  if (!lat || !lon) throw refuse("it needs one latitude and one longitude");
  return {*lat, *lon};
}

}  // namespace swardline
