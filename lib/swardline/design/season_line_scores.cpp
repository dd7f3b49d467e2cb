// What the rules say of the ground along a transect.
#include <algorithm>
#include <cmath>

#include "swardline/design/season_parts.hpp"

namespace swardline::season_parts {
namespace {

using Cell = std::pair<std::int64_t, std::int64_t>;

/// Places of a transect whose scores are its own: its stations, or points along the parts of its line.
std::vector<Point> places_along(const Transect& transect, double apart_m) {
  std::vector<Point> places;
  for (const TransectStation& station : transect.stations) places.push_back({station.east, station.north});
  if (!places.empty() || transect.line.empty()) return places;
  for (const std::vector<Point>& part : lines_of(transect.line)) {
    const Point from = part.front(), to = part.back();  // straight
    const int steps = std::max(1, int(std::ceil(std::hypot(to.x - from.x, to.y - from.y) / apart_m)));
    for (int k = 0; k < steps; ++k) {
      const double share = (k + 0.5) / steps;
      places.push_back({from.x + share * (to.x - from.x), from.y + share * (to.y - from.y)});
    }
  }
  return places;
}

void put_together(const CellReading* first, const CellReading* last, Plot& unit) {
  std::map<std::string, std::pair<int, int>> sums;  // percents, places
  for (const CellReading* reading = first; reading != last; ++reading) {
    for (const auto& [code, percent] : reading->percent) {
      sums[code].first += percent;
      ++sums[code].second;
    }
    for (const auto& [code, text] : reading->held_down) unit.held_down.emplace(code, text);
  }
  for (const auto& [code, sum] : sums) {
    unit.percent[code] = (2 * sum.first + sum.second) / (2 * sum.second);  // halves rounded up
    // Of the places that have a score: what stands at another may be why that one has none.
    for (const CellReading* reading = first; reading != last; ++reading)
      if (reading->percent.contains(code)) {
        unit.held_down[code] = reading->held_down.at(code);
        break;
      }
  }
}

}  // namespace

void read_line_scores(const SeasonStrata& ground, const Grid& grid, int threads,
                      std::vector<Transect>& transects) {
  std::vector<Cell> cells;
  std::vector<std::size_t> ends;
  for (const Transect& transect : transects) {
    for (const Point& place : places_along(transect, grid.cell_m))
      cells.emplace_back(grid.col_of(place.x), grid.row_of(place.y));
    ends.push_back(cells.size());
  }
  const std::vector<CellReading> readings = ground.readings(cells, threads);
  std::size_t begin = 0;
  for (std::size_t i = 0; i < transects.size(); ++i) {
    put_together(readings.data() + begin, readings.data() + ends[i], transects[i].unit);
    begin = ends[i];
  }
}

}  // namespace swardline::season_parts
