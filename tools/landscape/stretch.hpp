// A stretch of land that is what somebody wants it to be (a meadow, a glade), set into the noise.
#pragma once

#include <cstdint>
#include <utility>
#include <vector>

#include "nearest.hpp"
#include "view.hpp"

namespace swardline::landscape {

/// Cover classes; the numbers are the raster's values.
enum Cover : std::uint8_t {
  kOpenWater = 1,
  kBottomlandWoods,
  kWetMeadow,
  kMoistPrairie,
  kDryPrairie,
  kGlade,
  kOpenWoods,
  kClosedForest,
  kOldField,
  kRoadVerge,
  kCrop,
  kBuilt
};

/// Bedrock and deep soil classes; the numbers are the raster's values.
enum Bedrock : std::uint8_t { kDolomite = 1, kSandstone, kChert, kDeepSand, kAlluvium, kLoess };

/// A class up to (not including) a value of the stretch's own patch noise; the last one takes the rest.
using Mix = std::vector<std::pair<double, std::uint8_t>>;

/// What a stretch is made of. Inside its rings everything follows the stretch; over `margin_m` outside,
/// ground and moisture pass into the land around.
struct Stretch {
  std::vector<std::vector<Spot>> rings;  ///< closed implicitly; each an outer ring
  double margin_m = 60;
  double patch_m = 180;  ///< length of its patches
  Spot lean{0, 0};       ///< added to the patch noise from one end to the other, per axis
  Mix cover;
  Mix bedrock;
  double moisture = 20, moisture_swing = 4;  ///< percent; the swing follows the patches
  double step_at = 0,
         step = 0;  ///< another soil: moisture changes by `step` where the patch noise passes `step_at`
  /// The ground is raised by this, and undulates and tilts (metres per metre east and north) more than
  /// the land around. All zero: left alone.
  double lift_m = 0, relief_m = 0;
  Spot tilt{0, 0};
};

/// The least box round points.
struct Box {
  double x0 = 1e30, y0 = 1e30, x1 = -1e30, y1 = -1e30;
};

[[nodiscard]] Box box_of(const std::vector<std::vector<Spot>>& rings);

/// Metres to a ring's edge, negative inside (even–odd over the stretch's rings).
[[nodiscard]] double edge_distance(const Stretch& stretch, Spot spot);

}  // namespace swardline::landscape
