// Transects as points and lines for units and maps.
#include <fmt/format.h>

#include "swardline/field/point_files.hpp"

namespace swardline {
namespace {

/// Another place of a transect: what it shares with the start, and its own position.
Plot place_of(const Transect& transect, const char* kind, const std::string& suffix, double lat, double lon) {
  Plot place = transect.unit;
  place.name += suffix;
  place.kind = kind;
  place.lat = lat;
  place.lon = lon;
  place.walk = 0;
  place.metres_from_last = 0;
  return place;
}

}  // namespace

void add_transects(FieldPlots& field, const std::vector<Transect>& transects,
                   const std::vector<ReferenceLine>& reference_lines, const Route& to_wgs84) {
  const auto add = [&](Plot place, const std::string& of) {
    const Point plane = to_wgs84.back(Point{place.lon, place.lat});
    place.east = plane.x;
    place.north = plane.y;
    field.belongs_to[place.name] = of;
    field.plots.push_back(std::move(place));
  };
  for (const Transect& transect : transects) {
    const std::string& name = transect.unit.name;
    field.plots.push_back(transect.unit);
    field.plots.back().magnetic_bearing_deg = transect.magnetic_bearing_deg;
    Plot end = place_of(transect, "transect end", "E", transect.end_lat, transect.end_lon);
    end.tape = fmt::format("tape mark {:.1f} m", transect.tape_m);
    add(std::move(end), name);
    for (const TransectStation& station : transect.stations) {
      Plot frame = place_of(transect, "station", std::to_string(station.number), station.lat, station.lon);
      frame.tape = fmt::format("tape mark {:.1f} m", station.tape_m);
      frame.inside_m2 = station.inside_m2;
      frame.twice_m2 = station.twice_m2;
      add(std::move(frame), name);
    }
    field.lines.push_back({name, transect.unit.site, "transect", to_wgs84.forward(transect.line)});
  }
  for (const ReferenceLine& line : reference_lines)
    field.lines.push_back({line.name, line.site, "reference line", to_wgs84.forward(line.line)});
}

}  // namespace swardline
