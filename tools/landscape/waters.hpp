// Rivers, creeks, ponds and section roads of the invented land, as lines and discs.
#pragma once

#include <cstdint>
#include <vector>

#include "nearest.hpp"
#include "swardline/base/random.hpp"
#include "view.hpp"

namespace swardline::landscape {

/// Distances are told up to these; farther counts as just this far.
inline constexpr double kFarFromRiver = 4500;
inline constexpr double kFarFromWater = 3000;

/// Rivers run west to east, one every 14 km, each in its own valley; creeks come down to them from
/// the divides; ponds are scattered.
class Waters {
 public:
  explicit Waters(std::uint64_t seed);

  /// The part of each that can lie within the distances above of the view.
  [[nodiscard]] std::vector<Capsule> rivers(const View& view) const;
  [[nodiscard]] std::vector<Capsule> creeks(const View& view) const;
  /// The creeks' valleys, from above their springs: a negative radius holds the valley's foot back, so
  /// that it starts shallow.
  [[nodiscard]] std::vector<Capsule> hollows(const View& view) const;
  [[nodiscard]] std::vector<Capsule> ponds(const View& view) const;

  /// Northing of a river's centre line.
  [[nodiscard]] double river_y(std::int64_t river, double x) const;
  /// The river whose valley holds this northing.
  [[nodiscard]] static std::int64_t river_at(double y);

 private:
  [[nodiscard]] double creek_x(std::int64_t creek, std::int64_t river, bool northern, double y) const;
  enum class Part { water, hollow };
  void add_creek(std::int64_t creek, std::int64_t river, bool northern, Part part,
                 std::vector<Capsule>& shapes) const;
  [[nodiscard]] std::vector<Capsule> creek_parts(const View& view, Part part) const;

  RandomKey river_;
  RandomKey creek_;
  RandomKey pond_;
};

}  // namespace swardline::landscape
