// What was found, and how it changed.
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

constexpr std::size_t most_chart_rows = 40;
constexpr double m2_of_a_hectare = 1e4;

IntervalMark mark_of_row(const EstimateRow& row) { return {row.value, row.low, row.high, row.value == 0}; }

std::string in_a_cell(const EstimateRow* row) { return row == nullptr ? "–" : said_value(*row); }
std::string limits_in_a_cell(const EstimateRow* row) { return row == nullptr ? "–" : said_limits(*row); }

std::string share_in_a_cell(const EstimateRow* row) {
  if (row == nullptr) return "–";
  return row->value == 0 ? "none" : fmt::format("{:.0f} %", 100 * row->value);
}

/// "habitat = glade": in the table only, for its sites are in the chart.
bool kind_of_sites(const FoundThere& place) { return place.where.find(" = ") != std::string::npos; }

// Sites where most was found first, where not all have room.
std::vector<const FoundThere*> for_chart(const std::vector<FoundThere>& places) {
  std::vector<const FoundThere*> shown;
  for (const FoundThere& place : places)
    if (!kind_of_sites(place)) shown.push_back(&place);
  if (shown.size() <= most_chart_rows) return shown;
  std::stable_sort(shown.begin(), shown.end(), [](const FoundThere* a, const FoundThere* b) {
    if ((a->where == "all sites") != (b->where == "all sites")) return a->where == "all sites";
    return a->density->value > b->density->value;
  });
  shown.resize(most_chart_rows);
  return shown;
}

std::string density_words(const FoundThere& place) {
  const EstimateRow& row = *place.density;
  if (nothing_found(row)) return row.high ? "none found; " + said_limits(row) : "none found";
  return fmt::format("{} ({})", said_value(row), said_limits(row));
}

std::string found_message(const SeasonLookup& season, const std::string& code,
                          const std::vector<FoundThere>& places) {
  std::string out;
  std::vector<std::string> none;
  const FoundThere* most = nullptr;
  for (const FoundThere& place : places) {
    if (place.where == "all sites") {
      out = nothing_found(*place.density)
                ? fmt::format(
                      "{}: none found on {}; at most {} a hectare can be there unseen ({:.3g} %, "
                      "one-sided).",
                      season.species_name(code), season.units(place.density->plots),
                      place.density->high ? said_multiple(*place.density->high) : "?",
                      place.density->confidence_percent)
                : fmt::format("{}: {} stems a hectare over all sites ({:.3g} % limits {}).",
                              season.species_name(code), said_value(*place.density),
                              place.density->confidence_percent, said_limits(*place.density));
      continue;
    }
    if (kind_of_sites(place)) continue;
    if (nothing_found(*place.density))
      none.push_back(place.where);
    else if (most == nullptr || place.density->value > most->density->value)
      most = &place;
  }
  if (most != nullptr)
    out +=
        fmt::format(" Most at {}: {} a hectare.", season.place_name(most->where), said_value(*most->density));
  if (!none.empty() && most != nullptr) {
    constexpr std::size_t most_names = 12;
    const std::size_t all = none.size();
    if (all > most_names) none.resize(most_names);
    out += fmt::format(" None found at {}{}.", swardline::in_words(none),
                       all > most_names ? fmt::format(" and {} more", all - most_names) : "");
  }
  return out;
}

HtmlTable found_table(const SeasonLookup& season, const std::string& code,
                      const std::vector<FoundThere>& places) {
  HtmlTable table;
  table.caption = fmt::format("{}: flowering stems, with limits of {:.3g} %", code,
                              100 * season.facts.estimates->confidence);
  table.sorts = true;
  const bool uncertain = std::any_of(places.begin(), places.end(), [](const FoundThere& place) {
    return place.with_not_certain != nullptr;
  });
  table.columns = {{"Where", false},
                   {season.unit == "plots" ? "Plots" : "Transects", true},
                   {"Occupied", true},
                   {"Stems a hectare", true},
                   {"Limits", true}};
  if (uncertain)
    table.columns.insert(table.columns.end(), {{"With those not certain", true}, {"Limits", true}});
  table.columns.insert(table.columns.end(), {{"Stems in all", true}, {"Limits", true}});
  for (const FoundThere& place : places) {
    std::vector<std::string> row = {season.place_name(place.where), grouped(place.density->plots),
                                    share_in_a_cell(place.share), in_a_cell(place.density),
                                    limits_in_a_cell(place.density)};
    if (uncertain)
      row.insert(row.end(), {in_a_cell(place.with_not_certain), limits_in_a_cell(place.with_not_certain)});
    row.insert(row.end(), {in_a_cell(place.total), limits_in_a_cell(place.total)});
    table.rows.push_back(std::move(row));
  }
  return table;
}

std::string species_found(const SeasonLookup& season, const std::string& code, const std::string& id) {
  const std::vector<FoundThere>& places = season.found(code);
  std::string out = fmt::format("<h3>{}</h3>\n", xml_escape(season.species_name(code)));
  if (places.empty()) return out + html_paragraph("No plot was searched for it and counted.");
  IntervalChart chart;
  chart.id = "found-" + id;
  chart.title = fmt::format("{}: flowering stems a hectare by site", code);
  chart.message = found_message(season, code, places);
  chart.axis = "flowering stems a hectare";
  chart.first = "recorded as sure, with limits";
  const std::vector<const FoundThere*> shown = for_chart(places);
  for (const FoundThere* place : shown) {
    IntervalRow row;
    row.label = season.place_name(place->where);
    row.whole = place->where == "all sites";
    row.words = density_words(*place);
    row.first = mark_of_row(*place->density);
    if (place->with_not_certain != nullptr && !nothing_found(*place->with_not_certain)) {
      row.second = mark_of_row(*place->with_not_certain);
      chart.second = "with those not certain";
    }
    chart.rows.push_back(std::move(row));
  }
  out += html_paragraph(chart.message) + "<figure>" + svg_interval_chart(chart);
  if (shown.size() == most_chart_rows)
    out += fmt::format("<figcaption>The {} places with most; the table has all {}.</figcaption>",
                       shown.size(), places.size());
  out += "</figure>\n" + html_table(found_table(season, code, places));
  std::vector<std::string> notes;
  for (const EstimateNote& note : season.facts.estimates->notes)
    if (note.species == code) notes.push_back(fmt::format("{}: {}.", note.where, note.text));
  return out + html_list(notes, true);
}

std::string with_sign_in(double value, double step) {
  const std::string said = in_steps(value, step);
  return value > 0 && said.find_first_of("123456789") != std::string::npos ? "+" + said : said;
}

double change_step(const ChangeEstimate& estimate) {
  const double se = m2_of_a_hectare * estimate.paired.standard_error.value_or(0);
  return se > 0 ? step_of(se) : 1;
}

std::string change_words(const ChangeEstimate& estimate) {
  const double step = change_step(estimate);
  std::string out = with_sign_in(m2_of_a_hectare * estimate.paired.change, step);
  if (estimate.limits)
    out += fmt::format(" ({} to {})", with_sign_in(m2_of_a_hectare * estimate.limits->low, step),
                       with_sign_in(m2_of_a_hectare * estimate.limits->high, step));
  return out;
}

bool tells_of_change(const ChangeEstimate& estimate) {
  return estimate.stratum.empty() && !estimate.with_not_certain && estimate.paired.pairs > 0;
}

std::string change_of_species(const SeasonLookup& season, const std::string& code, const std::string& id) {
  const SeasonChange& change = *season.facts.change;
  IntervalChart chart;
  chart.id = "change-" + id;
  chart.title = fmt::format("{}: change in flowering stems a hectare, {} to {}", code, change.earlier_year,
                            change.later_year);
  chart.axis = fmt::format("change in flowering stems a hectare, {} to {}, on the same plots",
                           change.earlier_year, change.later_year);
  chart.signs = true;
  HtmlTable table;
  table.caption =
      fmt::format("{}: change on the same plots, {} to {}", code, change.earlier_year, change.later_year);
  table.sorts = true;
  table.columns = {{"Where", false},
                   {"Pairs", true},
                   {fmt::format("Stems a hectare, {}", change.earlier_year), true},
                   {fmt::format("{}", change.later_year), true},
                   {"Change, with limits", true},
                   {"In a word", false}};
  std::vector<std::string> cautions;
  for (const ChangeEstimate& estimate : change.estimates) {
    if (estimate.species != code || !tells_of_change(estimate)) continue;
    const double step = change_step(estimate);
    table.rows.push_back({season.place_name(estimate.where), grouped(estimate.paired.pairs),
                          in_steps(m2_of_a_hectare * estimate.paired.then, step),
                          in_steps(m2_of_a_hectare * estimate.paired.now, step), change_words(estimate),
                          word(estimate.change)});
    for (const std::string& caution : estimate.caution)
      cautions.push_back(fmt::format("{}: {}.", estimate.where, caution));
    if (estimate.where == "all sites")
      chart.message = fmt::format(
          "{}: {} stems a hectare on {} of plots: {}.", season.species_name(code), change_words(estimate),
          estimate.paired.pairs == 1 ? std::string("1 pair") : grouped(estimate.paired.pairs) + " pairs",
          word(estimate.change));
    if (chart.rows.size() == most_chart_rows) continue;
    IntervalMark mark{m2_of_a_hectare * estimate.paired.change, {}, {}, false};
    if (estimate.limits) {
      mark.low = m2_of_a_hectare * estimate.limits->low;
      mark.high = m2_of_a_hectare * estimate.limits->high;
    }
    chart.rows.push_back(
        {season.place_name(estimate.where), word(estimate.change), estimate.where == "all sites", mark, {}});
  }
  if (table.rows.empty()) return {};
  return fmt::format("<h3>{}</h3>\n", xml_escape(season.species_name(code))) + html_paragraph(chart.message) +
         "<figure>" + svg_interval_chart(chart) + "</figure>\n" + html_table(table) +
         html_list(cautions, true);
}

std::vector<std::string> ids_of_species(const std::vector<std::string>& codes) {
  return unique_file_names(codes);
}

}  // namespace

std::string found_part(const SeasonLookup& season) {
  if (!season.any_counted())
    return html_paragraph(
        fmt::format("Nothing yet: {} are drawn, and no count that can be used has come back.",
                    season.units(season.all.due)));
  const std::vector<std::string>& codes = season.facts.estimates->species;
  const std::vector<std::string> ids = ids_of_species(codes);
  std::string out = html_paragraph(
      "A bar shows where the truth may well lie; what is known only roughly has a wide one. Zero is a count "
      "like "
      "any other: where none was found, the bar reaches as far as there may still be some.");
  std::vector<std::string> heads;
  for (const EstimateNote& note : season.facts.estimates->notes)
    if (note.species.empty()) heads.push_back(fmt::format("{}: {}.", note.where, note.text));
  out += html_list(heads);
  for (std::size_t i = 0; i < codes.size(); ++i) out += species_found(season, codes[i], ids[i]);
  return out;
}

std::string change_part(const SeasonLookup& season) {
  const SeasonChange* change = season.facts.change;
  if (change == nullptr)
    return season.any_counted() ? html_paragraph(
                                      "No earlier season with counts is named under [returns] earlier or "
                                      "--against, so nothing "
                                      "is said of change.")
                                : std::string();
  const auto pairs = std::count_if(change->plots.begin(), change->plots.end(),
                                   [](const MatchedPlot& plot) { return plot.matching == Matching::paired; });
  std::string out = html_paragraph(fmt::format(
      "From {} to {}, on {} counted in both at the same place. \"No clear change\" means that the limits "
      "hold "
      "zero: there may be a change that so few pairs do not show. Two seasons show a change, not a trend.",
      change->earlier_year, change->later_year, season.units(int(pairs))));
  std::vector<std::string> codes;
  for (const ChangeEstimate& estimate : change->estimates)
    if (std::find(codes.begin(), codes.end(), estimate.species) == codes.end())
      codes.push_back(estimate.species);
  const std::vector<std::string> ids = ids_of_species(codes);
  for (std::size_t i = 0; i < codes.size(); ++i) out += change_of_species(season, codes[i], ids[i]);
  if (const std::vector<std::string> unpaired = unpaired_in_words(*change); !unpaired.empty())
    out += fmt::format("<details><summary>{} without a partner</summary>\n{}</details>\n",
                       season.unit == "plots" ? "Plots" : "Transects", html_list(unpaired, true));
  if (season.facts.trend != nullptr) {
    std::vector<std::string> lines;
    if (!season.facts.trend->refused.empty()) lines.push_back(season.facts.trend->refused);
    for (const TrendEstimate& trend : season.facts.trend->estimates)
      if (trend.where == "all sites")
        lines.push_back(
            fmt::format("{}, {} to {}: {}{}.", season.species_name(trend.species), trend.first_year,
                        trend.last_year, trend.unanswered.empty() ? word(trend.trend) : trend.unanswered,
                        trend.percent && trend.percent_limits && trend.unanswered.empty()
                            ? fmt::format(", {} % a year ({} to {})", with_sign_in(*trend.percent, 1),
                                          with_sign_in(trend.percent_limits->low, 1),
                                          with_sign_in(trend.percent_limits->high, 1))
                            : ""));
    out += "<h3>Trend</h3>\n" + html_list(lines);
  }
  return out;
}

}  // namespace swardline
