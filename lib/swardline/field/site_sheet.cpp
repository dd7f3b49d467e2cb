#include "swardline/field/site_sheet.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <tuple>

#include "swardline/base/text.hpp"
#include "swardline/field/verge_words.hpp"
#include "swardline/geo/earth.hpp"
#include "swardline/geo/grid_reference.hpp"

namespace swardline {
namespace {

constexpr double nan_m = std::numeric_limits<double>::quiet_NaN();

std::optional<double> magnetic_of(const WalkSources& sources, double bearing, Point lon_lat) {
  if (const auto degrees = sources.declination.at(lon_lat.y, lon_lat.x))
    return magnetic_bearing(bearing, *degrees);
  return {};
}

SheetLeg sheet_leg(const WalkSources& sources, const WalkedLeg& walked) {
  SheetLeg leg;
  leg.open = walked.open;
  leg.outside = walked.outside;
  leg.past = walked.past;
  std::vector<Point> on_earth;
  for (const Point& at : walked.points) on_earth.push_back(sources.to_wgs84.forward(at));
  const Leg straight = geodesic(on_earth.front(), on_earth.back());
  leg.bearing = straight.bearing_deg;
  leg.metres = straight.metres;
  leg.magnetic = magnetic_of(sources, leg.bearing, on_earth.back());
  if (!leg.open) return leg;
  leg.line = walked.points;
  if (walked.straight()) return leg;
  leg.metres = 0;
  for (std::size_t i = 1; i < on_earth.size(); ++i) {
    const Leg part = geodesic(on_earth[i - 1], on_earth[i]);
    leg.metres += part.metres;
    if (!walked.along)
      leg.stages.push_back({part.metres, part.bearing_deg,
                            magnetic_of(sources, part.bearing_deg, on_earth[i]), walked.crossing[i]});
  }
  return leg;
}

void add_ways(const WalkSources& sources, const SiteWays& ways, SiteWalk& walk) {
  const SheetLeg none{nan_m, nan_m, {}, {}, {}, true, false, {}};
  std::size_t place = 0;
  for (SheetPlot& at : walk.plots) {
    at.leg = at.from_start = none;
    if (at.plot->spare || at.plot->walk <= 0 || place >= ways.legs.from_last.size()) continue;
    at.leg = sheet_leg(sources, ways.legs.from_last[place]);
    at.from_start = sheet_leg(sources, ways.legs.from_start[place]);
    at.beyond = ways.legs.from_start[place].beyond;
    walk.length_m += at.leg.metres;
    ++place;
  }
}

/// Metres of tape that lay the plot out.
double tape_of(const Plan& plan, const SheetPlot& at) {
  if (at.transect != nullptr) return at.transect->tape_m;
  if (at.plot->segment()) return at.plot->to_m - at.plot->from_m;
  return plan.sample.shape == UnitShape::belt ? plan.sample.size_m[1] : plan.sample.size_m[0];
}

/// From a slope of 11 degrees on; less than that is lost in how straight a tape lies.
constexpr double least_longer = 0.02;

void add_ground_tape(const WalkSources& sources, SheetPlot& at) {
  if (sources.slopes == nullptr || at.transect != nullptr || at.plot->segment()) return;
  const auto ground = sources.slopes->find(at.plot->name);
  if (ground == sources.slopes->end()) return;
  const double along = sources.plan.sample.shape == UnitShape::circle
                           ? along_ground_m(at.tape_m, ground->second.slope_deg)
                           : along_ground_m(at.tape_m, ground->second, at.plot->grid_bearing_deg);
  if (along >= (1 + least_longer) * at.tape_m) at.ground_tape_m = along;
}

void add_lay(const WalkSources& sources, SheetPlot& at) {
  const Plot& plot = *at.plot;
  at.tape_m = tape_of(sources.plan, at);
  add_ground_tape(sources, at);
  const bool has_axis =
      at.transect != nullptr || plot.segment() || sources.plan.sample.shape != UnitShape::circle;
  if (!has_axis) return;
  at.bearing_along = plot.bearing_deg;
  at.magnetic_along = magnetic_of(sources, plot.bearing_deg, {plot.lon, plot.lat});
}

std::vector<std::string> likely_at(const Plot& plot, const std::vector<std::string>& searched, double from) {
  std::vector<std::string> likely;
  for (const std::string& code : searched) {
    const auto percent = plot.percent.find(code);
    if (percent != plot.percent.end() && percent->second >= 100 * from - 1e-9) likely.push_back(code);
  }
  return likely.empty() ? searched : likely;
}

SheetPlot sheet_plot(const WalkSources& sources, const Plot& plot, const Transect* transect,
                     const std::vector<std::string>& searched) {
  SheetPlot at;
  at.plot = &plot;
  at.transect = transect;
  at.degrees = fmt::format("{:.5f} {:.5f}", plot.lat, plot.lon);
  at.minutes = degrees_minutes(plot.lat, plot.lon);
  at.usng = usng_near_edge(plot.lat, plot.lon);
  at.inside_m2 = std::floor(plot.inside_m2 * 10 + 1e-6) / 10;
  at.edge = transect != nullptr ? transect->stake_out : plot.tape;
  if (const std::string words = sources.verge != nullptr ? segment_words(*sources.verge, plot) : "";
      !words.empty())
    at.edge = words;
  at.likely = likely_at(plot, searched, sources.plan.returns.search_from);
  add_lay(sources, at);
  return at;
}

/// What plots take on a page, the first of it and those after.
struct PageHeights {
  const std::vector<double>& others;
  const std::vector<double>& firsts;
  [[nodiscard]] double first(std::size_t i) const { return firsts.empty() ? others[i] : firsts[i]; }
};

/// How many loops of `room` hold the plots from `begin`.
std::size_t loops_needed(const PageHeights& heights, std::size_t begin, double room) {
  std::size_t loops = 0;
  double filled = 0;
  for (std::size_t i = begin; i < heights.others.size(); ++i) {
    if (loops > 0 && filled + heights.others[i] <= room) {
      filled += heights.others[i];
      continue;
    }
    ++loops;
    filled = heights.first(i);
  }
  return loops;
}

}  // namespace

bool SiteWalk::two_zones() const {
  return std::any_of(plots.begin(), plots.end(), [](const SheetPlot& at) { return at.usng.size() > 1; });
}

bool SiteWalk::steep() const {
  return std::any_of(plots.begin(), plots.end(),
                     [](const SheetPlot& at) { return at.ground_tape_m.has_value(); });
}

SiteWalk site_walk(const WalkSources& sources, const std::string& code, const std::string& name,
                   const std::vector<Plot>& plots, const std::vector<Transect>& transects,
                   const SiteWays& ways, const std::vector<std::string>& likely) {
  SiteWalk walk{code, name, {}, ways.parking, {}, 0};
  if (ways.parking || !ways.legs.from_start.empty()) walk.start = ways.start;
  for (const Plot& plot : plots)
    if (plot.site == code && plot.due()) walk.plots.push_back(sheet_plot(sources, plot, nullptr, likely));
  for (const Transect& transect : transects)
    if (transect.unit.site == code && transect.unit.due())
      walk.plots.push_back(sheet_plot(sources, transect.unit, &transect, likely));
  const auto key = [](const SheetPlot& at) {
    const Plot& plot = *at.plot;
    // A planned plot out of the walk (wholly outside) stands behind those in it.
    const int place = plot.spare ? 2 : plot.walk > 0 ? 0 : 1;
    return std::tuple(place, plot.walk, plot.stratum, plot.order, plot.name);
  };
  std::sort(walk.plots.begin(), walk.plots.end(),
            [&](const SheetPlot& a, const SheetPlot& b) { return key(a) < key(b); });
  int order = 0;
  for (SheetPlot& at : walk.plots) at.order = ++order;
  add_ways(sources, ways, walk);
  return walk;
}

std::string SiteSheet::loop_name() const {
  std::string name(1, char('A' + loop % 26));
  for (std::size_t left = loop / 26; left > 0; left = (left - 1) / 26)
    name.insert(name.begin(), char('A' + (left - 1) % 26));
  return name;
}

std::string SiteSheet::id() const {
  std::string draw = visit->version.substr(visit->version.rfind(' ') + 1);
  std::transform(draw.begin(), draw.end(), draw.begin(),
                 [](char c) { return c >= 'a' && c <= 'z' ? char(c - 'a' + 'A') : c; });
  return fmt::format("{}-{}{}{}{}", walk->code, visit->number, loops > 1 ? loop_name() : "",
                     draw.empty() ? "" : "-", draw);
}

std::vector<std::pair<std::size_t, std::size_t>> loops_of(const std::vector<double>& all, double room,
                                                          const std::vector<double>& firsts) {
  std::vector<std::pair<std::size_t, std::size_t>> loops;
  if (all.empty()) return loops;
  const PageHeights heights{all, firsts};
  const std::size_t fewest = loops_needed(heights, 0, room);
  // The least room in which as many loops still hold all makes them even; to a tenth of a millimetre.
  double low = 0, high = room;
  while (high - low > 0.05) {
    const double middle = (low + high) / 2;
    (loops_needed(heights, 0, middle) <= fewest ? high : low) = middle;
  }
  // Within that room each loop takes its share of what is left, unless the rest would then need a loop more.
  double rest = std::accumulate(all.begin(), all.end(), 0.0);
  std::size_t begin = 0;
  for (std::size_t left = fewest; left > 0 && begin < all.size(); --left) {
    const double share = rest / double(left);
    double filled = heights.first(begin);
    std::size_t end = begin + 1;
    for (; end < all.size() && filled + all[end] <= high; ++end) {
      if (filled + all[end] / 2 > share && loops_needed(heights, end, high) < left) break;
      filled += all[end];
    }
    loops.emplace_back(begin, end);
    for (std::size_t i = begin; i < end; ++i) rest -= all[i];
    begin = end;
  }
  return loops;
}

std::string not_certain_code(const Season& season, const std::vector<std::size_t>& sheets) {
  std::string genus;
  for (const std::size_t s : sheets) {
    const std::string& name = season.sheets.at(s).name;
    const std::string first = name.substr(0, name.find(' '));
    const bool plain = first.size() >= 3 && std::all_of(first.begin(), first.end(), [](char c) {
                         return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
                       });
    if (!plain || (!genus.empty() && genus != first)) return "?";
    genus = first;
  }
  return genus.empty() ? "?" : upper_ascii(genus.substr(0, 3)) + "?";
}

std::string declination_words(const Declination& declination, double lat, double lon) {
  const auto degrees = declination.at(lat, lon);
  if (!degrees) return {};
  std::string how = declination.words();
  if (const std::string word = "declination "; how.starts_with(word)) how.erase(0, word.size());
  return fmt::format("{} ({})", declination_text(*degrees), how);
}

}  // namespace swardline
