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

/// The covered cells of one block, by their places in it: row by row from the north-west.
struct BlockCover {
  struct Run {
    std::uint32_t first = 0, count = 0;
  };
  struct Cut {
    std::uint32_t place = 0;
    std::int64_t mm2 = 0;
  };
  std::vector<Run> whole;  ///< cells covered to the square millimetre, rising
  std::vector<Cut> cut;    ///< cells covered in part, rising
  /// Calls `visit(place, mm2)` for every covered cell, the whole ones first.
  template <typename Visit>
  void each(std::int64_t cell_mm2, Visit&& visit) const {
    for (const Run& run : whole) {
      for (std::uint32_t i = run.first; i < run.first + run.count; ++i) visit(std::size_t{i}, cell_mm2);
    }
    for (const Cut& cell : cut) visit(std::size_t{cell.place}, cell.mm2);
  }
};

/// Areas come from the exact signed-area sums of the edges; each is right to a square millimetre or the
/// rounding of the coordinates, whichever is larger. Cost follows the outline and the runs, not the cells.
void cover_of(const BlockPiece& piece, const Grid& grid, BlockCover& cover);

/// Adds the covered area of every cell of the piece's block, in whole square
/// millimetres, to `mm2` (block_cells × block_cells, row by row from the north-west).
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
