// The ground beside a stretch of line. Private to this stage.
#pragma once

#include <unordered_map>
#include <vector>

#include "swardline/lines/verge_line.hpp"

namespace swardline {

/// Between which distances from the line.
enum class Strip { verge, carriageway };

/// The ground on one side of a line from `from_m` to `to_m`: between the line and the verge's inner edge
/// (carriageway), or from there over the verge's width. Parts may overlap at the inside of bends.
[[nodiscard]] std::vector<Geometry> ground_beside(const JoinedLine& line, double from_m, double to_m,
                                                  VergeSide side, Strip strip);

/// Areas found again by where they lie.
class AreaIndex {
 public:
  void add(Geometry area);
  /// `area` without the ground of the areas added; itself where it shares none.
  [[nodiscard]] Geometry without(const Geometry& area) const;

 private:
  struct Entry {
    Geometry area;
    Box box;
  };
  [[nodiscard]] std::vector<std::size_t> near(const Box& box) const;
  std::vector<Entry> entries_;
  std::unordered_map<std::uint64_t, std::vector<std::size_t>> squares_;
};

}  // namespace swardline
