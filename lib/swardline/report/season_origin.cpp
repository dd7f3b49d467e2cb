// Methods with sources, and where all of it comes from.
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "swardline/base/text.hpp"
#include "swardline/report/compare_sections.hpp"
#include "swardline/report/html_table.hpp"
#include "swardline/report/page.hpp"
#include "swardline/report/season_sections.hpp"

namespace swardline {
namespace {

/// Rows that this page shows; a method that several measures share stands once.
HtmlTable estimators_table(const SeasonLookup& season) {
  HtmlTable table;
  table.caption = "How numbers on this page were worked out";
  table.columns = {{"Measure", false}, {"Method", false}, {"Limits", false}, {"Source", false}};
  std::map<std::vector<std::string>, std::vector<std::string>> measures;
  const auto add = [&measures](const EstimateRow& row) {
    std::vector<std::string>& of = measures[{row.estimator, row.limits_kind, row.source}];
    if (std::find(of.begin(), of.end(), row.measure) == of.end()) of.push_back(row.measure);
  };
  for (const std::string& code : season.facts.estimates->species)
    for (const FoundThere& place : season.found(code))
      for (const EstimateRow* row : {place.density, place.total, place.share, place.with_not_certain})
        if (row != nullptr) add(*row);
  if (season.facts.change != nullptr)
    for (const EstimateRow& row : change_rows(*season.facts.change))
      if (row.stratum.empty() && row.measure == "change in stems per ha") add(row);
  if (season.facts.trend != nullptr)
    for (const EstimateRow& row : trend_rows(*season.facts.trend)) add(row);
  for (const auto& [method, of] : measures)
    table.rows.push_back({fmt::format("{}", fmt::join(of, "; ")), method[0], method[1], method[2]});
  std::sort(table.rows.begin(), table.rows.end());
  return table;
}

std::string layer_text(const LayerSpec& layer) {
  return fmt::format("{}{}", layer.source.filename().string(),
                     layer.is_classes()    ? ", classes"
                     : !layer.unit.empty() ? ", " + layer.unit
                                           : "");
}

HtmlTable runs_table(const SeasonLookup& season) {
  HtmlTable table;
  table.caption = "Runs that made the store";
  table.sorts = true;
  table.on_paper = 6;
  table.rest_in = season.store_name();
  table.columns = {
      {"Started (UTC)", false}, {"Command", false}, {"Version", false}, {"Seed", false}, {"Inputs", false}};
  for (const RunOnRecord& run : season.facts.record.runs)
    table.rows.push_back({run.started, run.command, run.version, run.seed, run.inputs});
  return table;
}

HtmlTable files_table(const SeasonLookup& season) {
  HtmlTable table;
  table.caption = "Files that came back, kept as they came";
  table.sorts = true;
  table.on_paper = 8;
  table.rest_in = season.store_name();
  table.columns = {{"File", false}, {"Rows", true}, {"Taken in", false}, {"Fingerprint", false}};
  for (const FileOnRecord& file : season.facts.record.files)
    table.rows.push_back({file.original, grouped(file.rows), file.received, file.fingerprint});
  return table;
}

HtmlTable sheets_table(const Season& season) {
  HtmlTable table;
  table.caption = "Species and the rules they were scored by";
  table.columns = {{"Code", false}, {"Name", false}, {"Sheet version", true}, {"Layers", false}};
  for (const Sheet& sheet : season.sheets) {
    std::vector<std::string> layers;
    for (const Factor& factor : sheet.factors)
      if (std::find(layers.begin(), layers.end(), factor.layer) == layers.end())
        layers.push_back(factor.layer);
    table.rows.push_back({sheet.code, sheet.name + (sheet.common.empty() ? "" : ", " + sheet.common),
                          std::to_string(sheet.version),
                          sheet.scored ? swardline::in_words(layers) : "monitored, not scored"});
  }
  return table;
}

}  // namespace

std::string sources_part(const SeasonLookup& season) {
  std::string out;
  if (!season.draw.methods.empty()) out += "<h3>The draw</h3>\n" + html_list(season.draw.methods);
  if (!season.draw.estimator.empty())
    out += html_paragraph(fmt::format("At the edge of the survey area: {}.", season.draw.estimator)) +
           html_list(season.draw.losses);
  if (season.any_counted()) {
    out += "<h3>The estimates</h3>\n";
    out += html_list(season.facts.counted.notes) + html_table(estimators_table(season));
  }
  if (season.facts.comparison != nullptr) out += "<h3>Counts beside scores</h3>\n" + compare_methods();
  return out;
}

std::string origin_part(const SeasonLookup& season) {
  const SeasonFacts& facts = season.facts;
  const Plan& plan = facts.season.plan;
  std::vector<Term> terms = {{"Season", plan.name},
                             {"Plan", plan.file.filename().string()},
                             {"Seed", std::to_string(plan.seed)},
                             {"Coordinate system", plan.crs}};
  if (!season.draw.inputs.empty())
    terms.push_back({"Inputs of the draw",
                     fmt::format("{}, the fingerprint of {}", season.draw.inputs, season.draw.inputs_of)});
  std::set<std::string> versions;
  for (const RunOnRecord& run : facts.record.runs) versions.insert(run.version);
  if (!versions.empty())
    terms.push_back({"Made with", "swardline " + swardline::in_words({versions.begin(), versions.end()})});
  for (const LayerSpec& layer : plan.layers) terms.push_back({"Layer " + layer.name, layer_text(layer)});
  std::string out =
      html_terms(terms) + html_list(season.draw.record) + html_table(sheets_table(facts.season));
  if (!season.draw.routes.empty())
    out += html_paragraph("Ways from the inputs' coordinate systems to the plan's and to WGS84:") +
           html_list(season.draw.routes);
  if (!facts.record.files.empty()) out += html_table(files_table(season));
  if (!facts.record.runs.empty()) out += html_table(runs_table(season));
  return out;
}

std::string care_of_season_part(const SeasonLookup& season) {
  std::vector<std::string> sensitive;
  for (const Sheet& sheet : season.facts.season.sheets)
    if (sheet.sensitivity != "none") sensitive.push_back(season.species_name(sheet.code));
  std::string out = html_paragraph(
      "Nobody should look for a plot on this page's account: entry needs the landowner's permission, and "
      "local "
      "rules, protected-plant law and licensed practice come before anything written here. Random places can "
      "be "
      "dangerous places; \"unsafe\" and \"not reached\" are honest results.");
  if (!sensitive.empty())
    out +=
        html_paragraph(fmt::format("Of these, exact places must not leave the programme: {}. The page draws "
                                   "where plots lie and what was "
                                   "found there; it holds no coordinates.",
                                   swardline::in_words(sensitive)));
  return out;
}

}  // namespace swardline
