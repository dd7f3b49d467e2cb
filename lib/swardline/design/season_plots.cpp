// From pins to plots: bearings, areas, positions and the walk of one site.
#include <algorithm>
#include <cmath>
#include <optional>

#include "swardline/base/random.hpp"
#include "swardline/design/season_parts.hpp"
#include "swardline/design/walked_legs.hpp"
#include "swardline/design/walking_order.hpp"
#include "swardline/design/walking_ways.hpp"
#include "swardline/geo/earth.hpp"

namespace swardline::season_parts {

double within_circle(double degrees) {
  const double turned = std::fmod(degrees, 360.0);
  return turned < 0 ? turned + 360 : turned;
}
namespace {

/// A plot's bearing depends on its stratum, order and kind only, never on what else was drawn.
double true_bearing(const Plan& plan, const Stratum& stratum, const Pin& pin) {
  if (plan.sample.shape == UnitShape::circle) return 0;
  if (pin.bearing_deg) return within_circle(*pin.bearing_deg);
  if (plan.sample.bearing_deg) return within_circle(*plan.sample.bearing_deg);
  const RandomKey key = RandomKey(plan.seed, stratum.id).under(pin.spare ? "bearing of spares" : "bearing");
  return double(RandomStream(key.under(std::uint64_t(pin.order))).below(360));
}

/// To a thousandth of a degree, 0.2 mm at 10 m: below it machines' sines differ.
double grid_bearing(const Plan& plan, double bearing, Point at, const Route& route) {
  if (plan.sample.shape == UnitShape::circle) return 0;
  return within_circle(std::round((bearing - convergence_deg(at, route)) * 1000) / 1000);
}

Plot plot_at(const Plan& plan, const Site& site, const Stratum& stratum, const StratumDraw& draw,
             const Pin& pin, const CellReading& reading, const Route& route) {
  Plot plot;
  plot.site = site.code;
  plot.stratum = stratum.id;
  plot.order = pin.order;
  plot.spare = pin.spare;
  plot.status = pin.spare ? "spare" : "planned";
  const auto planned =
      std::count_if(draw.pins.begin(), draw.pins.end(), [](const Pin& p) { return !p.spare; });
  const double shares = double(planned) * double(pin.weight), base = stratum.chance_base_m2();
  plot.chance_per_m2 = shares / base;
  plot.weight_m2 = pin.spare || planned == 0 ? 0 : base / shares;
  plot.east = pin.at.x;
  plot.north = pin.at.y;
  const Point lon_lat = route.forward(pin.at);
  plot.lon = lon_lat.x;
  plot.lat = lon_lat.y;
  plot.bearing_deg = true_bearing(plan, stratum, pin);
  plot.grid_bearing_deg = grid_bearing(plan, plot.bearing_deg, pin.at, route);
  const PlotArea ground =
      plot_area(plan.sample, site.survey, pin.at, plot.grid_bearing_deg, convergence_deg(pin.at, route));
  plot.plot_m2 = ground.plot_m2;
  plot.inside_m2 = ground.inside_m2;
  plot.pin_outside_m = ground.pin_outside_m;
  plot.twice_m2 = ground.twice_m2;
  plot.tape = ground.tape;
  if (reading.score_percent) plot.score = *reading.score_percent / 100.0;
  plot.held_down_by = reading.held_down_by;
  plot.percent = reading.percent;
  plot.held_down = reading.held_down;
  return plot;
}

/// A plot that lies wholly outside the survey area is done without a visit: its count is 0. One that rests is
/// not due.
bool is_walked_to(const Plot& plot) { return plot.status == "planned" && plot.inside_m2 > 0; }

}  // namespace

/// Over the planned plots that are walked to, past barriers and round ground that is cut out.
void walk(const Site& site, const Access& access, std::vector<Plot>& plots) {
  std::vector<Point> points;
  std::vector<Plot*> walked;
  for (Plot& plot : plots) {
    if (!is_walked_to(plot)) continue;
    points.push_back({plot.east, plot.north});
    walked.push_back(&plot);
  }
  if (points.empty()) return;
  const auto found = access.start.find(site.code);
  const Point start =
      found != access.start.end() ? found->second : entry_nearest(site.survey, points.front());
  const std::optional<Ways> ways = ways_past({access, &site}, start, points);
  const Walk walk = ways ? walking_order(*ways) : walking_order(start, points);
  for (std::size_t i = 0; i < walk.order.size(); ++i) {
    Plot& plot = *walked[walk.order[i]];
    plot.walk = int(i) + 1;
    plot.metres_from_last = walk.leg_m[i];
    if (!ways) continue;
    plot.round_outside = ways->round_outside[walk.order[i]];
    if (ways->beyond[walk.order[i]].empty()) continue;
    plot.beyond = ways->beyond[walk.order[i]];
    plot.why = "needs a crossing: beyond " + plot.beyond;
  }
}

std::vector<Plot> plots_of_site(const Plan& plan, const Crs& crs, const Sites& sites, std::size_t site,
                                const Access& access, const std::vector<Stratum>& strata,
                                const std::vector<DrawnStratum>& drawn, std::string& route_words) {
  const Site& here = sites.sites[site];
  // The route is chosen for this site alone, so that other sites cannot change it.
  const Route route(crs, Crs::wgs84(), here.drawn.box());
  route_words = route.in_words();
  std::vector<Plot> plots;
  for (std::size_t s = 0; s < strata.size(); ++s) {
    for (std::size_t k = 0; k < drawn[s].site.size(); ++k) {
      if (drawn[s].site[k] != site) continue;
      plots.push_back(
          plot_at(plan, here, strata[s], drawn[s].draw, drawn[s].draw.pins[k], drawn[s].readings[k], route));
      finish_plot(drawn[s], k, plots.back());
    }
  }
  const auto rank = [](const Plot& plot) { return plot.status == "planned" ? 0 : plot.due() ? 1 : 2; };
  std::stable_sort(plots.begin(), plots.end(), [&](const Plot& a, const Plot& b) {
    if (rank(a) != rank(b)) return rank(a) < rank(b);
    if (a.spare != b.spare) return b.spare;
    return a.order != b.order ? a.order < b.order : a.stratum < b.stratum;
  });
  walk(here, access, plots);
  return plots;
}

}  // namespace swardline::season_parts
