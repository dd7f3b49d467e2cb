// The map of a site sheet: black on white, millimetres of paper. Private to this folder.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "swardline/report/sheet_page.hpp"

namespace swardline {

/// From plan coordinates to millimetres within the map, y downwards.
struct SheetView {
  Box ground;
  double left = 0, top = 0, mm_per_m = 1;
  std::optional<Box> inset = {};  ///< millimetres: where the whole site stands, small
  [[nodiscard]] double x(double east) const { return left + (east - ground.x0) * mm_per_m; }
  [[nodiscard]] double y(double north) const { return top + (ground.y1 - north) * mm_per_m; }
  [[nodiscard]] double width() const { return (ground.x1 - ground.x0) * mm_per_m; }
  [[nodiscard]] double height() const { return (ground.y1 - ground.y0) * mm_per_m; }
  [[nodiscard]] Point ground_at(double x_mm, double y_mm) const {
    return {ground.x0 + (x_mm - left) / mm_per_m, ground.y1 - (y_mm - top) / mm_per_m};
  }
};

/// A tick on the frame: where, in millimetres, and what it says.
struct FrameTick {
  double at = 0;
  std::string text;
};
/// Along the four sides of the frame.
struct FrameTicks {
  std::vector<FrameTick> top, bottom, left, right;
  std::string says;  ///< "Ticks: USNG 14S QH, 100 m apart"
};

/// Ticks of `grid` ("usng", "utm", "degrees") a fair width apart.
[[nodiscard]] FrameTicks frame_ticks(const SheetView& view, const Route& to_wgs84, const std::string& grid);

/// The ground that a sheet's map shows: all of the site where it has one loop, else its loop's plots, and an
/// inset of the site where that shows more; both with the ways between plots and the start where these are
/// not far off.
[[nodiscard]] SheetView sheet_view(const SiteSheet& sheet, const SheetGround& ground);

/// The whole map, an `svg` element.
[[nodiscard]] std::string sheet_map(const SiteSheet& sheet, const SheetGround& ground);

/// Patterns that all maps of a page share; stands once in a page.
[[nodiscard]] std::string sheet_patterns();

}  // namespace swardline
