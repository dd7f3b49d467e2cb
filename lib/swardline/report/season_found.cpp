// What was found.
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

std::string found_message(const SeasonLookup& season, const std::vector<FoundThere>& places) {
  std::string out;
  std::vector<std::string> none;
  const FoundThere* most = nullptr;
  for (const FoundThere& place : places) {
    if (place.where == "all sites") {
      out = nothing_found(*place.density)
                ? fmt::format(
                      "None found on {}; at most {} a hectare can be there unseen ({:.3g} %, "
                      "one-sided).",
                      season.units(place.density->plots),
                      place.density->high ? said_multiple(*place.density->high) : "?",
                      place.density->confidence_percent)
                : fmt::format("{} stems a hectare over all sites ({:.3g} % limits {}).",
                              said_value(*place.density), place.density->confidence_percent,
                              said_limits(*place.density));
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
  std::string out = fmt::format("<div class=\"told\"><h3>{}</h3>\n", xml_escape(season.species_name(code)));
  if (places.empty())
    return out + html_paragraph(fmt::format("No {} was searched for it and counted.", season.one_unit())) +
           "</div>\n";
  IntervalChart chart;
  chart.id = "found-" + id;
  chart.title = fmt::format("{}: flowering stems a hectare by site", code);
  const std::string message = found_message(season, places);
  chart.message = season.species_name(code) + ": " + message;
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
  out += html_paragraph(message) + "<figure>" + svg_interval_chart(chart);
  if (shown.size() == most_chart_rows)
    out += fmt::format("<figcaption>The {} places with most; the table has all {}.</figcaption>",
                       shown.size(), places.size());
  // Paper has the sites in the chart and all of them together in the table above.
  out += "</figure></div>\n<div class=\"on-screen\">" + html_table(found_table(season, code, places)) +
         "</div>\n";
  std::vector<std::pair<std::string, std::string>> notes;
  for (const EstimateNote& note : season.facts.estimates->notes)
    if (note.species == code) notes.emplace_back(note.where, note.text);
  return out + notes_by_place(notes);
}

/// A row a species: what a reader wants who has one look.
HtmlTable all_sites_table(const SeasonLookup& season) {
  HtmlTable table;
  table.caption = fmt::format("All sites together: flowering stems, with limits of {:.3g} %",
                              100 * season.facts.estimates->confidence);
  table.sorts = true;
  table.columns = {{"Species", false}, {season.unit == "plots" ? "Plots" : "Transects", true},
                   {"Occupied", true}, {"Stems a hectare", true},
                   {"Limits", true},   {"Stems in all", true},
                   {"Limits", true}};
  for (const std::string& code : season.facts.estimates->species)
    for (const FoundThere& place : season.found(code))
      if (place.where == "all sites")
        table.rows.push_back({season.species_name(code), grouped(place.density->plots),
                              share_in_a_cell(place.share), in_a_cell(place.density),
                              limits_in_a_cell(place.density), in_a_cell(place.total),
                              limits_in_a_cell(place.total)});
  return table;
}

}  // namespace

std::string found_part(const SeasonLookup& season) {
  if (!season.any_counted())
    return html_paragraph(
        fmt::format("Nothing yet: {} are drawn, and no count that can be used has come back.",
                    season.units(season.all.due)));
  const std::vector<std::string>& codes = season.facts.estimates->species;
  const std::vector<std::string> ids = unique_file_names(codes);
  std::string out = html_paragraph(
      "A bar shows where the truth may well lie; what is known only roughly has a wide one. Zero is a count "
      "like "
      "any other: where none was found, the bar reaches as far as there may still be some.");
  std::vector<std::string> heads;
  for (const EstimateNote& note : season.facts.estimates->notes)
    if (note.species.empty()) heads.push_back(fmt::format("{}: {}.", note.where, note.text));
  out += html_list(heads);
  if (const HtmlTable all = all_sites_table(season); !all.rows.empty())
    out += html_table(all) +
           on_paper_note("Totals by site, and kinds of sites", season.out_file("estimates.csv", "estimate"));
  for (std::size_t i = 0; i < codes.size(); ++i) out += species_found(season, codes[i], ids[i]);
  return out;
}

}  // namespace swardline
