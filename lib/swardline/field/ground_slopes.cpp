#include "swardline/field/ground_slopes.hpp"

#include <cmath>
#include <numbers>

#include "swardline/habitat/place_values.hpp"

namespace swardline {
namespace {

constexpr double radians_in_degree = std::numbers::pi / 180;

}  // namespace

std::vector<std::string> layers_for_slopes(const Plan& plan) {
  const LayerSpec* elevation = plan.layer("elevation");
  if (elevation == nullptr || elevation->is_classes()) return {};
  return {"slope", "aspect"};
}

std::map<std::string, GroundSlope> ground_slopes(const Layers& layers, const std::vector<Plot>& plots) {
  PlaceValues values(layers);
  std::map<std::string, GroundSlope> slopes;
  for (const Plot& plot : plots) {
    if (!plot.due()) continue;
    values.move_to(layers.grid().col_of(plot.east), layers.grid().row_of(plot.north));
    const LayerValue slope = values.of("slope"), aspect = values.of("aspect");
    if (slope.number && aspect.number && !slope.none && !aspect.none && *slope.number > 0)
      slopes[plot.name] = {*slope.number, *aspect.number};
  }
  return slopes;
}

double along_ground_m(double level_m, double slope_deg) {
  return level_m / std::cos(slope_deg * radians_in_degree);
}

double along_ground_m(double level_m, const GroundSlope& ground, double grid_bearing_deg) {
  const double rise = std::tan(ground.slope_deg * radians_in_degree) *
                      std::cos((grid_bearing_deg - ground.aspect_deg) * radians_in_degree);
  return level_m * std::sqrt(1 + rise * rise);
}

}  // namespace swardline
