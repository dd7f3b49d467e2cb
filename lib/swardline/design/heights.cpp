#include "swardline/design/heights.hpp"

#include <cmath>
#include <limits>

#include "swardline/grid/cover.hpp"

namespace swardline {
namespace {

constexpr int window_cells = 64;  // read at once about a place asked for

/// Sums for the plane z = a + b·x + c·y, about the first point so that digits last.
struct PlaneFit {
  double n = 0, x = 0, y = 0, z = 0, xx = 0, xy = 0, yy = 0, xz = 0, yz = 0;
  void add(double px, double py, double pz) {
    n += 1;
    x += px, y += py, z += pz;
    xx += px * px, xy += px * py, yy += py * py;
    xz += px * pz, yz += py * pz;
  }
  [[nodiscard]] std::optional<Point> rise() const {
    if (n < 3) return {};
    const double sxx = xx - x * x / n, sxy = xy - x * y / n, syy = yy - y * y / n;
    const double sxz = xz - x * z / n, syz = yz - y * z / n;
    const double determinant = sxx * syy - sxy * sxy;
    if (!(determinant > 1e-9 * sxx * syy)) return {};
    return Point{(sxz * syy - syz * sxy) / determinant, (syz * sxx - sxz * sxy) / determinant};
  }
};

}  // namespace

Heights::Heights(const Layers& layers) : layers_(&layers) {
  const std::optional<std::size_t> index = layers.index("elevation");
  if (!index) return;
  index_ = *index;
  reader_.emplace(layers, std::vector<std::size_t>{index_});
}

void Heights::read(const Window& window) { reader_->read(window, tile_); }

double Heights::value(std::int64_t col, std::int64_t row) const {
  const Window& w = tile_.window;
  const auto at = std::size_t(row - w.row) * std::size_t(w.cols) + std::size_t(col - w.col);
  const LayerInfo& info = layers_->infos()[index_];
  const LayerTile& layer = tile_.layers.front();
  if (!info.bytes) return info.value(double(layer.values[at]));
  const std::uint8_t raw = layer.bytes[at];
  return info.byte_none[raw] ? std::numeric_limits<double>::quiet_NaN() : info.value(raw);
}

std::optional<double> Heights::at(Point place) {
  if (!reader_) return {};
  const Grid& grid = layers_->grid();
  // In cells from the middle of cell (0, 0): columns eastwards, rows southwards.
  const double col = (place.x - grid.centre(0, 0).x) / grid.cell_m;
  const double row = (grid.centre(0, 0).y - place.y) / grid.cell_m;
  const auto c = std::int64_t(std::floor(col)), r = std::int64_t(std::floor(row));
  const Window needed{c, r, 2, 2};
  if (tile_.window.empty() || intersect(tile_.window, needed) != needed) {
    const std::int64_t across = floor_div(c, window_cells), down = floor_div(r, window_cells);
    // One more row and column, so that every pair of neighbours lies in some window.
    read({across * window_cells, down * window_cells, window_cells + 1, window_cells + 1});
  }
  const double east = col - double(c), south = row - double(r);
  double sum = 0;
  for (const int i : {0, 1})
    for (const int j : {0, 1}) {
      const double share = (i == 0 ? 1 - east : east) * (j == 0 ? 1 - south : south);
      // A cell that has no part in it need not have a height.
      if (share > 0) sum += share * value(c + i, r + j);
    }
  return std::isfinite(sum) ? std::optional<double>(sum) : std::nullopt;
}

std::optional<Point> Heights::mean_rise(const Geometry& area) {
  if (!reader_) return {};
  const Grid& grid = layers_->grid();
  const Box box = area.box();
  const Point middle{(box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2};
  PlaneFit fit;
  for (const BlockPiece& piece : cut_into_blocks(area, grid)) {
    const Window window = intersect(piece.block.window(), grid.covering(box));
    if (window.empty()) continue;
    read(window);
    const PreparedArea inside(piece.full ? area : piece.piece);
    for (std::int64_t row = window.row; row < window.row + window.rows; ++row)
      for (std::int64_t col = window.col; col < window.col + window.cols; ++col) {
        const double z = value(col, row);
        const Point at = grid.centre(col, row);
        if (std::isfinite(z) && (piece.full || inside.contains(at)))
          fit.add(at.x - middle.x, at.y - middle.y, z);
      }
  }
  tile_.window = {};  // the window of `at` is another
  return fit.rise();
}

}  // namespace swardline
