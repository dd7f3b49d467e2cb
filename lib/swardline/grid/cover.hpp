// How much of each cell a polygon covers, exactly, without rasterising.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "swardline/grid/grid.hpp"

namespace swardline {

/// A polygon cut along the blocks it meets. `piece` is empty of meaning when `full`.
struct BlockPiece {
  Block block;
  bool full = false;  ///< the polygon covers the whole block
  Geometry piece;     ///< the polygon within the block
};

/// Cuts by recursive quadrants, so that cost follows the vertices, not vertices × cells.
/// Ordered by block.
[[nodiscard]] std::vector<BlockPiece> cut_into_blocks(const Geometry& polygons, const Grid& grid);

/// Area of a whole cell in square millimetres.
[[nodiscard]] std::int64_t cell_mm2(const Grid& grid);

/// Adds the covered area of every cell of the piece's block, in whole square
/// millimetres, to `mm2` (block_cells × block_cells, row by row from the north-west).
/// Areas come from the exact signed-area sums of the edges; each is right to a square
/// millimetre or the rounding of the coordinates, whichever is larger.
void add_cover(const BlockPiece& piece, const Grid& grid, std::span<std::int64_t> mm2);

/// The polygon within one cell.
[[nodiscard]] Geometry ground_of_cell(const BlockPiece& piece, const Grid& grid, std::int64_t col,
                                      std::int64_t row);

/// An area with the code it goes by, for tables by site.
struct NamedArea {
  std::string code;
  std::string name;
  Geometry area;
};

}  // namespace swardline
