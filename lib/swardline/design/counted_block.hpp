// The quadtree of one block, counted where it is asked for. Few positions fall into a block of tens of
// thousands of cells, so counting its quarters is quicker than listing and ordering the cells. Private to the
// draw.
#pragma once

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
  [[nodiscard]] std::int64_t whole_cells(int col, int row, int size) const;

  BlockKinds kinds_;
  std::int64_t cell_mm2_;
  std::vector<std::uint64_t> cut_codes_;  ///< places along the curve within the block, rising
  std::vector<std::int64_t> cut_before_;  ///< mm² of all cut cells before; one more than codes
};

}  // namespace swardline
