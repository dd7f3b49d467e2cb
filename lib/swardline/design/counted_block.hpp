// The quadtree of one block, counted where it is asked for. Few positions fall into a block of tens of
// thousands of cells, so counting its quarters is quicker than listing and ordering the cells. Private to the
// draw.
#pragma once

#include <array>
#include <bit>
#include <cstdint>
#include <vector>

#include "swardline/design/frame.hpp"

namespace swardline {

class CountedBlock {
 public:
  CountedBlock(const Block& block, BlockKinds kinds, const Grid& grid);

  /// Area of the square of 2^level cells whose north-west cell is (col, row) of the block.
  [[nodiscard]] std::int64_t sum(int col, int row, int level) const;

 private:
  /// Squares of so many cells are counted at once, larger ones added up from them.
  static constexpr int square_level = 4, square_cells = 1 << square_level;
  static constexpr int levels = std::countr_zero(unsigned(block_cells)) - square_level + 1;

  void count_squares();
  [[nodiscard]] std::int64_t whole_cells(int col, int row, int level) const;

  BlockKinds kinds_;
  std::int64_t cell_mm2_;
  /// Cells wholly covered, by level from `square_level` on, in squares row by row.
  std::array<std::vector<std::uint32_t>, levels> cells_;
  std::vector<std::uint64_t> cut_codes_;  ///< places along the curve within the block, rising
  std::vector<std::int64_t> cut_before_;  ///< mm² of all cut cells before; one more than codes
};

}  // namespace swardline
