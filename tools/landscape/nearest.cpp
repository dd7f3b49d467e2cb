#include "nearest.hpp"

#include <algorithm>
#include <cmath>

namespace swardline::landscape {
namespace {

double distance(const Capsule& s, double x, double y) {
  const double dx = s.bx - s.ax, dy = s.by - s.ay;
  const double px = x - s.ax, py = y - s.ay;
  const double length2 = dx * dx + dy * dy;
  double t = length2 > 0 ? (px * dx + py * dy) / length2 : 0;
  t = t < 0 ? 0 : t > 1 ? 1 : t;
  const double ex = px - t * dx, ey = py - t * dy;
  return std::sqrt(ex * ex + ey * ey) - (s.radius + t * (s.radius_b - s.radius));
}

// Shapes that can be the nearest one somewhere within `reach` of (x, y).
std::vector<Capsule> candidates(const std::vector<Capsule>& shapes, double farthest, double x, double y,
                                double reach) {
  std::vector<double> distances;
  distances.reserve(shapes.size());
  double least = farthest;
  for (const Capsule& shape : shapes) {
    distances.push_back(distance(shape, x, y));
    least = std::min(least, distances.back());
  }
  // A distance changes by at most sqrt(1.25) per metre, as radii change along their lines; a millimetre for
  // rounding.
  const double limit = least + 2 * 1.1181 * reach + 0.001;
  std::vector<Capsule> kept;
  for (std::size_t i = 0; i < shapes.size(); ++i) {
    if (distances[i] <= limit) kept.push_back(shapes[i]);
  }
  return kept;
}

double half_diagonal(const View& view) {
  const double w = view.cols * view.cell_m, h = view.rows * view.cell_m;
  return std::sqrt(w * w + h * h) / 2;
}

double middle_x(const View& view) { return (view.x(0) + view.x(view.cols - 1)) / 2; }
double middle_y(const View& view) { return (view.y(0) + view.y(view.rows - 1)) / 2; }

// Every cell of a patch against all of `close`. A shape is measured exactly only where it can win: most
// are ruled out by the square of the distance to their line.
void measure(const std::vector<Capsule>& close, double farthest, const View& patch, double* out,
             std::size_t stride) {
  double widest = 0;
  for (const Capsule& shape : close) widest = std::max({widest, shape.radius, shape.radius_b});
  std::vector<double> per_length2;
  for (const Capsule& s : close) {
    const double dx = s.bx - s.ax, dy = s.by - s.ay, length2 = dx * dx + dy * dy;
    per_length2.push_back(length2 > 0 ? 1 / length2 : 0);
  }
  for (int r = 0; r < patch.rows; ++r) {
    const double y = patch.y(r);
    for (int c = 0; c < patch.cols; ++c) {
      const double x = patch.x(c);
      double least = farthest;
      for (std::size_t i = 0; i < close.size(); ++i) {
        const Capsule& s = close[i];
        const double dx = s.bx - s.ax, dy = s.by - s.ay, px = x - s.ax, py = y - s.ay;
        double t = (px * dx + py * dy) * per_length2[i];
        t = t < 0 ? 0 : t > 1 ? 1 : t;
        const double ex = px - t * dx, ey = py - t * dy;
        const double reach = least + widest + 0.001;  // a millimetre for rounding
        if (reach <= 0 || ex * ex + ey * ey > reach * reach) continue;
        least = std::min(least, distance(s, x, y));
      }
      out[static_cast<std::size_t>(r) * stride + static_cast<std::size_t>(c)] = least;
    }
  }
}

void halve(const std::vector<Capsule>& shapes, double farthest, const View& view, double* out,
           std::size_t stride) {
  constexpr int kPatch = 12;
  if (view.cols <= kPatch && view.rows <= kPatch) {
    measure(shapes, farthest, view, out, stride);
    return;
  }
  const int cols = view.cols > kPatch ? view.cols / 2 : view.cols;
  const int rows = view.rows > kPatch ? view.rows / 2 : view.rows;
  for (int row = 0; row < view.rows; row += row == 0 ? rows : view.rows) {
    for (int col = 0; col < view.cols; col += col == 0 ? cols : view.cols) {
      const View part =
          view.part(col, row, col == 0 ? cols : view.cols - cols, row == 0 ? rows : view.rows - rows);
      const auto close = candidates(shapes, farthest, middle_x(part), middle_y(part), half_diagonal(part));
      halve(close, farthest, part,
            out + static_cast<std::size_t>(row) * stride + static_cast<std::size_t>(col), stride);
    }
  }
}

}  // namespace

std::vector<double> nearest(const std::vector<Capsule>& shapes, double farthest, const View& view) {
  std::vector<double> out(view.cells(), farthest);
  const auto around = candidates(shapes, farthest, middle_x(view), middle_y(view), half_diagonal(view));
  if (!around.empty()) halve(around, farthest, view, out.data(), static_cast<std::size_t>(view.cols));
  return out;
}

double nearest(const std::vector<Capsule>& shapes, double farthest, Spot spot) {
  double least = farthest;
  for (const Capsule& shape : shapes) least = std::min(least, distance(shape, spot.x, spot.y));
  return least;
}

void add_line(const std::vector<Spot>& line, double radius, std::vector<Capsule>& shapes) {
  for (std::size_t i = 1; i < line.size(); ++i) {
    shapes.push_back({line[i - 1].x, line[i - 1].y, line[i].x, line[i].y, radius, radius});
  }
}

}  // namespace swardline::landscape
