// Ground and lines as paths of a sheet's map.
#include "swardline/report/sheet_outline.hpp"

#include <fmt/format.h>

#include <cmath>

namespace swardline {

std::string map_outline(const Geometry& polygons, const SheetView& view) {
  std::string path;
  for (const auto& ring : rings_of(polygons).rings) {
    double last_x = -1e9, last_y = -1e9;
    for (std::size_t i = 0; i < ring.size(); ++i) {
      const double x = view.x(ring[i].x), y = view.y(ring[i].y);
      // Nobody sees a tenth of a millimetre; a ring of ten thousand corners would make a page of megabytes.
      if (i > 0 && i + 1 < ring.size() && std::hypot(x - last_x, y - last_y) < 0.1) continue;
      path += fmt::format("{}{:.2f} {:.2f}", i == 0 ? "M" : "L", x, y);
      last_x = x;
      last_y = y;
    }
    path += "Z";
  }
  return path;
}

std::string map_polyline(const std::vector<Point>& points, const SheetView& view) {
  std::string path;
  for (std::size_t i = 0; i < points.size(); ++i)
    path += fmt::format("{}{:.2f} {:.2f}", i == 0 ? "M" : "L", view.x(points[i].x), view.y(points[i].y));
  return path;
}

}  // namespace swardline
