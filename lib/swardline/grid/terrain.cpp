#include "swardline/grid/terrain.hpp"

#include <cmath>
#include <numbers>

namespace swardline {
namespace {

constexpr double radian = std::numbers::pi / 180.0;

}  // namespace

SlopeAspect horn(const double z[9], double dx_m, double dy_m) {
  // Eight times the rise per metre eastwards and southwards.
  const double east = ((z[2] + z[5] + z[5] + z[8]) - (z[0] + z[3] + z[3] + z[6])) / dx_m;
  const double south = ((z[6] + z[7] + z[7] + z[8]) - (z[0] + z[1] + z[1] + z[2])) / dy_m;
  return slope_of_rise(east / 8, south / 8);
}

SlopeAspect slope_of_rise(double east, double south) {
  SlopeAspect out;
  out.slope_deg = std::atan(std::sqrt(east * east + south * south)) / radian;
  if (east == 0 && south == 0) return out;
  const double anticlockwise_from_east = std::atan2(south, -east) / radian;
  out.aspect_deg =
      anticlockwise_from_east > 90 ? 450 - anticlockwise_from_east : 90 - anticlockwise_from_east;
  if (out.aspect_deg >= 360) out.aspect_deg = 0;
  return out;
}

double heat_load(double latitude_deg, double slope_deg, double aspect_deg) {
  const double latitude = latitude_deg * radian;
  const double slope = slope_deg * radian;
  const double folded = std::abs(180 - std::abs(aspect_deg - 225)) * radian;
  return 0.339 + 0.808 * std::cos(latitude) * std::cos(slope) - 0.196 * std::sin(latitude) * std::sin(slope) -
         0.482 * std::cos(folded) * std::sin(slope);
}

}  // namespace swardline
