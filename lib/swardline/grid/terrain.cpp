#include "swardline/grid/terrain.hpp"

#include <cmath>
#include <cstdint>
#include <numbers>

#include "swardline/base/wide.hpp"

namespace swardline {
namespace {

constexpr double radian = std::numbers::pi / 180.0;

/// Arctangent of y / x for y, x >= 0, not both 0, without a branch: Cephes' reduction and rational function
/// (Moshier 1989, Methods and programs for mathematical functions), coefficients from memory; a test holds it
/// to std::atan. `y` may be infinite.
inline double arctangent(double y, double x) {
  constexpr double tan_3_eighths = 2.41421356237309504880, tan_1_eighth = 0.41421356237309504880;
  const bool steep = y > tan_3_eighths * x, middling = y > tan_1_eighth * x;
  const double above = steep ? -x : middling ? y - x : y;
  const double below = steep ? y : middling ? y + x : x;
  const double base = steep ? std::numbers::pi / 2 : middling ? std::numbers::pi / 4 : 0;
  const double t = above / below, z = t * t;
  const double p =
      (((-8.750608600031904122785e-1 * z - 1.615753718733365076637e1) * z - 7.500855792314704667340e1) * z -
       1.228866684490136173410e2) *
          z -
      6.485021904942025371773e1;
  const double q =
      ((((z + 2.485846490142306297962e1) * z + 1.650270098316988542046e2) * z + 4.328810604912902668951e2) *
           z +
       4.853903996359136964868e2) *
          z +
      1.945506571482613964425e2;
  return base + (t + t * z * (p / q));
}

}  // namespace

SWARDLINE_WIDE void rises_of_heights(const float* north, const float* here, const float* south,
                                     std::size_t count, const RiseTurn& turn, double* rise_east,
                                     double* rise_south) {
  const RiseTurn by = turn;  // a copy that the results cannot overwrite
  for (std::size_t i = 0; i < count; ++i) {
    const double nw = double(north[i]), n = double(north[i + 1]), ne = double(north[i + 2]);
    const double w = double(here[i]), e = double(here[i + 2]);
    const double sw = double(south[i]), s = double(south[i + 1]), se = double(south[i + 2]);
    // The middle cell has no part in the sums, but without data it has no slope.
    const double middle = double(here[i + 1]) - double(here[i + 1]);
    const double by_col = (ne + e + e + se) - (nw + w + w + sw) + middle;
    const double by_row = (sw + s + s + se) - (nw + n + n + ne) + middle;
    rise_east[i] = by_col * by.east_col + by_row * by.east_row;
    rise_south[i] = by_col * by.south_col + by_row * by.south_row;
  }
}

SWARDLINE_WIDE void heat_loads_of_rises(const double* east, const double* south, std::size_t count,
                                        const Straight& cos_latitude, const Straight& sin_latitude,
                                        float* index) {
  const Straight cosine = cos_latitude, sine = sin_latitude;  // copies that the results cannot overwrite
  for (std::size_t i = 0; i < count; ++i) {
    const auto along = double(std::int32_t(i));
    index[i] = float(heat_load_of_rise(cosine.first + along * cosine.step, sine.first + along * sine.step,
                                       east[i], south[i]));
  }
}

SWARDLINE_WIDE void slopes_of_rises(const double* east, const double* south, std::size_t count,
                                    float* degrees) {
  for (std::size_t i = 0; i < count; ++i)
    degrees[i] = float(arctangent(std::sqrt(east[i] * east[i] + south[i] * south[i]), 1) / radian);
}

SWARDLINE_WIDE void aspects_of_rises(const double* east, const double* south, std::size_t count,
                                     float* degrees) {
  for (std::size_t i = 0; i < count; ++i) {
    // The way down is (-east, south) as seen with north up; the angle from it to the nearer of north and
    // south.
    const double across = std::abs(east[i]), along = std::abs(south[i]);
    const double from_meridian = arctangent(across, along) / radian;
    const double to_north = south[i] > 0 ? from_meridian : 180 - from_meridian;
    const double facing = east[i] > 0 ? 360 - to_north : to_north;
    const double aspect = facing >= 360 ? 0 : facing;
    degrees[i] = across + along > 0 ? float(aspect) : degrees[i];
  }
}

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
