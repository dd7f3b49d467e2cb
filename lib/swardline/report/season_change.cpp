// How what was found has changed.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/file_names.hpp"
#include "swardline/base/text.hpp"
#include "swardline/estimate/rounding.hpp"
#include "swardline/report/html_table.hpp"
#include "swardline/report/interval_chart.hpp"
#include "swardline/report/page.hpp"
#include "swardline/report/season_sections.hpp"

namespace swardline {
namespace {

constexpr std::size_t most_change_rows = 40;
constexpr double m2_of_a_hectare = 1e4;

double change_step(const ChangeEstimate& estimate) {
  if (estimate.limits) return m2_of_a_hectare * step_beside_limits(estimate.paired.change, *estimate.limits);
  const double se = m2_of_a_hectare * estimate.paired.standard_error.value_or(0);
  return se > 0 ? step_of(se) : 1;
}

std::string change_in_numbers(const ChangeEstimate& estimate) {
  const double step = change_step(estimate);
  std::string out = with_sign_in(m2_of_a_hectare * estimate.paired.change, step);
  if (estimate.limits)
    out += fmt::format(" ({} to {})", with_sign_in(m2_of_a_hectare * estimate.limits->low, step),
                       with_sign_in(m2_of_a_hectare * estimate.limits->high, step));
  return out;
}

/// There is room for the short words only; a bar over zero tells the others.
std::string change_in_a_chart(const ChangeEstimate& estimate) {
  const bool clear = estimate.change == ChangeWord::fewer || estimate.change == ChangeWord::more;
  return (clear ? word(estimate.change) + std::string(": ") : "") + change_in_numbers(estimate);
}

bool tells_of_change(const ChangeEstimate& estimate) {
  return estimate.stratum.empty() && !estimate.with_not_certain && estimate.paired.pairs > 0;
}

std::string pairs_of(const SeasonLookup& season, int pairs) {
  return fmt::format("{} {} of {}", grouped(pairs), pairs == 1 ? "pair" : "pairs", season.unit);
}

HtmlTable change_table(const SeasonChange& change, std::string caption, const char* first_column) {
  HtmlTable table;
  table.caption = std::move(caption);
  table.sorts = true;
  table.columns = {{first_column, false},
                   {"Pairs", true},
                   {fmt::format("Stems a hectare, {}", change.earlier_year), true},
                   {fmt::format("{}", change.later_year), true},
                   {"Change, with limits", true},
                   {"In a word", false}};
  return table;
}

std::vector<std::string> change_row(const ChangeEstimate& estimate, std::string name) {
  const double step = change_step(estimate);
  return {std::move(name),
          grouped(estimate.paired.pairs),
          in_steps(m2_of_a_hectare * estimate.paired.then, step),
          in_steps(m2_of_a_hectare * estimate.paired.now, step),
          change_in_numbers(estimate),
          word(estimate.change)};
}

std::string change_of_species(const SeasonLookup& season, const std::string& code, const std::string& id) {
  const SeasonChange& change = *season.facts.change;
  IntervalChart chart;
  chart.id = "change-" + id;
  chart.title = fmt::format("{}: change in flowering stems a hectare, {} to {}", code, change.earlier_year,
                            change.later_year);
  chart.axis = fmt::format("change in flowering stems a hectare, {} to {}, on the same {}",
                           change.earlier_year, change.later_year, season.unit);
  chart.signs = true;
  HtmlTable table = change_table(change,
                                 fmt::format("{}: change on the same {}, {} to {}", code, season.unit,
                                             change.earlier_year, change.later_year),
                                 "Where");
  std::vector<std::pair<std::string, std::string>> cautions;
  std::string message;
  for (const ChangeEstimate& estimate : change.estimates) {
    if (estimate.species != code || !tells_of_change(estimate)) continue;
    table.rows.push_back(change_row(estimate, season.place_name(estimate.where)));
    for (const std::string& caution : estimate.caution) cautions.emplace_back(estimate.where, caution);
    if (estimate.where == "all sites")
      message = fmt::format("{} stems a hectare on {}: {}.", change_in_numbers(estimate),
                            pairs_of(season, estimate.paired.pairs), word(estimate.change));
    if (chart.rows.size() == most_change_rows) continue;
    IntervalMark mark{m2_of_a_hectare * estimate.paired.change, {}, {}, false};
    if (estimate.limits) {
      mark.low = m2_of_a_hectare * estimate.limits->low;
      mark.high = m2_of_a_hectare * estimate.limits->high;
    }
    chart.rows.push_back({season.place_name(estimate.where),
                          change_in_a_chart(estimate),
                          estimate.where == "all sites",
                          mark,
                          {}});
  }
  if (table.rows.empty()) return {};
  chart.message = season.species_name(code) + ": " + message;
  // Paper has the sites' changes in the chart.
  return fmt::format("<div class=\"told\"><h3>{}</h3>\n", xml_escape(season.species_name(code))) +
         html_paragraph(message) + "<figure>" + svg_interval_chart(chart) +
         "</figure></div>\n<div class=\"on-screen\">" + html_table(table) + "</div>\n" +
         notes_by_place(cautions);
}

std::string change_over_all_sites(const SeasonLookup& season) {
  const SeasonChange& change = *season.facts.change;
  HtmlTable table = change_table(change,
                                 fmt::format("All sites together: change on the same {}, {} to {}",
                                             season.unit, change.earlier_year, change.later_year),
                                 "Species");
  for (const ChangeEstimate& estimate : change.estimates)
    if (estimate.where == "all sites" && tells_of_change(estimate))
      table.rows.push_back(change_row(estimate, season.species_name(estimate.species)));
  if (table.rows.empty()) return {};
  return html_table(table) +
         on_paper_note("Densities of both seasons by site", season.out_file("estimates.csv", "estimate"));
}

std::string trend_of_season(const SeasonLookup& season) {
  const SeasonTrend& trend = *season.facts.trend;
  std::string out = "<h3>Trend</h3>\n";
  if (!trend.refused.empty()) out += html_paragraph(trend.refused);
  HtmlTable table;
  table.sorts = true;
  table.columns = {{"Species", false},
                   {"Seasons", true},
                   {"Change a year, %", true},
                   {"Limits, %", true},
                   {"In a word", false}};
  for (const TrendEstimate& one : trend.estimates) {
    if (one.where != "all sites") continue;
    const bool told = one.unanswered.empty() && one.percent && one.percent_limits;
    const double step = told ? step_beside_limits(*one.percent, *one.percent_limits) : 0;
    table.rows.push_back({season.species_name(one.species), grouped(one.seasons),
                          told ? with_sign_in(*one.percent, step) : "–",
                          told ? fmt::format("{} to {}", with_sign_in(one.percent_limits->low, step),
                                             with_sign_in(one.percent_limits->high, step))
                               : "–",
                          one.unanswered.empty() ? word(one.trend) : one.unanswered});
  }
  if (table.rows.empty()) return out;
  table.caption =
      fmt::format("All sites together: trend of flowering stems, {} to {}, with limits of {:.3g} %",
                  trend.years.empty() ? 0 : trend.years.front(), trend.years.empty() ? 0 : trend.years.back(),
                  100 * trend.confidence);
  return out +
         html_paragraph(fmt::format(
             "A trend is of the {} themselves, not weighted by ground. \"No clear trend\" means that the "
             "limits hold zero: there may be one that so few seasons do not show.",
             season.unit)) +
         html_table(table);
}

}  // namespace

std::string change_part(const SeasonLookup& season) {
  const SeasonChange* change = season.facts.change;
  if (change == nullptr)
    return season.any_counted() ? html_paragraph(
                                      "No earlier season with counts is named under [returns] earlier or "
                                      "--against, so nothing is said of change.")
                                : std::string();
  const auto pairs = std::count_if(change->plots.begin(), change->plots.end(),
                                   [](const MatchedPlot& plot) { return plot.matching == Matching::paired; });
  std::string out = html_paragraph(fmt::format(
      "From {} to {}, on {} counted in both at the same place. \"No clear change\" means that the limits "
      "hold zero: there may be a change that so few pairs do not show.{}",
      change->earlier_year, change->later_year, season.units(int(pairs)),
      season.facts.trend != nullptr && season.facts.trend->refused.empty()
          ? ""
          : " Two seasons show a change, not a trend."));
  std::vector<std::string> codes;
  for (const ChangeEstimate& estimate : change->estimates)
    if (std::find(codes.begin(), codes.end(), estimate.species) == codes.end())
      codes.push_back(estimate.species);
  const std::vector<std::string> ids = unique_file_names(codes);
  out += change_over_all_sites(season);
  for (std::size_t i = 0; i < codes.size(); ++i) out += change_of_species(season, codes[i], ids[i]);
  if (const std::vector<std::string> unpaired = unpaired_in_words(*change); !unpaired.empty())
    out += fmt::format("<details><summary>{} without a partner</summary>\n{}</details>\n",
                       season.unit == "plots" ? "Plots" : "Transects", html_list(unpaired, true)) +
           on_paper_note(season.unit == "plots" ? "Plots without a partner" : "Transects without a partner");
  if (season.facts.trend != nullptr) out += trend_of_season(season);
  return out;
}

}  // namespace swardline
