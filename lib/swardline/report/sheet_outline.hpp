// Ground and lines as paths of a sheet's map. Private to this folder.
#pragma once

#include <string>
#include <vector>

#include "swardline/report/sheet_map.hpp"

namespace swardline {

/// Rings of polygons as a path; corners that nobody sees are left out.
[[nodiscard]] std::string map_outline(const Geometry& polygons, const SheetView& view);

[[nodiscard]] std::string map_polyline(const std::vector<Point>& points, const SheetView& view);

}  // namespace swardline
