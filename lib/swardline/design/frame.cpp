#include "swardline/design/frame.hpp"

#include <algorithm>

#include "swardline/base/error.hpp"

namespace swardline {
namespace {

std::size_t index_of(const std::vector<BlockArea>& blocks, const Block& block) {
  const auto at = std::lower_bound(blocks.begin(), blocks.end(), block,
                                   [](const BlockArea& a, const Block& b) { return a.block < b; });
  if (at == blocks.end() || at->block != block) throw Defect("a block without ground was asked for");
  return std::size_t(at - blocks.begin());
}

}  // namespace

PolygonFrame::PolygonFrame(const Geometry& area, const Grid& grid) : grid_(grid) {
  std::vector<std::int64_t> mm2(std::size_t(block_cells) * block_cells);
  for (BlockPiece& piece : cut_into_blocks(area, grid)) {
    std::fill(mm2.begin(), mm2.end(), 0);
    add_cover(piece, grid, mm2);
    const Window window = piece.block.window();
    std::vector<CellArea> cells;
    std::int64_t sum = 0;
    for (std::size_t i = 0; i < mm2.size(); ++i) {
      if (mm2[i] <= 0) continue;
      cells.push_back(
          {window.col + std::int64_t(i % block_cells), window.row + std::int64_t(i / block_cells), mm2[i]});
      sum += mm2[i];
    }
    if (sum == 0) continue;
    blocks_.push_back({piece.block, sum});
    cells_.push_back(std::move(cells));
    pieces_.push_back(std::move(piece));
  }
}

std::vector<CellArea> PolygonFrame::cells(const Block& block) const {
  return cells_[index_of(blocks_, block)];
}

Geometry PolygonFrame::ground(std::int64_t col, std::int64_t row) const {
  const BlockPiece& piece =
      pieces_[index_of(blocks_, {floor_div(col, block_cells), floor_div(row, block_cells)})];
  if (piece.full) return box_polygon(grid_.cell_box(col, row));
  return ground_of_cell(piece, grid_, col, row);
}

}  // namespace swardline
