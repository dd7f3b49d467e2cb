#include "swardline/report/stake_out_page.hpp"

#include <fmt/format.h>

namespace swardline {

std::string stake_out_text(const SeasonDraw& draw, const std::string& season,
                           const std::string& declination) {
  std::string text = fmt::format("{}: how to lay each transect\n\n", season);
  text += declination.empty()
              ? "Bearings are true. No declination is given, so a compass must be set by the team.\n"
              : fmt::format("Magnetic bearings: {}. They are corrected already: set the compass to 0.\n",
                            declination);
  text +=
      "Marks are of the tape, laid along the ground from the start. Positions are WGS84.\n"
      "Turn back where the ground is unsafe and write it down; entry needs the landowner's permission.\n";
  std::string site;
  for (const Transect& transect : draw.transects) {
    if (transect.unit.site != site) text += fmt::format("\n{}\n", site = transect.unit.site);
    text += fmt::format("{}{}: {}\n", transect.unit.name, transect.unit.spare ? " (spare)" : "",
                        transect.stake_out);
    if (!transect.unit.why.empty()) text += fmt::format("  {}\n", transect.unit.why);
  }
  if (!draw.reference_lines.empty()) text += "\nReference lines, placed by hand and kept out of estimates\n";
  for (const ReferenceLine& line : draw.reference_lines)
    text +=
        fmt::format("{}{}: {:.1f} m level{}, from {:.5f} {:.5f}\n", line.site.empty() ? "" : line.site + " ",
                    line.name, line.length_m,
                    line.tape_m ? fmt::format(", {:.1f} m of tape", *line.tape_m) : "", line.lat, line.lon);
  return text;
}

}  // namespace swardline
