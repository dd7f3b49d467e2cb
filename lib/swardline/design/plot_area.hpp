// A plot on the ground: how much of it lies inside the survey area, what counts twice or again at edges,
// and the words a team works by.
//
// Walk-through: Ducey, Gove & Valentine 2004, A walkthrough solution to the boundary overlap problem, Forest
// Science 50:427-435. Folding back: reflection of a line at the boundary, Gregoire & Monkevich 1994,
// Environmental and Ecological Statistics 1:219-226; Affleck, Gregoire & Valentine 2005, Design unbiased
// estimation in line intersect sampling using segmented transects, ibid. 12:139-154.
#pragma once

#include <string>
#include <vector>

#include "swardline/geo/geometry.hpp"
#include "swardline/season/plan.hpp"

namespace swardline {

/// A unit vector for a grid bearing; whole degrees come from a table rounded to 1e-12 so that
/// machines agree.
[[nodiscard]] Point direction(double grid_bearing_deg);

/// The plot's polygon about its pin (belt: length along the bearing; square: sides along
/// and across it; circle: regular 256-gon of the circle's exact area).
[[nodiscard]] Geometry plot_polygon(UnitShape shape, const std::array<double, 2>& size_m, Point pin,
                                    double grid_bearing_deg);

struct PlotArea {
  double plot_m2 = 0;
  double inside_m2 =
      0;  ///< searched: plot ∩ survey area (folded belts: up to where the midline comes in again)
  /// Counted a second time. Walk-through: {x in plot ∩ area : 2x - pin outside the area}. Folded belts: what
  /// is folded back, as often as it is. 0 for other rules.
  double twice_m2 = 0;
  double pin_outside_m = 0;  ///< metres from a pin outside the survey area to it (grown frame); 0 inside
  /// What to do at the edge, in tape distances from the pin and true bearings: "end A: edge at 3.8 m, count
  /// twice from 1.9 m"; empty when no edge matters.
  std::string tape;
};

/// By the sample's edge rule. `convergence_deg` is true bearing minus grid bearing at the pin. Areas are
/// exact for belts, squares and circles (circle–polygon areas in closed form), ponds included.
[[nodiscard]] PlotArea plot_area(const SampleSpec& sample, const Geometry& survey_area, Point pin,
                                 double grid_bearing_deg, double convergence_deg);

[[nodiscard]] PlotArea walk_through(const Geometry& survey_area, UnitShape shape,
                                    const std::array<double, 2>& size_m, Point pin, double grid_bearing_deg,
                                    double convergence_deg = 0);

/// Where a belt of half length `half` is searched along its midline, and where it is counted again: u is in
/// metres from the pin, positive towards end A. Past the first way out at e, what is left of the tape is
/// laid back from e, over the pin if need be, and turns round again where it meets the edge behind. Ground
/// beyond the place where the midline comes in again is not searched.
struct FoldedBelt {
  struct Again {
    double from = 0, to = 0;
    int times = 1;
  };
  double from = 0, to = 0;   ///< searched once
  std::vector<Again> again;  ///< up to `to` (or down to `from`) where it ends at the edge, however oblique
};
/// `edges_a`, `edges_b`: metres from the pin at which the midline crosses the edge towards each end, rising.
[[nodiscard]] FoldedBelt folded_belt(const std::vector<double>& edges_a, const std::vector<double>& edges_b,
                                     double half);
/// The same for a belt on the ground.
[[nodiscard]] FoldedBelt folded_belt(const Geometry& survey_area, double length_m, Point pin,
                                     double grid_bearing_deg);

}  // namespace swardline
