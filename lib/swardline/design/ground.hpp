// A frame made ready for drawing: sums along the quadtree and the cut cells. Private to the draw.
#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <memory>
#include <span>
#include <unordered_map>
#include <utility>
#include <vector>

#include "swardline/design/drawing.hpp"
#include "swardline/design/frame.hpp"

namespace swardline {

/// Nodes of the global quadtree along their curve: a node's ground is a difference of two sums.
struct TreeSums {
  std::vector<std::uint64_t> codes;  ///< interleaved global numbers (see quadtree_code), rising
  std::vector<std::int64_t> before;  ///< mm² × weight of all nodes before; one more than codes
  std::vector<std::int32_t> weight;  ///< beside codes, of cells; empty where chances are equal
  [[nodiscard]] std::int64_t weight_of(std::size_t node) const { return weight.empty() ? 1 : weight[node]; }
  [[nodiscard]] std::int64_t sum(std::size_t first, std::size_t last) const {
    return before[last] - before[first];
  }
};

/// The bits of col and row interleaved, after 2^31 (the middle of the numbers there are) is added to
/// each, so that negative numbers have ancestors in common with positive ones.
[[nodiscard]] std::uint64_t quadtree_code(std::int64_t col, std::int64_t row);
[[nodiscard]] std::pair<std::int64_t, std::int64_t> cell_of_code(std::uint64_t code);

/// The ground of one cell that is not wholly covered.
class CellGround {
 public:
  CellGround() = default;
  explicit CellGround(const Geometry& ground);
  [[nodiscard]] bool empty() const { return triangles_.empty(); }
  /// Uniform over the ground, to the whole millimetre nearest that is inside.
  [[nodiscard]] Point point(RandomStream& random) const;
  /// Inside by at least 0.01 mm.
  [[nodiscard]] bool holds(Point at) const;

 private:
  struct Edge {
    Point a, b;
  };
  std::vector<std::array<Point, 3>> triangles_;
  std::vector<double> up_to_;  ///< running sum of the triangles' areas
  std::vector<Edge> edges_;
};

class Ground {
 public:
  explicit Ground(const Frame& frame);

  [[nodiscard]] std::int64_t area_mm2() const { return area_mm2_; }
  /// Sum of mm² × weight; the area where chances are equal.
  [[nodiscard]] std::int64_t weighted_mm2() const { return sums_.before.back(); }
  /// 1 where chances are equal.
  [[nodiscard]] std::int64_t largest_weight();
  [[nodiscard]] const Frame& frame() const { return frame_; }
  [[nodiscard]] std::vector<Candidate> candidates(std::int64_t count, const RandomKey& key);

  /// Every cell with ground, by block and along the curve within it.
  struct Cell {
    std::int64_t col = 0, row = 0;
    bool whole = false;
    std::int64_t weight = 1;
  };
  void each_cell(const std::function<void(const Cell& cell)>& visit);
  /// How many cells have ground.
  [[nodiscard]] std::size_t cells();
  /// Whether a whole-millimetre point that falls in this cell lies on its ground.
  [[nodiscard]] bool holds(const Cell& cell, Point at);
  /// Whether all cells stay in memory, so that walking over them again is cheap.
  [[nodiscard]] bool kept_whole() const;

 private:
  [[nodiscard]] std::shared_ptr<const TreeSums> block_sums(std::size_t block);
  [[nodiscard]] const CellGround& cell_ground(std::int64_t col, std::int64_t row);
  [[nodiscard]] Candidate candidate(const TreeSums& sums, std::size_t element, RandomStream random);
  /// Draws the positions of a block by counting its cells; false where it is better listed.
  bool draw_counted(std::size_t block, std::int64_t start, std::span<const std::int64_t> positions,
                    std::size_t first, std::size_t last, const RandomKey& order, const RandomKey& points,
                    std::vector<Candidate>& found);
  [[nodiscard]] Candidate candidate(std::size_t block, std::int64_t col, std::int64_t row, bool is_whole,
                                    RandomStream random);
  [[nodiscard]] bool whole(const TreeSums& sums, std::size_t element) const {
    return sums.sum(element, element + 1) >= full_mm2_ * sums.weight_of(element);
  }

  const Frame& frame_;
  std::int64_t full_mm2_;
  std::int64_t area_mm2_ = 0;
  std::int64_t largest_weight_ = 0;    ///< 0: not yet looked for
  TreeSums sums_;                      ///< of blocks
  std::vector<std::size_t> block_of_;  ///< index into frame.blocks(), beside sums_
  std::unordered_map<std::size_t, std::shared_ptr<const TreeSums>> kept_;
  std::size_t kept_cells_ = 0;
  std::size_t all_cells_ = 0;  ///< 0: not yet counted
  bool listed_ = false;        ///< whether blocks are listed, not counted: from the second draw on
  std::unordered_map<std::uint64_t, CellGround> cut_;
};

}  // namespace swardline
