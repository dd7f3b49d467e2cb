// Linear sites: segments drawn along the line, as plots of the season.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/design/season_parts.hpp"
#include "swardline/geo/earth.hpp"

namespace swardline::season_parts {
namespace {

Stratum stratum_of(const Plan& plan, const Site& site) {
  const LinearSpec& linear = plan.sites.linear;
  Stratum stratum;
  stratum.id = site.code + "|segments|v1";
  stratum.site = site.code;
  stratum.rule = fmt::format("segments of {} m along the line of {}", shortest(linear.segment_m), site.name);
  stratum.kind = StratumKind::line;
  for (const VergeSegment& segment : site.verge->segments)
    stratum.area_mm2 += std::llround(segment.ground.area() * 1e6);
  stratum.frame_mm2 = stratum.area_mm2;
  stratum.geodesic_ratio = site.geodesic_ratio;
  stratum.planned = linear.each ? *linear.each : plan.sample.each.value_or(0);
  stratum.spares = spares_for(plan.sample, stratum.planned);
  return stratum;
}

/// The draw looks at where segments lie as the line has them, not at places that exclusions moved: those
/// depend on the geometry library.
StratumDraw draw_of(const Plan& plan, const Site& site, const Stratum& stratum) {
  std::vector<Point> middles;
  for (const VergeSegment& segment : site.verge->segments) middles.push_back(segment.middle);
  DrawRequest request;
  request.stratum = stratum.id;
  request.seed = plan.seed;
  request.planned = stratum.planned;
  request.spares = stratum.spares;
  StratumDraw draw = draw_units(middles, request);
  draw.area_mm2 = stratum.area_mm2;
  return draw;
}

double thousandths(double degrees) { return std::round(degrees * 1000) / 1000; }

Plot plot_of(const VergeSegment& segment, const DrawnVerge& verge, const Pin& pin, const Route& route) {
  const double chance = double(verge.stratum.drawn) / double(verge.draw.candidates);
  Plot plot;
  plot.site = verge.stratum.site;
  plot.stratum = verge.stratum.id;
  plot.order = pin.order;
  plot.spare = pin.spare;
  plot.status = pin.spare ? "spare" : "planned";
  plot.plot_m2 = plot.inside_m2 = segment.ground.area();
  plot.chance_per_m2 = chance / plot.inside_m2;
  plot.weight_m2 = pin.spare ? 0 : plot.inside_m2 / chance;
  const Point at = place_on(segment);
  plot.east = at.x;
  plot.north = at.y;
  const Point lon_lat = route.forward(at);
  plot.lon = lon_lat.x;
  plot.lat = lon_lat.y;
  plot.grid_bearing_deg = within_circle(thousandths(segment.grid_bearing_deg));
  plot.bearing_deg = within_circle(thousandths(segment.grid_bearing_deg + convergence_deg(at, route)));
  plot.tape = in_words(segment);
  plot.side = word(segment.side);
  plot.from_m = segment.from_m;
  plot.to_m = segment.to_m;
  plot.outline = segment.ground;
  return plot;
}

double middle_m(const Plot& plot) { return (plot.from_m + plot.to_m) / 2; }

/// Along the line, from the end whose first plot is nearer to where the team starts.
void walk_along(const std::optional<Point>& start, std::vector<Plot>& plots) {
  std::vector<Plot*> way;
  for (Plot& plot : plots) {
    if (!plot.spare) way.push_back(&plot);
  }
  std::sort(way.begin(), way.end(), [](const Plot* a, const Plot* b) {
    return a->from_m != b->from_m ? a->from_m < b->from_m : a->side < b->side;
  });
  if (way.empty()) return;
  const auto at = [](const Plot* plot) { return Point{plot->east, plot->north}; };
  if (start && metres_between(*start, at(way.back())) < metres_between(*start, at(way.front())))
    std::reverse(way.begin(), way.end());
  for (std::size_t i = 0; i < way.size(); ++i) {
    way[i]->walk = int(i) + 1;
    if (i == 0) {
      way[i]->metres_from_last = start ? metres_between(*start, at(way[i])) : 0;
      continue;
    }
    // The line may wind; across it, the straight way is longer than none at all.
    way[i]->metres_from_last = std::max(std::abs(middle_m(*way[i]) - middle_m(*way[i - 1])),
                                        metres_between(at(way[i - 1]), at(way[i])));
  }
}

void add_readings(const SeasonStrata& ground, const Grid& grid, std::vector<Plot>& plots) {
  std::vector<std::pair<std::int64_t, std::int64_t>> cells;
  for (const Plot& plot : plots) cells.emplace_back(grid.col_of(plot.east), grid.row_of(plot.north));
  const std::vector<CellReading> readings = ground.readings(cells);
  for (std::size_t i = 0; i < plots.size(); ++i) {
    if (readings[i].score_percent) plots[i].score = *readings[i].score_percent / 100.0;
    plots[i].held_down_by = readings[i].held_down_by;
    plots[i].percent = readings[i].percent;
    plots[i].held_down = readings[i].held_down;
  }
}

}  // namespace

DrawnVerge draw_verge(const Plan& plan, const Crs& crs, const Site& site, const Access& access,
                      const SeasonStrata& ground, const Grid& grid) {
  DrawnVerge verge;
  verge.stratum = stratum_of(plan, site);
  verge.draw = draw_of(plan, site, verge.stratum);
  for (const Pin& pin : verge.draw.pins) ++(pin.spare ? verge.stratum.spares_drawn : verge.stratum.drawn);
  const Route route(crs, Crs::wgs84(), site.drawn.box());
  verge.route = route.in_words();
  for (const Pin& pin : verge.draw.pins)
    verge.plots.push_back(plot_of(site.verge->segments[std::size_t(pin.col)], verge, pin, route));
  add_readings(ground, grid, verge.plots);
  const auto start = access.start.find(site.code);
  walk_along(start == access.start.end() ? std::nullopt : std::optional(start->second), verge.plots);
  return verge;
}

std::string numbers_in_words(const SampleSpec& sample, const DrawnVerge& verge) {
  return fmt::format("{}: {} of {} segments, the chance of each {}/{}{}.", verge.stratum.site,
                     verge.stratum.drawn, verge.draw.candidates, verge.stratum.drawn, verge.draw.candidates,
                     sample.total ? "; not part of the total" : "");
}

}  // namespace swardline::season_parts
