// Slope, aspect and heat load of one cell.
#pragma once

#include <cmath>
#include <cstddef>
#include <numbers>

namespace swardline {

struct SlopeAspect {
  double slope_deg = 0;
  double aspect_deg = -1;  ///< clockwise from north, the way the ground faces; negative: flat
};

/// Horn 1981 on a 3×3 window, row 0 north; dx and dy are cell sizes in metres. The
/// same arithmetic as GDAL's gdaldem.
[[nodiscard]] SlopeAspect horn(const double z[9], double dx_m, double dy_m);

/// The same from the rise in metres per metre eastwards and southwards.
[[nodiscard]] SlopeAspect slope_of_rise(double east, double south);

/// Rises per cell of a file turned into rises in metres per metre.
struct RiseTurn {
  double east_col = 0, east_row = 0, south_col = 0, south_row = 0;
};
/// Horn's rises of `count` cells of one row, from three rows of heights that begin one cell to the west; NaN
/// where one of the nine has no data.
void rises_of_heights(const float* north, const float* here, const float* south, std::size_t count,
                      const RiseTurn& turn, double* rise_east, double* rise_south);

/// Slopes in degrees of many cells, from their rises: those of slope_of_rise() as floats, several cells at
/// once.
void slopes_of_rises(const double* east, const double* south, std::size_t count, float* degrees);
/// Aspects in degrees; flat ground and cells without a rise (NaN) keep what `degrees` holds.
void aspects_of_rises(const double* east, const double* south, std::size_t count, float* degrees);

/// Heat load index, McCune & Keon 2002 eq. 3, aspect folded about south-west (225 degrees):
/// 0.339 + 0.808 cos L cos S - 0.196 sin L sin S - 0.482 cos A sin S, with
/// A = |180 - |aspect - 225||. For 30–60 N and slopes to 60 degrees. Flat ground has no
/// aspect; sin S = 0 there, so none is needed.
[[nodiscard]] double heat_load(double latitude_deg, double slope_deg, double aspect_deg);

/// The same from the latitude's cosine and sine and the rise in metres per metre eastwards and
/// southwards: no angle is ever taken, so it costs a tenth.
[[nodiscard]] inline double heat_load_of_rise(double cos_latitude, double sin_latitude, double east,
                                              double south) {
  const double cos_slope = 1 / std::sqrt(1 + east * east + south * south);
  // -cos A sin S / cos S: the rise towards the north-east. sin S / cos S is the rise itself.
  const double rise = std::sqrt(east * east + south * south);
  const double north_east = (east - south) * (std::numbers::sqrt2 / 2);
  return 0.339 + cos_slope * (0.808 * cos_latitude - 0.196 * sin_latitude * rise + 0.482 * north_east);
}

/// A number that runs straight along a row, at the row's first cell and from one cell to the next.
struct Straight {
  double first = 0, step = 0;
};
/// Heat loads of many cells of one row, from their rises.
void heat_loads_of_rises(const double* east, const double* south, std::size_t count,
                         const Straight& cos_latitude, const Straight& sin_latitude, float* index);

}  // namespace swardline
