// Nearest neighbours among points that are taken away one by one. Private to the library.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "swardline/base/random.hpp"
#include "swardline/geo/geometry.hpp"

namespace swardline {

/// A balanced k-d tree over fixed points, with a count of those still there at every node,
/// so that emptied branches cost nothing. The answers depend on the points only.
class PointTree {
 public:
  explicit PointTree(std::span<const Point> points);

  /// Takes a point away. It must still be there.
  void remove(std::uint32_t point);

  /// The nearest point still there other than `point` itself; ties by an equal chance.
  /// There must be one.
  [[nodiscard]] std::uint32_t nearest_other(std::uint32_t point, RandomStream& ties) const;

  /// All points still there at the smallest distance from `at`.
  void all_nearest(Point at, std::vector<std::uint32_t>& found) const;

  /// The smallest squared distance from a point to any other still there; infinite when there is none.
  [[nodiscard]] double nearest_squared(std::uint32_t point) const;

 private:
  struct Node {
    Box box;
    std::uint32_t begin = 0, alive = 0;
    std::int32_t parent = -1, left = -1, right = -1;
  };
  struct Slot {
    Point at;
    std::uint32_t point = 0;
  };
  std::int32_t build(std::span<Slot> slots, std::uint32_t begin, std::int32_t parent);
  /// Calls visit(slot, squared distance) for every point not farther than the nearest so far.
  template <typename Visit>
  void search(Point at, std::uint32_t except, Visit&& visit) const;

  std::vector<Node> nodes_;
  std::vector<Slot> slots_;             ///< by leaf, those still there first
  std::vector<std::uint32_t> slot_of_;  ///< by point
  std::vector<std::int32_t> leaf_of_;   ///< by point
};

}  // namespace swardline
