// What PROJ offers between two coordinate systems. Private to geo.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "swardline/geo/crs.hpp"

namespace swardline {

/// One operation.
struct Offer {
  std::string name;
  std::string changes;       ///< datum steps by name; projections are left out
  std::string pipeline;      ///< in the authorities' axis order
  std::string map_pipeline;  ///< (east, north) to (east, north)
  double accuracy = -1;      ///< metres; negative when not stated
  bool ballpark = false;
  std::optional<Box> use;   ///< longitude and latitude
  bool holds_area = false;  ///< its area of use holds the area of interest
  std::vector<std::string> absent_grids;
};

struct Offers {
  bool identity = false;      ///< both systems are one
  std::vector<Offer> usable;  ///< with the grids that are installed, in PROJ's order
  std::vector<Offer> any;     ///< whatever grids they need; empty where nothing could be better
};

/// The offers for ground in `area` (degrees; none: not known). PROJ's search takes tens of milliseconds and
/// a season asks for every site, so it is done once for each box of whole degrees and kept; what does not
/// meet the area itself is left out afterwards. May be called from any thread.
[[nodiscard]] Offers offers_between(const Crs& from, const Crs& to, const std::optional<Box>& area);

/// The most accurate of those whose area of use holds the ground; where none does,
/// PROJ's own first; a ballpark offset only when there is nothing else. Null where there is none.
[[nodiscard]] const Offer* best_of(const std::vector<Offer>& all);

/// The area of interest in longitude and latitude. Good to a few hundred metres, which
/// is all that choosing an operation needs.
[[nodiscard]] std::optional<Box> area_of_interest(const Crs& from, const Crs& to,
                                                  const std::optional<Box>& area);

}  // namespace swardline
