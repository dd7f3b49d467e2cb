// A thinned picture of a site's ground, for maps.
#pragma once

#include <cstdint>
#include <vector>

#include "swardline/grid/grid.hpp"

namespace swardline {

inline constexpr std::uint8_t map_excluded = 254;
inline constexpr std::uint8_t map_no_score = 253;
/// Not looked at, for no survey ground is near.
inline constexpr std::uint8_t map_nothing = 252;

/// A thinned window: `codes` holds a band's number or one of the above, row by row; each stands for `step` ×
/// `step` cells and is taken from the middle one.
struct SiteCells {
  Window window;
  int step = 1;
  int cols = 0, rows = 0;
  std::vector<std::uint8_t> codes;

  /// Column, or row, of the window's cell that a code is taken from.
  [[nodiscard]] int middle_col(int col) const { return middle(col, window.cols); }
  [[nodiscard]] int middle_row(int row) const { return middle(row, window.rows); }

 private:
  [[nodiscard]] int middle(int at, int cells) const {
    const int in_the_middle = at * step + step / 2;
    return in_the_middle < cells ? in_the_middle : cells - 1;
  }
};

/// The window thinned as little as leaves at most `most_cells` codes; no codes yet.
[[nodiscard]] SiteCells thinned(const Window& window, int most_cells);

}  // namespace swardline
