// Slope, aspect and heat load of one cell.
#pragma once

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

/// Heat load index, McCune & Keon 2002 eq. 3, aspect folded about south-west (225 degrees):
/// 0.339 + 0.808 cos L cos S - 0.196 sin L sin S - 0.482 cos A sin S, with
/// A = |180 - |aspect - 225||. For 30–60 N and slopes to 60 degrees. Flat ground has no
/// aspect; sin S = 0 there, so none is needed.
[[nodiscard]] double heat_load(double latitude_deg, double slope_deg, double aspect_deg);

}  // namespace swardline
