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

void add_weighted(std::int64_t& sum, std::int64_t mm2, std::int64_t weight) {
  std::int64_t product = 0;
  if (__builtin_mul_overflow(mm2, weight, &product) || __builtin_add_overflow(sum, product, &sum)) {
    throw InputError({}, "weight × area of a stratum is more than the draw can add up exactly.",
                     "Write a larger weight_step under [sample], or make smaller strata.");
  }
}

PolygonFrame::PolygonFrame(const Geometry& area, const Grid& grid) : PolygonFrame(area, grid, nullptr) {}

PolygonFrame::PolygonFrame(const Geometry& area, const Grid& grid, const Weight& weight)
    : grid_(grid), weighted_(weight != nullptr) {
  std::vector<std::int64_t> mm2(std::size_t(block_cells) * block_cells);
  for (BlockPiece& piece : cut_into_blocks(area, grid)) {
    std::fill(mm2.begin(), mm2.end(), 0);
    add_cover(piece, grid, mm2);
    const Window window = piece.block.window();
    std::vector<CellArea> cells;
    std::int64_t sum = 0, weighted = 0;
    for (std::size_t i = 0; i < mm2.size(); ++i) {
      if (mm2[i] <= 0) continue;
      const std::int64_t col = window.col + std::int64_t(i % block_cells),
                         row = window.row + std::int64_t(i / block_cells);
      cells.push_back({col, row, mm2[i], weight ? weight(col, row) : 1});
      sum += mm2[i];
      add_weighted(weighted, mm2[i], cells.back().weight);
    }
    if (sum == 0) continue;
    blocks_.push_back({piece.block, sum, weighted});
    cells_.push_back(std::move(cells));
    pieces_.push_back(std::move(piece));
  }
}

std::vector<CellArea> PolygonFrame::cells(const Block& block) const {
  return cells_[index_of(blocks_, block)];
}

Geometry PolygonFrame::ground(std::int64_t col, std::int64_t row) const {
  const BlockPiece& piece = pieces_[index_of(blocks_, block_at(col, row))];
  if (piece.full) return box_polygon(grid_.cell_box(col, row));
  return ground_of_cell(piece, grid_, col, row);
}

}  // namespace swardline
