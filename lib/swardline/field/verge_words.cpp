#include "swardline/field/verge_words.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/geo/earth.hpp"

namespace swardline {
namespace {

/// Metres as a tape is read: whole where they are.
std::string tape_metres(double metres) {
  const long long tenths = std::llround(metres * 10);
  return grouped(tenths / 10) + (tenths % 10 == 0 ? "" : fmt::format(".{}", tenths % 10));
}

std::string one_line_words(const VergeLine& line, const SiteWays& ways, const Route& to_wgs84) {
  const Point begin = to_wgs84.forward(line.begin), end = to_wgs84.forward(line.end);
  const double bearing = geodesic(begin, end).bearing_deg;
  const auto end_words = [&](double metre, Point at, double away, const std::string& which) {
    std::string words =
        fmt::format("{} m at its {} end, {:.5f} {:.5f}", tape_metres(metre), which, at.y, at.x);
    if (ways.parking) words += fmt::format(" ({} m from P)", tape_metres(std::round(away)));
    return words;
  };
  const double from_begin = metres_between(ways.start, line.begin),
               from_end = metres_between(ways.start, line.end);
  return fmt::format("{}, to {}", end_words(line.from_m, begin, from_begin, compass_point(bearing + 180)),
                     end_words(line.to_m, end, from_end, compass_point(bearing)));
}

}  // namespace

std::string compass_point(double bearing_deg) {
  constexpr std::array<const char*, 8> points = {"north", "north-east", "east", "south-east",
                                                 "south", "south-west", "west", "north-west"};
  const double turned = std::fmod(std::fmod(bearing_deg, 360) + 360 + 22.5, 360);
  return points[std::size_t(turned / 45) % points.size()];
}

std::string line_words(const Verge& verge, const SiteWays& ways, const Route& to_wgs84) {
  constexpr std::size_t most = 2;
  std::string words = "Metres run along the line from ";
  for (std::size_t i = 0; i < std::min(verge.ends.size(), most); ++i)
    words += (i > 0 ? "; on from " : "") + one_line_words(verge.ends[i], ways, to_wgs84);
  if (verge.ends.size() > most) words += fmt::format("; and {} lines more", verge.ends.size() - most);
  return words +
         ". LEFT and RIGHT are those of somebody who walks so that the metres grow; lay is the line's "
         "bearing "
         "that way, and line in M means: along the verge, never on a bridge (drive round), over the road "
         "only "
         "where drivers see you in time. Measure from the fix, not across a bend, never on the road.";
}

std::string segment_words(const Verge& verge, const Plot& plot) {
  for (const VergeSegment& segment : verge.segments) {
    if (plot.side != word(segment.side) || std::abs(plot.from_m - segment.from_m) > 0.005) continue;
    const bool right = segment.side == VergeSide::right;
    // Whoever measures from the line stands in the road.
    const std::string from = segment.inner_m > 0.005 ? "from the road's edge outward" : "from the line";
    const std::string half = tape_metres((segment.to_m - segment.from_m) / 2);
    std::string words = fmt::format(
        "{} ({}) side from {} to {} m; verge {} m wide {}; the fix is its middle: tape {} m each way",
        right ? "RIGHT" : "LEFT", compass_point(plot.bearing_deg + (right ? 90 : -90)),
        tape_metres(segment.from_m), tape_metres(segment.to_m), shortest(segment.width_m), from, half);
    const double cut_m2 = segment.whole_m2 - segment.ground.area();
    if (cut_m2 >= 0.05) words += fmt::format("; {:.1f} of its {:.1f} m² cut out", cut_m2, segment.whole_m2);
    return words + fmt::format(" (segment {})", segment.number);
  }
  return {};
}

}  // namespace swardline
