// Plots of earlier seasons: found on the ground, counted into their strata, never deleted.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/design/season_parts.hpp"
#include "swardline/geo/crs.hpp"

namespace swardline::season_parts {
namespace {

void check_names(const KeptPlots& kept) {
  std::map<std::string, int> met;
  for (const Plot& plot : kept.plots) {
    if (++met[plot.name] == 2)
      throw InputError(kept.place, fmt::format("holds two plots called {}.", plot.name),
                       "Names are never used twice: find out which is which, and take the other out.");
  }
}

void check_places(const KeptPlots& kept, double tolerance_m) {
  std::vector<const Plot*> by_east;
  for (const Plot& plot : kept.plots) by_east.push_back(&plot);
  std::sort(by_east.begin(), by_east.end(), [](const Plot* a, const Plot* b) {
    return std::pair(a->east, a->name) < std::pair(b->east, b->name);
  });
  for (std::size_t i = 0; i < by_east.size(); ++i) {
    for (std::size_t j = i + 1; j < by_east.size(); ++j) {
      const Plot &a = *by_east[i], &b = *by_east[j];
      const double dx = b.east - a.east, dy = b.north - a.north;
      if (dx > tolerance_m) break;
      const double metres = std::sqrt(dx * dx + dy * dy);
      if (metres > tolerance_m) continue;
      throw InputError(
          kept.place,
          fmt::format("{} and {} are {:.2f} m apart: an old plot under two names would be counted "
                      "twice.",
                      std::min(a.name, b.name), std::max(a.name, b.name), metres),
          "Take one out; or, if both are plots, set [sample] keep_tolerance_m below that.");
    }
  }
}

/// Kept plots whose strata this season's record does not know would be counted with chances of other ground.
void check_record(const Plan& plan, const KeptPlots& kept, const Certificate& certificate) {
  if (kept.record.empty() || certificate.record_fingerprint.empty()) return;
  if (kept.record == certificate.record_fingerprint) return;
  throw InputError(kept.place,
                   "its plots were drawn from strata of record that are not those of this season's folder: "
                   "their chances would not fit the ground.",
                   fmt::format("Copy the folder `record` of that season beside {}, and do not draw with "
                               "--new-strata.",
                               plan.file.filename().string()));
}

/// Planned plots by stratum and panel, as the earlier season stored them.
using PanelCounts = std::map<std::string, std::map<std::string, int>>;

PanelCounts counts_of(const KeptPlots& kept) {
  PanelCounts counts;
  for (const Plot& plot : kept.plots) {
    if (!plot.spare) ++counts[plot.stratum][plot.panel];
  }
  return counts;
}

/// Of a plot over all panels: what its panel's chance is a share of.
double whole_chance(const Plot& plot, const PanelCounts& counts) {
  if (plot.panel.empty() || !(plot.panel_chance_per_m2 > 0)) return plot.chance_per_m2;
  const auto stratum = counts.find(plot.stratum);
  if (stratum == counts.end()) return plot.chance_per_m2;
  const auto panel = stratum->second.find(plot.panel);
  if (panel == stratum->second.end()) return plot.chance_per_m2;
  int all = 0;
  for (const auto& [name, plots] : stratum->second) all += plots;
  return plot.panel_chance_per_m2 * all / panel->second;
}

}  // namespace

KeptGround place_kept(const Plan& plan, const SeasonStrata& ground, const KeptPlots& kept,
                      const Certificate& certificate) {
  KeptGround found;
  if (kept.plots.empty()) return found;
  check_names(kept);
  check_places(kept, plan.sample.keep_tolerance_m);
  check_record(plan, kept, certificate);
  found.by_stratum.resize(ground.strata().size());
  const PanelCounts counts = counts_of(kept);
  std::vector<Point> points;
  for (const Plot& plot : kept.plots) points.push_back({plot.east, plot.north});
  const auto places = ground.places(points);
  for (std::size_t i = 0; i < places.size(); ++i) {
    const Plot& plot = kept.plots[i];
    if (plot.segment()) continue;  // found along its line
    if (!places[i]) {
      found.outside.push_back(&plot);
    } else {
      found.by_stratum[places[i]->stratum].push_back({&plot, *places[i], whole_chance(plot, counts)});
    }
  }
  for (std::vector<KeptPlot>& plots : found.by_stratum) {
    std::sort(plots.begin(), plots.end(), [](const KeptPlot& a, const KeptPlot& b) {
      return std::tie(a.plot->spare, a.plot->order, a.plot->name) <
             std::tie(b.plot->spare, b.plot->order, b.plot->name);
    });
  }
  return found;
}

void keep_numbers(const KeptGround& kept, std::vector<Stratum>& strata, std::vector<std::string>& words) {
  int strata_kept = 0, plots = 0, spares = 0;
  std::vector<std::string> others;
  for (std::size_t s = 0; s < strata.size(); ++s) {
    if (!kept.in(s)) continue;
    Stratum& stratum = strata[s];
    const int asked = stratum.all_planned;
    stratum.kept = int(kept.by_stratum[s].size());
    stratum.all_planned = int(std::count_if(kept.by_stratum[s].begin(), kept.by_stratum[s].end(),
                                            [](const KeptPlot& k) { return !k.plot->spare; }));
    stratum.all_spares = stratum.kept - stratum.all_planned;
    ++strata_kept;
    plots += stratum.all_planned;
    spares += stratum.all_spares;
    if (asked != stratum.all_planned)
      others.push_back(fmt::format("{} ({} kept, {} asked)", spoken(stratum.id), stratum.all_planned, asked));
  }
  if (strata_kept > 0)
    words.push_back(
        fmt::format("{} plots and {} spares of earlier seasons stay in {} strata, with their names "
                    "and chances; these strata get no others.",
                    grouped(plots), grouped(spares), strata_kept));
  if (!others.empty()) words.push_back(fmt::format("Not as many as the plan asks: {}.", in_words(others)));
  if (!kept.outside.empty()) {
    std::vector<std::string> names;
    for (const Plot* plot : kept.outside) names.push_back(plot->name);
    std::sort(names.begin(), names.end());
    words.push_back(fmt::format("Outside the survey area now, and not visited: {}.", in_words(names)));
  }
}

std::vector<Plot> outside_plots(const KeptGround& kept, const Plan& plan, const Crs& crs) {
  std::vector<Plot> plots;
  if (kept.outside.empty()) return plots;
  const Route route(crs, Crs::wgs84());
  for (const Plot* plot : kept.outside) {
    Plot outside = *plot;
    const Point lon_lat = route.forward({plot->east, plot->north});
    outside.lon = lon_lat.x;
    outside.lat = lon_lat.y;
    outside.weight_m2 = outside.walk = 0;
    outside.metres_from_last = outside.inside_m2 = outside.twice_m2 = 0;
    outside.tape.clear();
    if (!outside.status.starts_with("outside the survey area"))
      outside.status = "outside the survey area since " + plan.name;
    plots.push_back(std::move(outside));
  }
  std::sort(plots.begin(), plots.end(), [](const Plot& a, const Plot& b) { return a.name < b.name; });
  return plots;
}

}  // namespace swardline::season_parts
