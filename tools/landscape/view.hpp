// Which cells of the endless landscape are meant: everything is addressed by global cell numbers.
#pragma once

#include <cstddef>
#include <cstdint>

namespace swardline::landscape {

/// A rectangle of square cells. Cell (column, row) of the view has its centre at (x, y) metres of the
/// coordinate system; columns are numbered eastwards from x = 0, rows are written from the north down.
/// Two views that hold the same ground hold the same centres, bit for bit.
struct View {
  std::int64_t west = 0;   ///< global number of the first column
  std::int64_t north = 0;  ///< the northern edge lies at north × cell_m
  int cols = 0;
  int rows = 0;
  double cell_m = 10;

  [[nodiscard]] double x(int col) const { return (static_cast<double>(west + col) + 0.5) * cell_m; }
  [[nodiscard]] double y(int row) const { return (static_cast<double>(north - 1 - row) + 0.5) * cell_m; }
  [[nodiscard]] std::size_t cells() const {
    return static_cast<std::size_t>(cols) * static_cast<std::size_t>(rows);
  }
  [[nodiscard]] View grown(int cells) const {
    return {west - cells, north + cells, cols + 2 * cells, rows + 2 * cells, cell_m};
  }
  /// `cols` × `rows` cells, starting `col` east and `row` south of this view's corner.
  [[nodiscard]] View part(int col, int row, int part_cols, int part_rows) const {
    return {west + col, north - row, part_cols, part_rows, cell_m};
  }
};

/// A position in metres.
struct Spot {
  double x = 0, y = 0;
};

}  // namespace swardline::landscape
