#include "swardline/grid/grid.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace swardline {
namespace {

/// In cells: a billionth of one, or more where cells are so small that a coordinate's own rounding counts.
double edge_noise(double coordinate, double cell_m) {
  return std::max(1e-9, 4 * std::numeric_limits<double>::epsilon() * std::abs(coordinate) / cell_m);
}

int as_count(std::int64_t first, std::int64_t past_last) {
  constexpr std::int64_t most = std::numeric_limits<int>::max();
  return static_cast<int>(std::clamp<std::int64_t>(past_last - first, 0, most));
}

std::int64_t whole(double cells) {
  constexpr double most = 9e15;  // every whole number below it is a double
  return static_cast<std::int64_t>(std::clamp(cells, -most, most));
}

}  // namespace

Window intersect(const Window& a, const Window& b) {
  const std::int64_t col = std::max(a.col, b.col);
  const std::int64_t row = std::max(a.row, b.row);
  return {col, row, as_count(col, std::min(a.col + a.cols, b.col + b.cols)),
          as_count(row, std::min(a.row + a.rows, b.row + b.rows))};
}

Window unite(const Window& a, const Window& b) {
  if (a.empty()) return b;
  if (b.empty()) return a;
  const std::int64_t col = std::min(a.col, b.col);
  const std::int64_t row = std::min(a.row, b.row);
  return {col, row, as_count(col, std::max(a.col + a.cols, b.col + b.cols)),
          as_count(row, std::max(a.row + a.rows, b.row + b.rows))};
}

std::int64_t Grid::col_of(double x) const { return whole(std::floor((x - origin_x) / cell_m)); }
std::int64_t Grid::row_of(double y) const { return whole(std::floor((origin_y - y) / cell_m)); }

Box Grid::box(const Window& window) const {
  return {origin_x + double(window.col) * cell_m, origin_y - double(window.row + window.rows) * cell_m,
          origin_x + double(window.col + window.cols) * cell_m, origin_y - double(window.row) * cell_m};
}

Box Grid::cell_box(std::int64_t col, std::int64_t row) const { return box({col, row, 1, 1}); }

Point Grid::centre(std::int64_t col, std::int64_t row) const {
  return {origin_x + (double(col) + 0.5) * cell_m, origin_y - (double(row) + 0.5) * cell_m};
}

Window Grid::covering(const Box& box) const {
  const std::int64_t col = whole(std::floor((box.x0 - origin_x) / cell_m + edge_noise(box.x0, cell_m)));
  const std::int64_t row = whole(std::floor((origin_y - box.y1) / cell_m + edge_noise(box.y1, cell_m)));
  const std::int64_t past_col = whole(std::ceil((box.x1 - origin_x) / cell_m - edge_noise(box.x1, cell_m)));
  const std::int64_t past_row = whole(std::ceil((origin_y - box.y0) / cell_m - edge_noise(box.y0, cell_m)));
  return {col, row, std::max(1, as_count(col, past_col)), std::max(1, as_count(row, past_row))};
}

}  // namespace swardline
