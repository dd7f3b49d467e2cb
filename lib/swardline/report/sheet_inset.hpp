// The whole site, small, in a corner of a loop's map: where the loop lies, and its way from the start.
// Private to this folder.
#pragma once

#include <optional>
#include <string>

#include "swardline/report/sheet_map.hpp"

namespace swardline {

inline constexpr double inset_width = 25, inset_height = 18;

/// A corner of the frame in which the inset covers no plot of the loop, no start and no way; none where every
/// corner has something.
[[nodiscard]] std::optional<Box> free_corner(const SiteSheet& sheet, const SheetView& view, const Box& frame);

/// Within `view.inset`: the site's outline, ground to keep out of, the start, the way to the loop's first
/// plot and the ground of the map as a box.
[[nodiscard]] std::string inset_markup(const SiteSheet& sheet, const SheetGround& ground,
                                       const SheetView& view);

}  // namespace swardline
