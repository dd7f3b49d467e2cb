// How steep the ground of plots is, and the tape that takes along the ground.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "swardline/design/draw_season.hpp"
#include "swardline/grid/layers.hpp"

namespace swardline {

struct GroundSlope {
  double slope_deg = 0;
  double aspect_deg = 0;  ///< the way the ground faces, clockwise from grid north
};

/// Layers that ground_slopes reads (for Layers::open); none where the plan has no heights.
[[nodiscard]] std::vector<std::string> layers_for_slopes(const Plan& plan);

/// Of plots that are due, by name, from the cell their pin lies in; those on flat ground or without heights
/// are left out.
[[nodiscard]] std::map<std::string, GroundSlope> ground_slopes(const Layers& layers,
                                                               const std::vector<Plot>& plots);

/// Metres of tape along the ground that reach so far level, on a line of that grid bearing: length / cos of
/// the slope along the line (slope distance; surveying, common practice).
[[nodiscard]] double along_ground_m(double level_m, const GroundSlope& ground, double grid_bearing_deg);

/// The same up or down the steepest way.
[[nodiscard]] double along_ground_m(double level_m, double slope_deg);

}  // namespace swardline
