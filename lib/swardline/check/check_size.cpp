// Work that would never end: ground no survey has, cells no machine reads in a day.
#include <fmt/format.h>

#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/check/check_parts.hpp"

namespace swardline::check_parts {

bool check_size(const Plan& plan, const Layers& layers, const Sites& sites, Flags& flags) {
  bool sound = true;
  double square_metres = 0;
  const Site* largest = nullptr;
  for (const Site& site : sites.sites) {
    const Box box = site.drawn.box();
    const double wide = std::max(box.x1 - box.x0, box.y1 - box.y0);
    if (wide > widest_site_m) {
      flags.add(Severity::stop, "site too wide", site.place,
                fmt::format("{} is {} km across; a site may be {} km.", site.code,
                            grouped(std::llround(wide / 1000)), grouped(std::llround(widest_site_m / 1000))),
                "Look at its corners: one in another coordinate system, or 0 0?");
      sound = false;
      continue;
    }
    square_metres += site.survey_m2;
    if (largest == nullptr || site.survey_m2 > largest->survey_m2) largest = &site;
  }
  const double cell = layers.grid().cell_m;
  const Place grid{plan.file.string(), 0, "[grid]"};
  if (cell > widest_cell_m) {
    flags.add(Severity::stop, "cells too large", grid,
              fmt::format("cells of {} m give every site one value; a season's may be {} m.",
                          grouped(std::llround(cell)), grouped(std::llround(widest_cell_m))),
              "Set cell_m under [grid] to about the finest layer's, or leave it out.");
    return false;
  }
  const double cells = square_metres / cell / cell;
  if (!(cells > most_site_cells)) return sound;
  const double least = std::ceil(std::sqrt(square_metres / most_site_cells) * 100) / 100;
  flags.add(Severity::stop, "too many cells", grid,
            fmt::format("the survey areas hold {} cells of {} m ({} alone {}); a season may have {}.",
                        cells < 9e18 ? grouped(std::llround(cells)) : "countless", shortest(cell),
                        largest->code, hectares(largest->survey_m2), grouped(std::llround(most_site_cells))),
            fmt::format("Set cell_m under [grid] to {} or more.", shortest(least)));
  return false;
}

}  // namespace swardline::check_parts
