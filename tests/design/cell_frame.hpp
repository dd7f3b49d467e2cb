// A frame of whole cells, for tests that need no polygon.
#pragma once

#include <map>
#include <vector>

#include "swardline/design/frame.hpp"

namespace swardline {

class CellFrame final : public Frame {
 public:
  CellFrame(const std::vector<std::pair<std::int64_t, std::int64_t>>& cells, const Grid& grid) : grid_(grid) {
    const auto mm2 = std::int64_t(grid.cell_m * grid.cell_m * 1e6);
    for (const auto& [col, row] : cells) {
      cells_[{floor_div(col, block_cells), floor_div(row, block_cells)}].push_back({col, row, mm2});
    }
    for (const auto& [block, inside] : cells_) blocks_.push_back({block, mm2 * std::int64_t(inside.size())});
  }
  [[nodiscard]] const std::vector<BlockArea>& blocks() const override { return blocks_; }
  [[nodiscard]] std::vector<CellArea> cells(const Block& block) const override {
    ++block_reads;
    return cells_.at(block);
  }
  [[nodiscard]] Geometry ground(std::int64_t col, std::int64_t row) const override {
    return box_polygon(grid_.cell_box(col, row));
  }
  [[nodiscard]] const Grid& grid() const override { return grid_; }

  mutable int block_reads = 0;

 private:
  Grid grid_;
  std::map<Block, std::vector<CellArea>> cells_;
  std::vector<BlockArea> blocks_;
};

/// side × side cells with this corner.
inline CellFrame square_of_cells(std::int64_t col, std::int64_t row, int side, double cell_m) {
  std::vector<std::pair<std::int64_t, std::int64_t>> cells;
  for (int r = 0; r < side; ++r) {
    for (int c = 0; c < side; ++c) cells.emplace_back(col + c, row + r);
  }
  Grid grid;
  grid.cell_m = cell_m;
  return CellFrame(cells, grid);
}

}  // namespace swardline
