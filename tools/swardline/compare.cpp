#include "swardline/compare/compare.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>
#include <memory>
#include <tuple>

#include "commands.hpp"
#include "earlier.hpp"
#include "opened.hpp"
#include "output.hpp"
#include "swardline/base/text.hpp"
#include "swardline/compare/map_file.hpp"
#include "swardline/compare/proposal.hpp"
#include "swardline/report/compare_page.hpp"
#include "swardline/store/returned.hpp"

namespace swardline::tool {
namespace {

using ClassScore = std::tuple<std::string, std::string, std::string, double>;
using Corners = std::tuple<std::string, std::string, double, double, double, double>;

struct CompareWords {
  Common common;
  std::vector<std::string> species;
  std::vector<std::filesystem::path> with;
  std::vector<ClassScore> class_scores;
  std::vector<Corners> corners;
  double low = 0, high = 0;
};

Sheet& proposal_for(const Season& season, const std::string& code, std::vector<Sheet>& proposed) {
  const auto is_it = [&code](const Sheet& sheet) { return sheet.code == code; };
  if (const auto there = std::find_if(proposed.begin(), proposed.end(), is_it); there != proposed.end())
    return *there;
  const auto sheet = std::find_if(season.sheets.begin(), season.sheets.end(), is_it);
  if (sheet != season.sheets.end()) return proposed.emplace_back(*sheet);
  std::vector<std::string> codes;
  for (const Sheet& each : season.sheets) codes.push_back(each.code);
  throw InputError({season.plan.file.string(), 0, {}}, fmt::format("has no species '{}'", code),
                   "Known: " + swardline::in_words(codes) + ".");
}

/// Sheets of files, then single numbers on top of them or of the season's own.
std::vector<Sheet> proposals(const CompareWords& words, const Season& season, Flags& flags) {
  std::vector<Sheet> proposed;
  for (const std::filesystem::path& file : words.with) {
    Sheet sheet = read_proposed_sheet(season, file, flags);
    flags.throw_if_stopped();
    if (!words.species.empty() &&
        std::find(words.species.begin(), words.species.end(), sheet.code) == words.species.end())
      throw InputError({file.string(), 0, {}},
                       fmt::format("is a sheet for {}, which --species leaves out", sheet.code),
                       "Name it under --species, or leave --species out.");
    if (std::any_of(proposed.begin(), proposed.end(),
                    [&](const Sheet& other) { return other.code == sheet.code; }))
      throw InputError({file.string(), 0, {}}, fmt::format("is a second sheet for {}", sheet.code),
                       "Give one at a time.");
    proposed.push_back(std::move(sheet));
  }
  for (const auto& [code, layer, class_code, score] : words.class_scores) {
    Sheet& sheet = proposal_for(season, code, proposed);
    sheet = with_class_score(sheet, layer, class_code, score);
  }
  for (const auto& [code, layer, a, b, c, d] : words.corners) {
    Sheet& sheet = proposal_for(season, code, proposed);
    sheet = with_corners(sheet, layer, {a, b, c, d});
  }
  for (Sheet& sheet : proposed) check_proposed_sheet(season, sheet, flags);
  flags.throw_if_stopped();
  return proposed;
}

/// Opens layers that only proposed sheets ask for.
void open_more(Opened& opened, const std::vector<Sheet>& proposed) {
  std::vector<std::string> needed = layers_needed(opened.season);
  const std::size_t before = needed.size();
  for (const Sheet& sheet : proposed)
    for (const std::string& layer : layers_of(sheet))
      if (std::find(needed.begin(), needed.end(), layer) == needed.end()) needed.push_back(layer);
  if (needed.size() == before) return;
  Flags again;  // what was found of the others is said already
  opened.layers = Layers::open(opened.season.plan, opened.crs, needed, again);
  opened.flags = each_once(opened.flags, again);
  opened.flags.throw_if_stopped();
  opened.model = Model::compile(opened.season, opened.layers, opened.flags);
  opened.flags.throw_if_stopped();
}

void add_number(CPLJSONObject& object, const char* name, double value) {
  if (std::isfinite(value)) object.Add(name, value);
}

CPLJSONArray texts(const std::vector<std::string>& lines) {
  CPLJSONArray array;
  for (const std::string& line : lines) array.Add(line);
  return array;
}

CPLJSONObject json_of(const ComparedPart& part) {
  CPLJSONObject object;
  object.Add("what", part.what);
  object.Add("plots", part.plots);
  object.Add("occupied", part.occupied);
  add_number(object, "response", part.response);
  add_number(object, "occupied_share", part.share);
  if (part.share_limits) {
    object.Add("occupied_share_low", part.share_limits->low);
    object.Add("occupied_share_high", part.share_limits->high);
  }
  add_number(object, "stems_per_ha", part.per_ha);
  if (part.plots > 0) object.Add("standard_error", part.standard_error);
  if (part.limits) {
    object.Add("limit_low", part.limits->low);
    object.Add("limit_high", part.limits->high);
  }
  object.Add("limits_kind", part.limits_kind);
  add_number(object, "upper_quantile", part.upper_per_ha);
  return object;
}

CPLJSONArray json_of(const std::vector<ComparedPart>& parts) {
  CPLJSONArray array;
  for (const ComparedPart& part : parts) array.Add(json_of(part));
  return array;
}

CPLJSONArray json_of(const std::vector<MisfitGroup>& groups, const SpeciesComparison& species,
                     const Sheet& sheet, const Comparison& comparison, const EvaluatedSeason& counted) {
  CPLJSONArray array;
  for (const MisfitGroup& group : groups) {
    CPLJSONObject object;
    object.Add("sentence", group.sentence);
    if (group.blamed) object.Add("blamed", sheet.factors[*group.blamed].layer);
    if (!group.where.empty()) object.Add("where", group.where);
    if (!group.remedy.empty()) object.Add("remedy", group.remedy);
    add_number(object, "at_best_from", group.at_best_from);
    add_number(object, "at_best_to", group.at_best_to);
    object.Add("empty_alike", group.empty_alike);
    object.Add("empty_would_rise", group.empty_would_rise);
    CPLJSONArray plots;
    for (const Misfit& one : group.plots) {
      const PlotAndScore& plot = species.plots[one.plot];
      CPLJSONObject row;
      row.Add("plot", counted.units[comparison.plots[plot.plot].unit].name);
      row.Add("stems", plot.stems);
      row.Add("score", plot.score);
      if (one.raised_by) row.Add("raised_by", sheet.factors[*one.raised_by].layer);
      add_number(row, "raised_to", one.raised_to);
      if (species.effect) add_number(row, "score_proposed", plot.score_then);
      plots.Add(row);
    }
    object.Add("plots", plots);
    array.Add(object);
  }
  return array;
}

CPLJSONObject json_of(const ProposedEffect& effect) {
  CPLJSONObject object;
  object.Add("change", effect.change);
  object.Add("version", effect.version);
  object.Add("occupied_rise", effect.occupied_rise);
  object.Add("occupied_fall", effect.occupied_fall);
  object.Add("empty_rise", effect.empty_rise);
  object.Add("empty_fall", effect.empty_fall);
  object.Add("false_lows", effect.false_lows);
  object.Add("false_highs", effect.false_highs);
  if (effect.pairs) object.Add("pairs_in_order", effect.pairs->value);
  if (effect.ratio_index) object.Add("ratio_index", *effect.ratio_index);
  if (effect.agreement) object.Add("rank_agreement", *effect.agreement);
  object.Add("bands", json_of(effect.bands));
  object.Add("sentences", texts(effect.sentences));
  object.Add("cautions", texts(effect.cautions));
  return object;
}

CPLJSONObject json_of(const SpeciesComparison& species, const Sheet& sheet, const Comparison& comparison,
                      const EvaluatedSeason& counted) {
  CPLJSONObject object;
  object.Add("species", species.code);
  object.Add("version", species.version);
  object.Add("plots", species.compared);
  object.Add("occupied", species.occupied);
  object.Add("false_lows", json_of(species.false_lows, species, sheet, comparison, counted));
  object.Add("false_highs", json_of(species.false_highs, species, sheet, comparison, counted));
  object.Add("bands", json_of(species.bands.parts));
  object.Add("joined", texts(species.bands.joined));
  if (species.bands.excluded.plots > 0) object.Add("excluded", json_of(species.bands.excluded));
  if (species.bands.no_score.plots > 0) object.Add("no_score", json_of(species.bands.no_score));
  if (species.pairs) {
    object.Add("pairs_in_order", species.pairs->value);
    object.Add("pairs_in_order_standard_error", species.pairs->standard_error());
  }
  if (species.ratio.index) object.Add("ratio_index", *species.ratio.index);
  if (species.agreement) object.Add("rank_agreement", *species.agreement);
  CPLJSONArray factors;
  for (const FactorAlong& factor : species.factors) {
    CPLJSONObject one;
    one.Add("layer", factor.layer);
    one.Add("sentence", factor.sentence);
    if (factor.agreement) one.Add("rank_agreement", *factor.agreement);
    if (factor.upper) {
      one.Add("upper_at_response_0", factor.upper->at(0));
      one.Add("upper_at_response_1", factor.upper->at(1));
    }
    one.Add("parts", json_of(factor.parts));
    factors.Add(one);
  }
  object.Add("factors", factors);
  object.Add("indices", texts(species.indices));
  object.Add("apart", texts(species.apart));
  object.Add("cautions", texts(species.cautions));
  if (species.effect) object.Add("effect", json_of(*species.effect));
  return object;
}

void write_files(const Common& common, const Opened& opened, const Comparison& comparison,
                 const EvaluatedSeason& counted, CPLJSONObject& json) {
  const std::filesystem::path& out = opened.season.plan.out;
  make_folder(out);
  write_whole(out / "compare.csv", compare_csv(comparison));
  write_whole(out / "compare-plots.csv", compare_plots_csv(comparison, opened.season, counted));
  write_compare_page(comparison, opened.season, counted, out / "compare.html");
  write_compare_map(comparison, opened.season, counted, opened.crs, out / "compare.gpkg");
  CPLJSONArray files;
  std::vector<std::string> names;
  for (const char* name : {"compare.html", "compare.csv", "compare-plots.csv", "compare.gpkg"}) {
    names.push_back((out / name).string());
    files.Add(names.back());
  }
  json.Add("files", files);
  say(common, fmt::format("Page, tables and map: {}.", swardline::in_words(names)));
}

Status run_compare(const CompareWords& words) {
  const Common& common = words.common;
  Opened opened = open_season(common);
  const Plan& plan = opened.season.plan;
  CompareOptions options;
  options.species = words.species;
  options.proposed = proposals(words, opened.season, opened.flags);
  options.confidence = plan.estimate.confidence;
  if (words.low > 0) options.low = words.low;
  if (words.high > 0) options.high = words.high;
  open_more(opened, options.proposed);
  const FolderLock lock(plan.folder);
  const Store store(plan.store);
  store.check_drawn_for(plan, opened.crs);
  for (const Plot& plot : store.read_plots())
    if (plot.kind.empty()) options.drawn_percent[plot.name] = plot.percent;
  const EvaluatedSeason counted = counted_season(common, plan);
  const Comparison comparison = compare_scores(opened.season, opened.layers, opened.model, counted, options);
  say(common, swardline::in_words(comparison, opened.season, counted));
  CPLJSONObject json;
  json.Add("year", comparison.year);
  CPLJSONArray species;
  for (const SpeciesComparison& one : comparison.species)
    species.Add(json_of(one, opened.season.sheets[one.sheet], comparison, counted));
  json.Add("species", species);
  json.Add("remarks", texts(comparison.remarks));
  write_files(common, opened, comparison, counted, json);
  show_findings(common, opened.flags);
  add_findings(json, opened.flags);
  print_json(common, json);
  return Status::done;
}

}  // namespace

std::function<Status()> setup_compare(CLI::App& app) {
  auto words = std::make_shared<CompareWords>();
  add_common(app, words->common);
  app.add_option("--species", words->species, "Only these species, by code");
  app.add_option("--with", words->with,
                 "A changed species sheet to try out, beside the season's own: what every plot would score")
      ->check(CLI::ExistingFile);
  app.add_option("--set-class", words->class_scores,
                 "Try another score for one class: SPECIES LAYER CLASS SCORE, for example PTUB cover GL 0.8");
  app.add_option(
      "--set-corners", words->corners,
      "Try other corners of a trapezoid: SPECIES LAYER A B C D, for example PTUB moisture 16 22 38 46");
  app.add_option(
         "--low", words->low,
         "An occupied plot that scores less is a false low (default: the middle edge of the plan's bands)")
      ->check(CLI::Range(0.01, 1.0));
  app.add_option("--high", words->high,
                 "An empty plot that scores this or more is a false high (default: the highest edge)")
      ->check(CLI::Range(0.01, 1.0));
  add_examples(app, "compare plan.toml --species PTUB", "compare plan.toml --set-class PTUB cover GL 0.8");
  return [words] { return run_compare(*words); };
}

}  // namespace swardline::tool
