#include "swardline/field/site_species.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <set>

#include "swardline/habitat/place_values.hpp"

namespace swardline {
namespace {

/// As ExpectedPlot::percent has them.
constexpr int excluded_there = -1;

struct ScoresOfSheet {
  double sum = 0;
  int plots = 0;          ///< planned ones with a score, excluded ground among them
  bool possible = false;  ///< at any plot, spares too
};

ScoresOfSheet scores_of(const std::vector<const ExpectedPlot*>& plots, std::size_t sheet) {
  ScoresOfSheet scores;
  for (const ExpectedPlot* plot : plots) {
    const std::int8_t percent = plot->percent.at(sheet);
    if (percent > 0 || percent < excluded_there) scores.possible = true;
    if (plot->spare || percent < excluded_there) continue;
    scores.sum += std::max<double>(percent, 0) / 100;
    ++scores.plots;
  }
  return scores;
}

void add_species(const Season& season, const Expected& expected,
                 const std::vector<const ExpectedPlot*>& plots, SiteSpecies& site) {
  const auto searched = expected.searched.find(site.site);
  for (std::size_t s = 0; s < season.sheets.size(); ++s) {
    const ScoresOfSheet scores = scores_of(plots, s);
    const bool likely =
        searched != expected.searched.end() &&
        std::find(searched->second.begin(), searched->second.end(), s) != searched->second.end();
    if (likely)
      site.likely.push_back({s, scores.plots > 0 ? std::max(0.01, scores.sum / scores.plots) : 1.0});
    else if (scores.possible)
      site.possible.push_back(s);
  }
  std::stable_sort(site.likely.begin(), site.likely.end(),
                   [](const LikelySpecies& a, const LikelySpecies& b) { return a.weight > b.weight; });
}

void add_site(const Plan& plan, const Sites& sites, SiteSpecies& of) {
  const auto site = std::find_if(sites.sites.begin(), sites.sites.end(),
                                 [&](const Site& one) { return one.code == of.site; });
  if (site == sites.sites.end()) return;
  of.name = site->name;
  of.linear = site->verge.has_value();
  if (plan.packet.habitat.empty()) return;
  const auto habitat = site->attributes.find(plan.packet.habitat);
  if (habitat != site->attributes.end()) of.habitat = habitat->second;
}

}  // namespace

std::map<std::string, std::vector<std::string>> classes_at_plots(const Layers& layers,
                                                                 const std::vector<Plot>& plots,
                                                                 const std::vector<Transect>& transects) {
  PlaceValues values(layers);
  std::map<std::string, std::set<std::string>> met;
  const auto look = [&](const Plot& plot) {
    if (!plot.due()) return;
    values.move_to(layers.grid().col_of(plot.east), layers.grid().row_of(plot.north));
    for (const LayerInfo& info : layers.infos()) {
      if (info.kind != LayerKind::classes) continue;
      const LayerValue value = values.of(info.name);
      if (!value.none && !value.class_code.empty()) met[plot.site].insert(info.name + " " + value.class_code);
    }
  };
  for (const Plot& plot : plots) look(plot);
  for (const Transect& transect : transects) look(transect.unit);
  std::map<std::string, std::vector<std::string>> classes;
  for (const auto& [site, texts] : met) classes[site].assign(texts.begin(), texts.end());
  return classes;
}

std::vector<SiteSpecies> site_species_of(const Season& season, const Expected& expected,
                                         const std::vector<Plot>& plots,
                                         const std::vector<Transect>& transects, const Sites& sites,
                                         const std::map<std::string, std::vector<std::string>>& classes) {
  std::map<std::string, std::vector<const ExpectedPlot*>> by_site;
  for (const ExpectedPlot& plot : expected.plots)
    if (plot.due) by_site[plot.site].push_back(&plot);
  std::map<std::string, double> walk_m;
  const auto walk = [&](const Plot& plot) {
    if (plot.due() && !plot.spare) walk_m[plot.site] += plot.metres_from_last;
  };
  for (const Plot& plot : plots) walk(plot);
  for (const Transect& transect : transects) walk(transect.unit);
  std::vector<SiteSpecies> all;
  for (const auto& [code, here] : by_site) {
    SiteSpecies site;
    site.site = code;
    const auto name = expected.site_names.find(code);
    if (name != expected.site_names.end()) site.name = name->second;
    add_species(season, expected, here, site);
    add_site(season.plan, sites, site);
    if (const auto met = classes.find(code); met != classes.end()) site.classes = met->second;
    site.plots =
        int(std::count_if(here.begin(), here.end(), [](const ExpectedPlot* p) { return !p->spare; }));
    site.walk_m = walk_m[code];
    all.push_back(std::move(site));
  }
  return all;
}

}  // namespace swardline
