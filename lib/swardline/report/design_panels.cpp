// Parts of the design page about earlier and later seasons: strata of record, kept plots, panels.
#include <fmt/format.h>

#include "swardline/base/text.hpp"
#include "swardline/report/design_sections.hpp"
#include "swardline/report/html_table.hpp"
#include "swardline/report/page.hpp"

namespace swardline {

std::string record_part(const DesignFacts& facts) {
  const Certificate& c = facts.certificate;
  if (c.record.empty() && c.kept.empty()) return {};
  return html_list(c.record) + html_list(c.kept);
}

std::string panels_part(const DesignFacts& facts) {
  const auto& panels = facts.certificate.panels;
  if (!panels) return {};
  HtmlTable years;
  years.caption = "Plots by season";
  years.columns = {{"Season", false}, {"Panels due", false}, {"Plots", true}};
  for (const PanelTable::Year& year : panels->years) {
    const std::string season = std::to_string(year.year);
    years.rows.push_back({year.year == panels->year ? season + " (this season)" : season,
                          fmt::format("{}", fmt::join(year.due, " ")), grouped(year.plots)});
  }
  HtmlTable strata;
  strata.caption = "Panels by stratum";
  strata.columns = {{"Stratum", false}, {"Panel", false}, {"Plots", true},
                    {"Spares", true},   {"Due", false},   {"Chance of the panel per m²", true}};
  for (const StratumPanel& p : panels->strata) {
    strata.rows.push_back({p.stratum, p.panel, grouped(p.plots), grouped(p.spares),
                           fmt::format("{}", fmt::join(p.due, " ")), six_figures(p.chance_per_m2)});
  }
  return html_paragraph(
             fmt::format("Pattern {} since {}. Every panel is a fair sample of its stratum; the plots "
                         "of a season are those of the panels due, with the sum of their chances.",
                         panels->pattern, panels->start)) +
         html_table(years) + html_table(strata);
}

}  // namespace swardline
