#include "land.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "noise.hpp"

namespace swardline::landscape {
namespace {

// Height of the rivers' water, the same for all of them at one easting.
std::vector<double> water_levels(const RandomKey& key, const View& view) {
  std::vector<double> levels;
  for (int c = 0; c < view.cols; ++c) levels.push_back(148 + 9 * wave(key, view.x(c), 60000));
  return levels;
}

constexpr double kFarFromRoad = 60;
constexpr double kSection = 1610;  // a surveyed mile, where section roads run
constexpr double kParcel = kSection / 4;

double between(double value, double low, double high) { return std::clamp(value, low, high); }

std::uint8_t whole_percent(double value, double low, double high) {
  return static_cast<std::uint8_t>(std::floor(between(value, low, high) + 0.5));
}

std::uint8_t pick(const Mix& mix, double value) {
  for (const auto& [up_to, kind] : mix) {
    if (value < up_to) return kind;
  }
  return mix.back().second;
}

// True on a section road; not every section line carries one.
bool on_section_road(const RandomKey& key, double x, double y) {
  constexpr double kHalfWidth = 7;
  const std::int64_t i = floor_of(x / kSection + 0.5), j = floor_of(y / kSection + 0.5);
  return (std::abs(x - static_cast<double>(i) * kSection) < kHalfWidth &&
          chance(key, i, floor_of(y / kSection), 0) < 0.5) ||
         (std::abs(y - static_cast<double>(j) * kSection) < kHalfWidth &&
          chance(key, floor_of(x / kSection), j, 1) < 0.5);
}

// A farmstead or, seldom, a hamlet in the section's corner.
bool built_up(const RandomKey& key, double x, double y) {
  const std::int64_t i = floor_of(x / kSection), j = floor_of(y / kSection);
  const double size = chance(key, i, j, 2);
  const double side = size > 0.985 ? 520 : size > 0.55 ? 40 + 80 * (size - 0.55) : 0;
  const double from_x = x - static_cast<double>(i) * kSection - 20;
  const double from_y = y - static_cast<double>(j) * kSection - 20;
  return from_x > 0 && from_x < side && from_y > 0 && from_y < 0.8 * side;
}

bool within(const Box& box, double margin, Spot s) {
  return s.x > box.x0 - margin && s.x < box.x1 + margin && s.y > box.y0 - margin && s.y < box.y1 + margin;
}

bool meets(const Box& box, double margin, const View& view) {
  return box.x0 - margin <= view.x(view.cols - 1) && view.x(0) <= box.x1 + margin &&
         box.y0 - margin <= view.y(0) && view.y(view.rows - 1) <= box.y1 + margin;
}

}  // namespace

// Working values of one window.
struct Land::Fields {
  std::vector<double> river, creek, pond, road;
  std::vector<double> hollow;  // to a creek's valley, which shallows out towards its head
  std::vector<double> floor;   // half width of the floodplain
  std::vector<double> height, steep, south_west;
  std::vector<double> moisture, patches;
  std::vector<std::uint8_t> bedrock, cover;
};

Land::Land(std::uint64_t seed, Extras extras)
    : key_(seed, "landscape"), waters_(seed), extras_(std::move(extras)) {
  for (const auto& road : extras_.roads) add_line(road, 0, extra_roads_);
}

std::vector<Capsule> Land::ponds_near(const View& view) const {
  std::vector<Capsule> ponds = waters_.ponds(view);
  for (const Stretch& stretch : extras_.stretches) {
    const Box box = box_of(stretch.rings);
    std::erase_if(ponds, [&](const Capsule& pond) {
      constexpr double kClear = 150;
      return pond.ax > box.x0 - kClear && pond.ax < box.x1 + kClear && pond.ay > box.y0 - kClear &&
             pond.ay < box.y1 + kClear;
    });
  }
  ponds.insert(ponds.end(), extras_.still_water.begin(), extras_.still_water.end());
  return ponds;
}

Land::Fields Land::distances(const View& view) const {
  Fields fields;
  fields.river = nearest(waters_.rivers(view), kFarFromRiver, view);
  fields.creek = nearest(waters_.creeks(view), kFarFromWater, view);
  fields.hollow = nearest(waters_.hollows(view), kFarFromWater, view);
  fields.pond = nearest(ponds_near(view), kFarFromWater, view);
  fields.road = nearest(extra_roads_, kFarFromRoad, view);
  fields.floor = noise(key_.under("floodplain"), 6000, 2, view);
  for (double& half_width : fields.floor) half_width = 850 + 500 * half_width;
  return fields;
}

// Floodplain, one terrace, the valley's walls, hills; creeks cut into all of it.
void Land::shape_ground(const View& view, Fields& fields) const {
  const auto hills = noise(key_.under("hills"), 2400, 6, view);
  const auto upland = noise(key_.under("upland"), 9000, 2, view);
  const auto terrace = noise(key_.under("terrace edge"), 700, 3, view);
  fields.height.resize(view.cells());
  std::size_t cell = 0;
  const std::vector<double> water_level = water_levels(key_.under("river level"), view);
  for (int r = 0; r < view.rows; ++r) {
    for (int c = 0; c < view.cols; ++c, ++cell) {
      const double t = fields.river[cell] / fields.floor[cell] + 0.12 * terrace[cell];
      const double up = rise(t, 1.6, 3.0);
      double above = -1.5 + 2.5 * rise(fields.river[cell], 0, 25) + 4 * between(t, 0, 1) + 0.8 * hills[cell] +
                     11 * rise(t, 1.0, 1.18) + up * (82 + 36 * upland[cell]) + (2 + 26 * up) * hills[cell];
      const double cut = 0.35 * near(fields.hollow[cell], 700) + 0.3 * near(fields.hollow[cell], 190);
      if (above > 1) above = 1 + (above - 1) * (1 - cut);
      fields.height[cell] = water_level[static_cast<std::size_t>(c)] + std::max(above, -2.0);
    }
  }
  for (const Stretch& stretch : extras_.stretches) {
    const Box box = box_of(stretch.rings);
    const bool alone =
        stretch.lift_m == 0 && stretch.relief_m == 0 && stretch.tilt.x == 0 && stretch.tilt.y == 0;
    if (alone || !meets(box, stretch.margin_m, view)) continue;
    const auto roll = noise(key_.under("roll"), 170, 3, view);
    cell = 0;
    for (int r = 0; r < view.rows; ++r) {
      for (int c = 0; c < view.cols; ++c, ++cell) {
        const Spot s{view.x(c), view.y(r)};
        if (!within(box, stretch.margin_m, s)) continue;
        const double share = 1 - rise(edge_distance(stretch, s), 0, stretch.margin_m);
        if (share <= 0) continue;
        const double change = stretch.lift_m + stretch.relief_m * roll[cell] +
                              stretch.tilt.x * (between(s.x, box.x0, box.x1) - (box.x0 + box.x1) / 2) +
                              stretch.tilt.y * (between(s.y, box.y0, box.y1) - (box.y0 + box.y1) / 2);
        fields.height[cell] += share * change;
      }
    }
  }
}

// Moisture, bedrock and cover as they come without anybody's wishes.
void Land::wet_and_clothe(const View& view, Fields& fields) const {
  const auto wet = noise(key_.under("wet"), 640, 4, view);
  const auto rock = noise(key_.under("rock"), 2600, 4, view);
  const auto open = noise(key_.under("open"), 1100, 5, view);
  const RandomKey roads = key_.under("roads"), parcels = key_.under("parcels");
  fields.patches = noise(key_.under("patches"), 330, 4, view);
  fields.moisture.resize(view.cells());
  fields.bedrock.resize(view.cells());
  fields.cover.resize(view.cells());
  const std::vector<double> water_level = water_levels(key_.under("river level"), view);
  std::size_t cell = 0;
  for (int r = 0; r < view.rows; ++r) {
    const double y = view.y(r);
    const std::int64_t parcel_row = floor_of(y / kParcel);
    std::int64_t parcel = floor_of(view.x(0) / kParcel);
    double use = chance(parcels, parcel, parcel_row);
    for (int c = 0; c < view.cols; ++c, ++cell) {
      const double x = view.x(c);
      if (const std::int64_t here = floor_of(x / kParcel); here != parcel) {
        parcel = here;
        use = chance(parcels, parcel, parcel_row);
      }
      const double t = fields.river[cell] / fields.floor[cell];
      const double steep = fields.steep[cell], patch = fields.patches[cell];
      const double above = fields.height[cell] - water_level[static_cast<std::size_t>(c)];

      std::uint8_t bed = kDolomite;
      if (t < 1.05 + 0.1 * rock[cell]) {
        bed = kAlluvium;
      } else if (t < 1.75 + 0.3 * rock[cell]) {
        bed = rock[cell] + 0.4 * open[cell] > 0.1 ? kDeepSand : kLoess;
      } else if (rock[cell] > 0.42 && steep < 0.07) {
        bed = kLoess;
      } else {
        const double strata = above + 16 * rock[cell];
        bed = strata > 84 ? kSandstone : strata > 62 ? kChert : kDolomite;
      }

      double moisture = 46 - 6 * between(t, 0, 1) - 10 * rise(t, 0.9, 1.3) - 10 * rise(t, 1.5, 2.6) +
                        9 * near(fields.creek[cell], 160) + 9 * near(fields.pond[cell], 90) + 9 * wet[cell] -
                        22 * between(steep * fields.south_west[cell], -0.2, 0.3) -
                        14 * between(steep, 0, 0.5);
      if (bed == kDeepSand) moisture = 3 + 0.42 * moisture;
      if (bed == kSandstone) moisture -= 3;

      const bool flat = steep < 0.06;
      std::uint8_t cover = kOpenWoods;
      if (fields.river[cell] <= 0 || fields.pond[cell] <= 0) {
        cover = kOpenWater;
      } else if (fields.road[cell] < 10 || on_section_road(roads, x, y)) {
        cover = kRoadVerge;
      } else if (t > 1.1 && flat && built_up(roads, x, y)) {
        cover = kBuilt;
      } else if (t < 1) {
        cover = use < 0.36 && fields.river[cell] > 260                ? kCrop
                : patch + 0.3 * near(fields.river[cell], 300) > -0.12 ? kBottomlandWoods
                : patch > -0.4                                        ? kWetMeadow
                                                                      : kMoistPrairie;
      } else if (fields.creek[cell] < 45) {
        cover = t < 1.8 ? kBottomlandWoods : kClosedForest;
      } else if (bed == kDeepSand) {
        cover = use < 0.25 ? kCrop : patch < 0.15 ? kDryPrairie : kOpenWoods;
      } else if (t < 1.75) {
        cover = use < 0.5       ? kCrop
                : use < 0.68    ? kOldField
                : moisture > 33 ? kWetMeadow
                : patch < 0.2   ? kMoistPrairie
                                : kOpenWoods;
      } else if (steep > 0.12) {
        const double shade = open[cell] - 1.6 * steep * fields.south_west[cell];
        cover = patch > 0.22 && shade < 0.15 && bed != kChert ? kGlade
                : shade > -0.05                               ? kClosedForest
                                                              : kOpenWoods;
      } else {
        cover = flat && use < 0.22   ? kCrop
                : flat && use < 0.52 ? kOldField
                : open[cell] > 0.12  ? kClosedForest
                : patch > -0.25      ? kOpenWoods
                                     : kMoistPrairie;
      }
      fields.moisture[cell] = moisture;
      fields.bedrock[cell] = bed;
      fields.cover[cell] = cover;
    }
  }
}

void Land::set_in_stretches(const View& view, Fields& fields) const {
  for (const Stretch& stretch : extras_.stretches) {
    const Box box = box_of(stretch.rings);
    if (!meets(box, stretch.margin_m, view)) continue;
    const auto patch = noise(key_.under("stretch"), stretch.patch_m, 4, view);
    const double half_x = (box.x1 - box.x0) / 2, half_y = (box.y1 - box.y0) / 2;
    std::size_t cell = 0;
    for (int r = 0; r < view.rows; ++r) {
      for (int c = 0; c < view.cols; ++c, ++cell) {
        const Spot s{view.x(c), view.y(r)};
        if (!within(box, stretch.margin_m, s)) continue;
        const double edge = edge_distance(stretch, s);
        if (edge >= stretch.margin_m) continue;
        const double value = patch[cell] + stretch.lean.x * (s.x - (box.x0 + half_x)) / half_x +
                             stretch.lean.y * (s.y - (box.y0 + half_y)) / half_y;
        const double share = 1 - rise(edge, 0, stretch.margin_m);
        const double target = stretch.moisture +
                              stretch.moisture_swing * (value + 0.6 * fields.patches[cell]) +
                              stretch.step * rise(value, stretch.step_at - 0.1, stretch.step_at + 0.1);
        fields.moisture[cell] += share * (target - fields.moisture[cell]);
        // Outside the ring the habitat frays out instead of ending like a fence.
        if (edge > stretch.margin_m * (0.35 + 0.5 * fields.patches[cell]) && edge > 8) continue;
        fields.bedrock[cell] = pick(stretch.bedrock, value);
        const bool keeps =
            fields.road[cell] < 10 ||
            (edge > 0 && (fields.cover[cell] == kOpenWater || fields.cover[cell] == kRoadVerge));
        if (!keeps) fields.cover[cell] = pick(stretch.cover, value);
      }
    }
  }
}

void Land::make(const View& view, LandTile& tile) const {
  // One cell more on every side, for the slopes.
  const View wide = view.grown(1);
  Fields fields = distances(wide);
  shape_ground(wide, fields);
  fields.steep.assign(wide.cells(), 0);
  fields.south_west.assign(wide.cells(), 0);
  const auto across = static_cast<std::size_t>(wide.cols);
  for (std::size_t r = 1; r + 1 < static_cast<std::size_t>(wide.rows); ++r) {
    for (std::size_t c = 1; c + 1 < across; ++c) {
      const std::size_t i = r * across + c;
      const double east = (fields.height[i + 1] - fields.height[i - 1]) / (2 * wide.cell_m);
      const double north = (fields.height[i - across] - fields.height[i + across]) / (2 * wide.cell_m);
      const double steep = std::sqrt(east * east + north * north);
      fields.steep[i] = steep;
      // 1 where the ground falls towards the south-west, -1 towards the north-east.
      fields.south_west[i] = steep > 0 ? 0.70710678118654752 * (east + north) / steep : 0;
    }
  }
  wet_and_clothe(wide, fields);
  set_in_stretches(wide, fields);
  const auto trees = noise(key_.under("trees"), 160, 3, wide);
  const auto gaps = nearest(extras_.moisture_gaps, 100, wide);

  //                                          -  OW  WW WM MP DP  GL  WD  CF  OF RD CR DV
  constexpr std::array<double, 13> kShade = {0, 0, 66, 7, 4, 3, 16, 46, 84, 10, 6, 0, 8};
  constexpr std::array<double, 13> kShadeSwing = {0, 0, 26, 14, 10, 8, 26, 34, 18, 24, 10, 0, 10};
  const std::size_t cells = view.cells();
  tile.cover.resize(cells);
  tile.moisture.resize(cells);
  tile.elevation.resize(cells);
  tile.canopy.resize(cells);
  tile.bedrock.resize(cells);
  tile.water.resize(cells);
  std::size_t out = 0;
  for (std::size_t r = 1; r + 1 < static_cast<std::size_t>(wide.rows); ++r) {
    for (std::size_t c = 1; c + 1 < across; ++c, ++out) {
      const std::size_t i = r * across + c;
      const std::uint8_t cover = fields.cover[i];
      const bool water = cover == kOpenWater;
      tile.cover[out] = cover;
      tile.moisture[out] = gaps[i] <= 0 ? kNoMoisture
                           : water      ? std::uint8_t{60}
                                        : whole_percent(fields.moisture[i], 2, 58);
      tile.elevation[out] = static_cast<float>(std::floor(fields.height[i] * 8 + 0.5) / 8);
      tile.canopy[out] = whole_percent(kShade[cover] + kShadeSwing[cover] * trees[i], 0, 98);
      tile.bedrock[out] = fields.bedrock[i];
      const double away = std::min({fields.river[i], fields.creek[i], fields.pond[i], kFarFromWater});
      tile.water[out] = static_cast<std::uint16_t>(std::floor(std::max(away, 0.0) + 0.5));
    }
  }
}

}  // namespace swardline::landscape
