// A plot on the ground, how much of it lies inside the survey area, and the part whose
// stems count twice at edges.
//
// Walk-through: Ducey, Gove & Valentine 2004, A walkthrough solution to the boundary
// overlap problem, Forest Science 50:427-435.
#pragma once

#include <string>

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
  double inside_m2 = 0;  ///< plot ∩ survey area
  double twice_m2 = 0;   ///< {x in plot ∩ area : 2x - pin outside the area}
  /// For belts at an edge: "end A: edge at 3.8 m, count twice from 1.9 m"; empty when whole.
  std::string tape;
};
/// Exact for belts, squares and circles (circle–polygon areas in closed form), ponds included.
[[nodiscard]] PlotArea walk_through(const Geometry& survey_area, UnitShape shape,
                                    const std::array<double, 2>& size_m, Point pin, double grid_bearing_deg);

}  // namespace swardline
