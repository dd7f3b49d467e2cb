// Panels over the plots of a season: numbers, who is due, and what each plot has from its panel.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "swardline/design/season_parts.hpp"

namespace swardline::season_parts {
namespace {

std::vector<std::size_t> pins_of(const DrawnStratum& drawn, bool spare) {
  std::vector<std::size_t> pins;
  for (std::size_t i = 0; i < drawn.draw.pins.size(); ++i) {
    if (drawn.draw.pins[i].spare == spare) pins.push_back(i);
  }
  return pins;
}

/// Panels the kept plots came with, where the pattern still has them all.
bool take_over(const PanelScheme& scheme, const DrawnStratum& drawn, const KeptPlots& all_kept,
               PanelShares& shares) {
  for (std::size_t i = 0; i < drawn.kept.size(); ++i) {
    const auto panel = scheme.index(drawn.kept[i].plot->panel);
    if (!panel) return false;
    shares.of_pin[i] = *panel;
  }
  // Plots outside the survey area were drawn with the others: the chances are of all of them.
  std::fill(shares.sizes.begin(), shares.sizes.end(), 0);
  const std::string& stratum = drawn.kept.front().plot->stratum;
  for (const Plot& plot : all_kept.plots) {
    const auto panel = scheme.index(plot.panel);
    if (panel && !plot.spare && !stratum.empty() && plot.stratum == stratum) ++shares.sizes[*panel];
  }
  if (!stratum.empty()) return true;
  for (const std::size_t pin : pins_of(drawn, false)) ++shares.sizes[shares.of_pin[pin]];
  return true;
}

}  // namespace

void give_panel_numbers(const Plan& plan, const PanelScheme& scheme, std::vector<Stratum>& strata) {
  for (Stratum& stratum : strata) {
    if (stratum.planned == 0) continue;
    const std::vector<int> sizes = scheme.sizes(stratum.planned);
    stratum.a_season = stratum.planned;
    stratum.planned = 0;
    for (std::size_t panel = 0; panel < sizes.size(); ++panel)
      stratum.planned += scheme.due(panel) ? sizes[panel] : 0;
    stratum.all_planned = std::accumulate(sizes.begin(), sizes.end(), 0);
    stratum.all_spares = int(std::ceil(plan.sample.spares * stratum.all_planned - 1e-6));
    stratum.spares = 0;
    for (const std::size_t panel : panels_of_ranks(sizes, stratum.all_spares))
      stratum.spares += scheme.due(panel) ? 1 : 0;
  }
}

PanelShares share_panels(const PanelScheme& scheme, const Stratum& stratum, const DrawnStratum& drawn,
                         const KeptPlots& all_kept) {
  PanelShares shares;
  shares.scheme = &scheme;
  shares.of_pin.assign(drawn.draw.pins.size(), 0);
  const std::vector<std::size_t> planned = pins_of(drawn, false), spares = pins_of(drawn, true);
  shares.sizes = scheme.sizes(stratum.a_season);
  if (!drawn.kept.empty() && take_over(scheme, drawn, all_kept, shares)) return shares;
  const std::vector<int> sizes = shares.sizes;
  std::fill(shares.sizes.begin(), shares.sizes.end(), 0);
  const std::vector<std::size_t> of_rank = panels_of_ranks(sizes, int(planned.size()));
  for (std::size_t i = 0; i < planned.size(); ++i) {
    shares.of_pin[planned[i]] = of_rank[i];
    ++shares.sizes[of_rank[i]];
  }
  const std::vector<std::size_t> of_spare = panels_of_ranks(sizes, int(spares.size()));
  for (std::size_t i = 0; i < spares.size(); ++i) shares.of_pin[spares[i]] = of_spare[i];
  return shares;
}

void finish_plot(const DrawnStratum& drawn, std::size_t pin, Plot& plot) {
  if (!drawn.kept.empty()) {
    const KeptPlot& kept = drawn.kept[pin];
    plot.name = kept.plot->name;
    plot.first_season = kept.plot->first_season;
    plot.chance_per_m2 = kept.chance_per_m2;
    plot.weight_m2 = plot.spare ? 0 : 1 / kept.chance_per_m2;
  }
  if (drawn.panels.scheme == nullptr) return;
  const PanelScheme& scheme = *drawn.panels.scheme;
  const std::size_t panel = drawn.panels.of_pin[pin];
  int all = 0, now = 0;
  for (std::size_t p = 0; p < drawn.panels.sizes.size(); ++p) {
    all += drawn.panels.sizes[p];
    if (scheme.due(p)) now += drawn.panels.sizes[p];
  }
  plot.panel = scheme.panels()[panel].name;
  const double whole = plot.chance_per_m2;
  plot.panel_chance_per_m2 = all == 0 ? 0 : whole * drawn.panels.sizes[panel] / all;
  plot.chance_per_m2 = scheme.due(panel) ? (all == 0 ? 0 : whole * now / all) : plot.panel_chance_per_m2;
  if (!scheme.due(panel)) plot.status = "resting";
  plot.weight_m2 = plot.status == "planned" && plot.chance_per_m2 > 0 ? 1 / plot.chance_per_m2 : 0;
}

PanelTable panel_table(const PanelScheme& scheme, const std::vector<Plot>& plots,
                       const std::vector<Stratum>& strata) {
  PanelTable table;
  table.pattern = scheme.spec().pattern;
  table.start = scheme.spec().start;
  table.year = scheme.spec().year;
  std::map<std::pair<std::string, std::string>, StratumPanel> found;
  std::map<std::string, int> of_panel;
  for (const Plot& plot : plots) {
    if (plot.panel.empty() || plot.status.starts_with("outside")) continue;
    StratumPanel& at = found[{plot.stratum, plot.panel}];
    ++(plot.spare ? at.spares : at.plots);
    at.chance_per_m2 = plot.panel_chance_per_m2;
    if (!plot.spare) ++of_panel[plot.panel];
  }
  for (const Stratum& stratum : strata) {
    for (std::size_t p = 0; p < scheme.panels().size(); ++p) {
      const auto at = found.find({stratum.id, scheme.panels()[p].name});
      if (at == found.end()) continue;
      StratumPanel row = at->second;
      row.stratum = stratum.id;
      row.panel = scheme.panels()[p].name;
      row.due = scheme.years_due(p);
      row.now = scheme.due(p);
      table.strata.push_back(std::move(row));
    }
  }
  for (const int year : scheme.years()) {
    PanelTable::Year row;
    row.year = year;
    for (std::size_t p = 0; p < scheme.panels().size(); ++p) {
      if (!scheme.due(p, year)) continue;
      row.due.push_back(scheme.panels()[p].name);
      row.plots += of_panel[scheme.panels()[p].name];
    }
    table.years.push_back(std::move(row));
  }
  return table;
}

}  // namespace swardline::season_parts
