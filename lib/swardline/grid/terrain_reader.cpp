// Slope, aspect and heat load on an elevation file's own cells.
#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "swardline/base/error.hpp"
#include "swardline/grid/source_reader.hpp"
#include "swardline/grid/terrain.hpp"

namespace swardline {
namespace {

/// Side in cells of the squares at whose corners latitude is found. Between them its cosine and
/// sine run straight: with 30 m cells that is right to 1e-8, with 1 km cells to 1e-5.
constexpr int square = 64;

}  // namespace

TerrainReader::TerrainReader(const LayerSource& source, PixelReader& elevation)
    : source_(source), elevation_(elevation) {
  if (source.derived == Derived::heat) to_wgs84_.emplace(Crs::from_text(source.wkt), Crs::wgs84());
}

void TerrainReader::read(const Cells& cells, float* out, std::size_t width) {
  for (int r = 0; r < cells.rows; ++r) std::fill_n(out + std::size_t(r) * width, cells.cols, no_raw);
  // Cells that have all eight neighbours.
  const int c0 = std::max(cells.col, 1), c1 = std::min(cells.col + cells.cols, source_.cols - 1);
  const int r0 = std::max(cells.row, 1), r1 = std::min(cells.row + cells.rows, source_.rows - 1);
  if (c0 >= c1 || r0 >= r1) return;
  const Cells around{c0 - 1, r0 - 1, c1 - c0 + 2, r1 - r0 + 2};
  const auto across = std::size_t(around.cols);
  const std::vector<float>& heights = elevation_.kept_numbers(around);
  const auto count = std::size_t(c1 - c0);
  east_.resize(count);
  south_.resize(count);
  if (source_.derived == Derived::heat) find_latitudes(cells);
  for (int row = r0; row < r1; ++row) {
    const float* north = heights.data() + std::size_t(row - r0) * across;
    rises_of_heights(north, north + across, north + 2 * across, count, turn_at(row), east_.data(),
                     south_.data());
    float* to = out + std::size_t(row - cells.row) * width + std::size_t(c0 - cells.col);
    if (source_.derived == Derived::heat) {
      heat_row(row, c0, c1, to);
      continue;
    }
    if (source_.derived == Derived::slope)
      slopes_of_rises(east_.data(), south_.data(), count, to);
    else
      aspects_of_rises(east_.data(), south_.data(), count, to);
  }
}

RiseTurn TerrainReader::turn_at(int row) const {
  const double* gt = source_.gt;
  double metres_x = source_.metres_per_unit, metres_y = source_.metres_per_unit;
  if (source_.radians_per_unit > 0) {
    const double y = gt[3] + (source_.cols / 2.0) * gt[4] + (row + 0.5) * gt[5];
    const double latitude = y * source_.radians_per_unit;
    const double w = std::sqrt(1 - source_.e2 * std::sin(latitude) * std::sin(latitude));
    metres_x = source_.radians_per_unit * source_.semi_major_m / w * std::cos(latitude);
    metres_y = source_.radians_per_unit * source_.semi_major_m * (1 - source_.e2) / (w * w * w);
  }
  // A rise by column is gt1 times the rise by x and gt4 times that by y; a rise by row gt2 and gt5.
  const double per_unit = source_.metres_per_raw / 8 / (gt[1] * gt[5] - gt[2] * gt[4]);
  RiseTurn turn;
  turn.east_col = per_unit * gt[5] / metres_x;
  turn.east_row = -per_unit * gt[4] / metres_x;
  turn.south_col = per_unit * gt[2] / metres_y;
  turn.south_row = -per_unit * gt[1] / metres_y;
  return turn;
}

/// The corners belong to the file, not to the cells asked for: heat load must not depend on those.
void TerrainReader::find_latitudes(const Cells& cells) {
  first_square_col_ = cells.col / square;
  first_square_row_ = cells.row / square;
  corners_across_ = (cells.col + cells.cols - 1) / square - first_square_col_ + 2;
  const int down = (cells.row + cells.rows - 1) / square - first_square_row_ + 2;
  cos_.clear();
  sin_.clear();
  const double* gt = source_.gt;
  for (int j = 0; j < down; ++j)
    for (int i = 0; i < corners_across_; ++i) {
      const double col = (first_square_col_ + i) * square + 0.5;
      const double row = (first_square_row_ + j) * square + 0.5;
      // A corner may lie beyond the file, where a pole or the edge of the system may be.
      const double c = std::min(col, double(source_.cols)), r = std::min(row, double(source_.rows));
      double latitude = std::numeric_limits<double>::quiet_NaN();
      try {
        latitude = to_wgs84_->forward(Point{gt[0] + c * gt[1] + r * gt[2], gt[3] + c * gt[4] + r * gt[5]}).y *
                   (std::numbers::pi / 180);
      } catch (const InputError&) {
        // Ground without a latitude has no heat load.
      }
      cos_.push_back(std::cos(latitude));
      sin_.push_back(std::sin(latitude));
    }
}

void TerrainReader::heat_row(int row, int first, int last, float* out) const {
  // Corners are held at the file's edge, so a square there is narrower.
  const auto corner = [](int number, int cells_in_file) {
    return std::min(number * square + 0.5, double(cells_in_file));
  };
  const int square_row = row / square;
  const double top = corner(square_row, source_.rows);
  const double down = (row + 0.5 - top) / (corner(square_row + 1, source_.rows) - top);
  const auto between = [down](double a, double b) { return a + (b - a) * down; };
  for (int c = first; c < last;) {
    const int square_col = c / square;
    const int end = std::min(last, (square_col + 1) * square);
    const std::size_t nw = std::size_t(square_row - first_square_row_) * std::size_t(corners_across_) +
                           std::size_t(square_col - first_square_col_);
    const std::size_t sw = nw + std::size_t(corners_across_);
    const double cos_w = between(cos_[nw], cos_[sw]), cos_e = between(cos_[nw + 1], cos_[sw + 1]);
    const double sin_w = between(sin_[nw], sin_[sw]), sin_e = between(sin_[nw + 1], sin_[sw + 1]);
    const double left = corner(square_col, source_.cols);
    const double width = corner(square_col + 1, source_.cols) - left;
    const double along = (c + 0.5 - left) / width;
    const auto i = std::size_t(c - first);
    heat_loads_of_rises(east_.data() + i, south_.data() + i, std::size_t(end - c),
                        {cos_w + (cos_e - cos_w) * along, (cos_e - cos_w) / width},
                        {sin_w + (sin_e - sin_w) * along, (sin_e - sin_w) / width}, out + i);
    c = end;
  }
}

}  // namespace swardline
