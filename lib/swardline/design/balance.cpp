#include "swardline/design/drawing.hpp"
#include "swardline/geo/point_tree.hpp"

namespace swardline {

double balance_index(const std::vector<Point>& points, const std::vector<Point>& sample) {
  if (points.empty() || sample.empty()) return 0;
  const PointTree tree(sample);
  std::vector<double> total(sample.size(), 0);
  std::vector<std::uint32_t> nearest;
  for (const Point& point : points) {
    tree.all_nearest(point, nearest);
    for (const std::uint32_t unit : nearest) total[unit] += 1.0 / double(nearest.size());
  }
  const double chance = double(sample.size()) / double(points.size());
  double sum = 0;
  for (const double points_near : total) {
    const double departure = points_near * chance - 1;
    sum += departure * departure;
  }
  return sum / double(sample.size());
}

double balance_index(const std::vector<Point>& points, const std::vector<std::size_t>& sample) {
  std::vector<Point> at;
  at.reserve(sample.size());
  for (const std::size_t unit : sample) at.push_back(points[unit]);
  return balance_index(points, at);
}

}  // namespace swardline
