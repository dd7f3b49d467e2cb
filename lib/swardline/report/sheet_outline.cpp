// Ground and lines as paths of a sheet's map.
#include "swardline/report/sheet_outline.hpp"

#include <fmt/format.h>
#include <geos_c.h>

namespace swardline {
namespace {

/// Nobody sees a tenth of a millimetre; a ring of ten thousand corners would make a page of megabytes
/// (Douglas and Peucker 1973, by GEOS).
std::string drawn_path(const std::vector<Point>& points, const SheetView& view) {
  constexpr double seen_mm = 0.1;
  std::vector<Point> on_paper;
  for (const Point& at : points) on_paper.push_back({view.x(at.x), view.y(at.y)});
  if (on_paper.size() > 2) {
    const Geometry whole = line(on_paper);
    const Geometry smooth(GEOSSimplify_r(geos(), whole.get(), seen_mm));
    if (std::vector<std::vector<Point>> left = lines_of(smooth); left.size() == 1)
      on_paper = std::move(left[0]);
  }
  std::string path;
  for (const Point& at : on_paper)
    path += fmt::format("{}{:.1f} {:.1f}", path.empty() ? "M" : "L", at.x, at.y);
  return path;
}

}  // namespace

std::string map_outline(const Geometry& polygons, const SheetView& view) {
  std::string path;
  for (const auto& ring : rings_of(polygons).rings) path += drawn_path(ring, view) + "Z";
  return path;
}

std::string map_polyline(const std::vector<Point>& points, const SheetView& view) {
  return drawn_path(points, view);
}

}  // namespace swardline
