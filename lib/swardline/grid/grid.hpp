// The one grid of a season: square cells numbered from a fixed origin, so that a
// cell's number never depends on the extent asked for.
#pragma once

#include <cstdint>

#include "swardline/geo/geometry.hpp"

namespace swardline {

/// Side in cells of a block of the global grid: the unit in which layers are warped,
/// polygons are cut and the draw keeps its sums. A power of two.
inline constexpr int block_cells = 256;

/// A rectangle of cells; `col` counts eastwards, `row` southwards, both may be negative.
struct Window {
  std::int64_t col = 0, row = 0;
  int cols = 0, rows = 0;
  [[nodiscard]] bool empty() const { return cols <= 0 || rows <= 0; }
  [[nodiscard]] std::size_t cells() const { return std::size_t(cols) * std::size_t(rows); }
  friend bool operator==(const Window&, const Window&) = default;
};
[[nodiscard]] Window intersect(const Window& a, const Window& b);
[[nodiscard]] Window unite(const Window& a, const Window& b);

/// A block of block_cells × block_cells cells of the global grid.
struct Block {
  std::int64_t bx = 0, by = 0;
  [[nodiscard]] Window window() const {
    return {bx * block_cells, by * block_cells, block_cells, block_cells};
  }
  friend auto operator<=>(const Block&, const Block&) = default;
};

/// Whole-number division rounding down, for negative cell numbers.
[[nodiscard]] constexpr std::int64_t floor_div(std::int64_t a, std::int64_t b) {
  const std::int64_t q = a / b;
  return q * b > a ? q - 1 : q;
}

/// The block a cell lies in.
[[nodiscard]] constexpr Block block_at(std::int64_t col, std::int64_t row) {
  return {floor_div(col, block_cells), floor_div(row, block_cells)};
}

/// Column i spans x in [origin_x + i·cell, +cell); row j spans y in (origin_y - (j+1)·cell, origin_y -
/// j·cell].
struct Grid {
  double origin_x = 0;  ///< in [0, cell_m)
  double origin_y = 0;  ///< in [0, cell_m)
  double cell_m = 10;
  [[nodiscard]] std::int64_t col_of(double x) const;
  [[nodiscard]] std::int64_t row_of(double y) const;
  [[nodiscard]] Box box(const Window& window) const;
  [[nodiscard]] Box cell_box(std::int64_t col, std::int64_t row) const;
  [[nodiscard]] Point centre(std::int64_t col, std::int64_t row) const;
  /// Smallest window that covers the box.
  [[nodiscard]] Window covering(const Box& box) const;
  friend bool operator==(const Grid&, const Grid&) = default;
};

}  // namespace swardline
