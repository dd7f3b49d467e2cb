#include "swardline/field/site_sheet.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <tuple>

#include "swardline/base/text.hpp"
#include "swardline/geo/earth.hpp"
#include "swardline/geo/grid_reference.hpp"

namespace swardline {
namespace {

constexpr double nan_m = std::numeric_limits<double>::quiet_NaN();

/// The plane and the ellipsoid differ by less; a way past something is longer by more.
bool goes_round(double way_m, double straight_m) { return way_m > straight_m * 1.01 + 1; }

void add_way(const WalkSources& sources, const std::optional<Point>& from, SheetPlot& at) {
  const Plot& plot = *at.plot;
  at.metres_from_last = plot.spare ? nan_m : plot.metres_from_last;
  at.bearing_to = nan_m;
  if (plot.spare || !from) return;
  const Leg leg = geodesic(*from, {plot.lon, plot.lat});
  at.way_round = goes_round(plot.metres_from_last, leg.metres);
  if (!at.way_round) at.metres_from_last = leg.metres;
  at.bearing_to = leg.bearing_deg;
  if (const auto degrees = sources.declination.at(plot.lat, plot.lon))
    at.magnetic_to = magnetic_bearing(leg.bearing_deg, *degrees);
}

/// Metres of tape that lay the plot out.
double tape_of(const Plan& plan, const SheetPlot& at) {
  if (at.transect != nullptr) return at.transect->tape_m;
  if (at.plot->segment()) return at.plot->to_m - at.plot->from_m;
  return plan.sample.shape == UnitShape::belt ? plan.sample.size_m[1] : plan.sample.size_m[0];
}

void add_lay(const WalkSources& sources, SheetPlot& at) {
  const Plot& plot = *at.plot;
  at.tape_m = tape_of(sources.plan, at);
  const bool has_axis =
      at.transect != nullptr || (!plot.segment() && sources.plan.sample.shape != UnitShape::circle);
  if (!has_axis) return;
  at.bearing_along = plot.bearing_deg;
  if (const auto degrees = sources.declination.at(plot.lat, plot.lon))
    at.magnetic_along = magnetic_bearing(plot.bearing_deg, *degrees);
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
  at.likely = likely_at(plot, searched, sources.plan.returns.search_from);
  add_lay(sources, at);
  return at;
}

/// Whether so many loops of `room` hold all.
std::size_t loops_needed(const std::vector<double>& heights, double room) {
  std::size_t loops = heights.empty() ? 0 : 1;
  double filled = 0;
  for (std::size_t i = 0; i < heights.size(); ++i) {
    if (filled > 0 && filled + heights[i] > room) {
      ++loops;
      filled = 0;
    }
    filled += heights[i];
  }
  return loops;
}

}  // namespace

bool SiteWalk::two_zones() const {
  return std::any_of(plots.begin(), plots.end(), [](const SheetPlot& at) { return at.usng.size() > 1; });
}

SiteWalk site_walk(const WalkSources& sources, const std::string& code, const std::string& name,
                   const std::vector<Plot>& plots, const std::vector<Transect>& transects,
                   const std::optional<Point>& start, const std::vector<std::string>& likely) {
  SiteWalk walk{code, name, start, {}, 0};
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
  std::optional<Point> from;
  if (start) from = sources.to_wgs84.forward(*start);
  int order = 0;
  for (SheetPlot& at : walk.plots) {
    at.order = ++order;
    add_way(sources, from, at);
    from = Point{at.plot->lon, at.plot->lat};
    if (!at.plot->spare) walk.length_m += at.metres_from_last;
  }
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

std::vector<std::pair<std::size_t, std::size_t>> loops_of(const std::vector<double>& heights, double room) {
  std::vector<std::pair<std::size_t, std::size_t>> loops;
  if (heights.empty()) return loops;
  const std::size_t fewest = loops_needed(heights, room);
  // The least room in which as many loops still hold all makes them even; to a tenth of a millimetre.
  double low = 0, high = room;
  while (high - low > 0.05) {
    const double middle = (low + high) / 2;
    (loops_needed(heights, middle) <= fewest ? high : low) = middle;
  }
  // Within that room each loop takes its share of what is left, unless the rest would then need a loop more.
  double rest = std::accumulate(heights.begin(), heights.end(), 0.0);
  std::size_t begin = 0;
  for (std::size_t left = fewest; left > 0 && begin < heights.size(); --left) {
    const double share = rest / double(left);
    double filled = heights[begin];
    std::size_t end = begin + 1;
    for (; end < heights.size() && filled + heights[end] <= high; ++end) {
      const std::vector<double> others(heights.begin() + std::ptrdiff_t(end), heights.end());
      if (filled + heights[end] / 2 > share && loops_needed(others, high) < left) break;
      filled += heights[end];
    }
    loops.emplace_back(begin, end);
    rest -= filled;
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
