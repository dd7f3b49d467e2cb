#include "swardline/compare/compare.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/compare/compare_parts.hpp"

namespace swardline {
namespace {

std::vector<std::string> layers_of_all(const CompareInputs& inputs) {
  std::vector<std::string> names;
  const auto add = [&names](const Sheet& sheet) {
    for (const std::string& layer : layers_of(sheet))
      if (std::find(names.begin(), names.end(), layer) == names.end()) names.push_back(layer);
  };
  for (const Sheet& sheet : inputs.season.sheets)
    if (sheet.scored) add(sheet);
  for (const Sheet& sheet : inputs.options.proposed) add(sheet);
  return names;
}

std::size_t index_of(const std::vector<std::string>& list, const std::string& text) {
  return std::size_t(std::find(list.begin(), list.end(), text) - list.begin());
}

std::size_t model_index(const Model& model, const std::string& code) {
  std::size_t i = 0;
  while (i < model.species().size() && model.species()[i].code != code) ++i;
  return i;
}

PlotUse use_of(const CellScore& cell) {
  if (cell.outcome == Outcome::excluded) return PlotUse::excluded;
  return cell.outcome == Outcome::scored ? PlotUse::compared : PlotUse::no_score;
}

PlotAndScore scored_plot(const Sheet& sheet, const Comparison& comparison, std::size_t p,
                         const UnitCount& count) {
  const ComparedPlot& place = comparison.plots[p];
  PlotAndScore plot;
  plot.plot = p;
  plot.stems = count.sure;
  plot.not_certain = count.not_certain;
  plot.area_m2 = count.area_m2;
  const CellScore cell = score_at(sheet, place, comparison.layers);
  plot.responses.assign(sheet.factors.size(), not_known);
  for (const FactorOutcome& factor : cell.factors) plot.responses[factor.factor] = factor.response;
  plot.use = use_of(cell);
  plot.reason = cell.reason;
  if (cell.outcome == Outcome::scored) {
    plot.score = cell.score;
    plot.held_down_by = cell.held_down_by;
  }
  if (!place.set_aside.empty()) {
    plot.use = PlotUse::set_aside;
    plot.reason = place.set_aside;
  } else if (count.sure <= 0 && count.not_certain > 0) {
    plot.use = PlotUse::not_certain;
    plot.reason = fmt::format("only stems recorded as not certain ({}), so neither occupied nor empty",
                              figures(count.not_certain));
  }
  plot.use_then = plot.use;
  return plot;
}

void add_plots(const CompareInputs& inputs, const PlotsOnGround& ground, const Sheet& sheet,
               const Comparison& comparison, SpeciesComparison& species) {
  const std::size_t column = index_of(inputs.counted.species, sheet.code);
  if (column == inputs.counted.species.size()) return;
  const std::size_t in_model = model_index(inputs.model, sheet.code);
  for (std::size_t p = 0; p < comparison.plots.size(); ++p) {
    const EvaluatedUnit& unit = inputs.counted.units[comparison.plots[p].unit];
    if (column >= unit.counts.size() || !unit.counts[column].searched || !(unit.counts[column].area_m2 > 0))
      continue;
    PlotAndScore plot = scored_plot(sheet, comparison, p, unit.counts[column]);
    if (in_model < inputs.model.species().size()) {
      plot.over_plot = ground.over_plot[p][in_model];
      plot.over_fix = ground.over_fix[p][in_model];
    }
    species.plots.push_back(std::move(plot));
  }
}

const Sheet* proposed_for(const CompareOptions& options, const std::string& code) {
  for (const Sheet& sheet : options.proposed)
    if (sheet.code == code) return &sheet;
  return nullptr;
}

void set_bounds(const Plan& plan, const CompareOptions& options, SpeciesComparison& species) {
  const std::vector<double>& edges = plan.strata.bands;
  species.low = options.low.value_or(edges.empty() ? 0.5 : edges[(edges.size() - 1) / 2]);
  species.high = options.high.value_or(edges.empty() ? 0.75 : edges.back());
  if (!(species.low > 0 && species.low <= species.high && species.high <= 1))
    throw InputError({},
                     fmt::format("a false low below {} and a false high from {} do not go together",
                                 shortest(species.low), shortest(species.high)),
                     "Give a low that is above 0 and not above the high, for example --low 0.5 --high 0.75.");
}

/// Plots that score otherwise than when they were drawn. Scores along lines are means, not those of a cell.
void say_changed(const CompareInputs& inputs, const Comparison& comparison, SpeciesComparison& species) {
  std::vector<std::string> changed;
  for (const PlotAndScore& plot : species.plots) {
    const EvaluatedUnit& unit = inputs.counted.units[comparison.plots[plot.plot].unit];
    const auto drawn = inputs.options.drawn_percent.find(unit.name);
    if (drawn == inputs.options.drawn_percent.end() || drawn->second.empty()) continue;
    const auto then = drawn->second.find(species.code);
    const bool scored_then = then != drawn->second.end(), scored_now = !std::isnan(plot.score);
    if (scored_then == scored_now && (!scored_now || std::abs(then->second - percent(plot.score)) <= 1))
      continue;
    changed.push_back(fmt::format("{} {} then, {} now", unit.name,
                                  score_text(scored_then ? then->second / 100.0 : not_known),
                                  score_text(plot.score)));
  }
  if (changed.empty()) return;
  species.cautions.push_back(
      fmt::format("{} otherwise than when drawn: a layer or the sheet has changed since. They are judged by "
                  "the scores of now. {}.",
                  changed.size() == 1 ? "1 plot scores" : fmt::format("{} plots score", changed.size()),
                  some_names(changed, 5)));
}

SpeciesComparison compare_species(const CompareInputs& inputs, const PlotsOnGround& ground, std::size_t s,
                                  const Comparison& comparison) {
  const Sheet& sheet = inputs.season.sheets[s];
  SpeciesComparison species;
  species.code = sheet.code;
  species.name = sheet.name;
  species.sheet = s;
  species.version = sheet.version;
  set_bounds(inputs.season.plan, inputs.options, species);
  add_plots(inputs, ground, sheet, comparison, species);
  if (species.plots.empty()) return species;
  const std::vector<std::string> without = weigh_plots(inputs.counted, comparison.plots, species.plots);
  if (!without.empty())
    species.cautions.push_back(fmt::format("No plot left in {}: what follows does not speak of {}.",
                                           some_names(without, 4), without.size() == 1 ? "it" : "them"));
  for (const PlotAndScore& plot : species.plots) {
    if (plot.use != PlotUse::compared) continue;
    ++species.compared;
    species.occupied += plot.occupied() ? 1 : 0;
  }
  species.bands =
      bands_of(species.plots, inputs.season.plan.strata.bands, inputs.options.least_plots, comparison);
  const std::vector<WeighedScore> weighed = weighed_scores(species.plots, false);
  species.pairs = pairs_in_order(weighed);
  std::vector<double> occupied, empty, weights;
  for (const WeighedScore& plot : weighed) {
    (plot.occupied ? occupied : empty).push_back(plot.score);
    weights.push_back(plot.weight);
  }
  species.plain_pairs = pairs_in_order(occupied, empty);
  species.ratio = ratio_of(species.plots, false, inputs.options);
  species.agreement = agreement_of(species.plots, false);
  if (species.agreement)
    species.agreement_limits =
        rank_agreement_limits(*species.agreement, equal_plots(weights), comparison.confidence);
  species.factors = along_factors(sheet, inputs.season.plan, species, comparison);
  if (const Sheet* then = proposed_for(inputs.options, sheet.code))
    try_proposed(sheet, *then, inputs.options, comparison, species);
  find_misfits(sheet, inputs.season.plan, comparison, species);
  if (inputs.counted.unit == SampleUnit::plot) say_changed(inputs, comparison, species);
  say_indices(comparison, species);
  say_apart(inputs.counted, comparison, species);
  return species;
}

void check_codes(const CompareInputs& inputs) {
  std::vector<std::string> scored;
  for (const Sheet& sheet : inputs.season.sheets)
    if (sheet.scored) scored.push_back(sheet.code);
  for (const std::string& code : inputs.options.species)
    if (std::find(scored.begin(), scored.end(), code) == scored.end())
      throw InputError({inputs.season.plan.file.string(), 0, {}},
                       fmt::format("has no scored species '{}'", code),
                       scored.empty() ? "No sheet has factors." : "Scored are " + in_words(scored) + ".");
}

void add_remarks(const CompareInputs& inputs, Comparison& comparison) {
  comparison.remarks.emplace_back(no_known_patches);
  int waiting = 0;
  for (const EvaluatedUnit& unit : inputs.counted.units) waiting += unit.in_use && !unit.evaluated ? 1 : 0;
  if (waiting > 0)
    comparison.remarks.push_back(fmt::format(
        "{} in use {} not counted (mown, not reached, no return) and {} no part in this.",
        counted_words(waiting, "plot"), waiting == 1 ? "was" : "were", waiting == 1 ? "has" : "have"));
  if (inputs.counted.unit == SampleUnit::transect)
    comparison.remarks.emplace_back(
        "The unit is a transect: its score is that of the cell where it starts, and a long one crosses "
        "others.");
  if (std::any_of(inputs.counted.strata.begin(), inputs.counted.strata.end(),
                  [](const EvaluatedStratum& stratum) { return stratum.kind == "line"; }))
    comparison.remarks.emplace_back(
        "Segments of verges are scored at the cell of their pin; a verge is often narrower than a cell.");
  if (!comparison.not_searched.empty())
    comparison.remarks.push_back(fmt::format("Not searched for on any plot that can be compared: {}.",
                                             in_words(comparison.not_searched)));
}

}  // namespace

Comparison compare_scores(const Season& season, const Layers& layers, const Model& model,
                          const EvaluatedSeason& counted, const CompareOptions& options) {
  const CompareInputs inputs{season, layers, model, counted, options};
  check_codes(inputs);
  Comparison comparison;
  comparison.season = counted.season.empty() ? season.plan.name : counted.season;
  comparison.year = counted.year;
  comparison.confidence = options.confidence;
  comparison.quantile = options.quantile;
  comparison.cell_m = layers.grid().cell_m;
  comparison.layers = layers_of_all(inputs);
  PlotsOnGround ground = plots_on_ground(inputs, comparison.layers);
  comparison.plots = std::move(ground.plots);
  for (std::size_t s = 0; s < season.sheets.size(); ++s) {
    const Sheet& sheet = season.sheets[s];
    const bool wanted = options.species.empty() || std::find(options.species.begin(), options.species.end(),
                                                             sheet.code) != options.species.end();
    if (!sheet.scored || !wanted) continue;
    SpeciesComparison species = compare_species(inputs, ground, s, comparison);
    if (species.plots.empty())
      comparison.not_searched.push_back(sheet.code);
    else
      comparison.species.push_back(std::move(species));
  }
  add_remarks(inputs, comparison);
  return comparison;
}

}  // namespace swardline
