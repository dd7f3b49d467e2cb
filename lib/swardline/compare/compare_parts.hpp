// The parts of comparing one species. Private to this folder.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "swardline/compare/compare.hpp"

namespace swardline {

/// All that the parts of a comparison read.
struct CompareInputs {
  const Season& season;
  const Layers& layers;
  const Model& model;
  const EvaluatedSeason& counted;
  const CompareOptions& options;
};

/// Evaluated plots with the layers' values at their centres; those whose position is too uncertain are
/// marked. Scores of a plot's ground and of its fix's circle for every scored species come beside them.
struct PlotsOnGround {
  std::vector<ComparedPlot> plots;
  /// By plot, then Model::species(): means of scored ground, NaN where there is none.
  std::vector<std::vector<double>> over_plot, over_fix;
};
[[nodiscard]] PlotsOnGround plots_on_ground(const CompareInputs& inputs,
                                            const std::vector<std::string>& layer_names);

/// A sheet's score at a plot's centre.
[[nodiscard]] CellScore score_at(const Sheet& sheet, const ComparedPlot& plot,
                                 const std::vector<std::string>& layer_names);
/// The sheet with one factor at its best everywhere: what a place would score.
[[nodiscard]] Sheet with_factor_at_best(const Sheet& sheet, std::size_t factor);

/// Fills weights and strata for variances. Ground of strata without a plot that is used is not spoken of; its
/// strata are named.
[[nodiscard]] std::vector<std::string> weigh_plots(const EvaluatedSeason& counted,
                                                   const std::vector<ComparedPlot>& places,
                                                   std::vector<PlotAndScore>& plots);

/// The plots that `inside` takes, as a domain of all used plots.
using PlotFilter = std::function<bool(const PlotAndScore&)>;
[[nodiscard]] ComparedPart part_of(const std::vector<PlotAndScore>& plots, const PlotFilter& inside,
                                   const Comparison& comparison);
[[nodiscard]] ComparedBands bands_of(const std::vector<PlotAndScore>& plots, const std::vector<double>& edges,
                                     int least_plots, const Comparison& comparison);
/// Plots of `part`'s range by another score than that they have now.
[[nodiscard]] std::vector<ComparedPart> bands_then(const std::vector<PlotAndScore>& plots,
                                                   const std::vector<ComparedPart>& bands,
                                                   const Comparison& comparison);

[[nodiscard]] std::vector<WeighedScore> weighed_scores(const std::vector<PlotAndScore>& plots, bool then);
[[nodiscard]] RatioIndex ratio_of(const std::vector<PlotAndScore>& plots, bool then,
                                  const CompareOptions& options);
[[nodiscard]] std::optional<double> agreement_of(const std::vector<PlotAndScore>& plots, bool then);

[[nodiscard]] std::vector<FactorAlong> along_factors(const Sheet& sheet, const Plan& plan,
                                                     const SpeciesComparison& species,
                                                     const Comparison& comparison);
/// Fills false lows and false highs.
void find_misfits(const Sheet& sheet, const Plan& plan, const Comparison& comparison,
                  SpeciesComparison& species);
void try_proposed(const Sheet& now, const Sheet& then, const CompareOptions& options,
                  const Comparison& comparison, SpeciesComparison& species);
/// Fills the sentences of indices, of plots kept apart, and the cautions.
void say_indices(const Comparison& comparison, SpeciesComparison& species);
void say_apart(const EvaluatedSeason& counted, const Comparison& comparison, SpeciesComparison& species);

// --- numbers in words ---

/// "0.44"
[[nodiscard]] std::string score_text(double score);
/// "−0.13", with a minus sign.
[[nodiscard]] std::string signed_text(double value);
/// "0.44", or "0.31–0.44" where they differ.
[[nodiscard]] std::string score_range(double from, double to);
/// Three figures: "4,290", "0.52"; "0".
[[nodiscard]] std::string figures(double value);
/// "46 %", "312 m", "1.06"
[[nodiscard]] std::string value_text(double value, const std::string& unit);
[[nodiscard]] std::string value_range(double from, double to, const std::string& unit);
[[nodiscard]] std::string unit_of_layer(const Plan& plan, const std::string& layer);
/// "1 plot", "3 plots"
[[nodiscard]] std::string counted_words(int number, const std::string& one);
/// At most `most` names, then "and 12 more".
[[nodiscard]] std::string some_names(const std::vector<std::string>& names, std::size_t most = 12);
/// Percent of confidence: "90".
[[nodiscard]] std::string percent_word(double confidence);

}  // namespace swardline
