// The invented land itself: what lies in each cell, from a seed and the cell's position alone.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "nearest.hpp"
#include "stretch.hpp"
#include "swardline/base/random.hpp"
#include "view.hpp"
#include "waters.hpp"

namespace swardline::landscape {

/// What is set into the land by hand. Empty for seeded land of any size.
struct Extras {
  std::vector<Stretch> stretches;
  std::vector<Capsule> still_water;      ///< sloughs and ponds beyond the scattered ones
  std::vector<std::vector<Spot>> roads;  ///< besides the section roads
  std::vector<Capsule> moisture_gaps;    ///< where moisture was not measured
};

/// One window of all layers, row by row from the north-west.
struct LandTile {
  std::vector<std::uint8_t> cover;     ///< Cover
  std::vector<std::uint8_t> moisture;  ///< percent by volume, whole; kNoMoisture where not measured
  std::vector<float> elevation;        ///< metres, to an eighth
  std::vector<std::uint8_t> canopy;    ///< percent, whole
  std::vector<std::uint8_t> bedrock;   ///< Bedrock
  std::vector<std::uint16_t> water;    ///< metres to river, creek or pond; kFarFromWater and beyond alike
};
inline constexpr std::uint8_t kNoMoisture = 255;

class Land {
 public:
  explicit Land(std::uint64_t seed, Extras extras = {});
  /// All layers of a window. Any thread; the values of a cell do not depend on the window.
  void make(const View& view, LandTile& tile) const;
  [[nodiscard]] const Waters& waters() const { return waters_; }

 private:
  struct Fields;
  [[nodiscard]] std::vector<Capsule> ponds_near(const View& view) const;
  [[nodiscard]] Fields distances(const View& view) const;
  void shape_ground(const View& view, Fields& fields) const;
  void set_in_stretches(const View& view, Fields& fields) const;
  void wet_and_clothe(const View& view, Fields& fields) const;

  RandomKey key_;
  Waters waters_;
  Extras extras_;
  std::vector<Capsule> extra_roads_;
};

}  // namespace swardline::landscape
