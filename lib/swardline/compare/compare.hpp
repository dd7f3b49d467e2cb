// What was counted held against what the rules say of the ground: where a rule is wrong, by which factor, and
// what a proposed change would do before it is made. Sheets are never changed here.
//
// Everything speaks of plots that were drawn at random. Known patches must not judge a rule: they were found
// where people looked, often where the rule had sent them.
#pragma once

#include <limits>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/compare/agreement.hpp"
#include "swardline/compare/upper_quantile.hpp"
#include "swardline/estimate/evaluated.hpp"
#include "swardline/grid/layers.hpp"
#include "swardline/habitat/model.hpp"
#include "swardline/habitat/rule.hpp"
#include "swardline/season/season.hpp"

namespace swardline {

inline constexpr double not_known = std::numeric_limits<double>::quiet_NaN();

struct CompareOptions {
  std::vector<std::string> species;  ///< codes; empty: all that are scored and were searched for
  std::vector<Sheet> proposed;       ///< changed sheets, at most one a species
  /// An occupied plot that scores less is a false low; an empty one that scores `high` or more a false high.
  /// None: the middle and the highest of the plan's inner band edges.
  std::optional<double> low, high;
  /// Whole percents of the scores that plots had when they were drawn, by plot and species; where they differ
  /// from those of now, a layer or a sheet has changed since, and the plots are named. Empty: not known.
  std::map<std::string, std::map<std::string, int>> drawn_percent;
  double confidence = 0.90;
  double quantile = 0.90;  ///< of counts, for their upper edge
  int least_plots = 5;     ///< a band with fewer joins its neighbour
  double window = 0.20;    ///< width of the ratio index's windows, in score
  double window_step = 0.01;
};

/// A plot as the land has it, whatever the species.
struct ComparedPlot {
  std::size_t unit = 0;  ///< index into EvaluatedSeason::units
  double fix_distance_m = not_known;
  std::string set_aside;           ///< why nobody can tell which cell it stands in; empty: one can
  std::vector<LayerValue> values;  ///< at its centre, beside Comparison::layers
};

/// What becomes of a plot for one species.
enum class PlotUse {
  compared,
  excluded,     ///< on ground that the rule excludes
  no_score,     ///< a layer that the rule needs has no data
  set_aside,    ///< its position is too uncertain
  not_certain,  ///< only stems recorded as not certain: neither occupied nor empty
};

/// One species at one plot where it was searched for.
struct PlotAndScore {
  std::size_t plot = 0;  ///< index into Comparison::plots
  PlotUse use = PlotUse::compared;
  std::string reason;  ///< of a use other than `compared`, in words
  double stems = 0, not_certain = 0, area_m2 = 0;
  double weight_m2 = 0;  ///< survey area that it stands for, among the plots that are not set aside
  std::size_t stratum = 0;
  std::size_t design = 0;  ///< stratum for variances: strata of one plot are taken together
  double score = not_known;
  std::vector<double> responses;  ///< by factor of the sheet; NaN without data
  std::optional<std::size_t> held_down_by;
  double over_plot = not_known;          ///< mean score of the plot's scored ground
  double over_fix = not_known;           ///< mean score within the fix's accuracy about the fix
  PlotUse use_then = PlotUse::compared;  ///< by the proposed sheet
  double score_then = not_known;
  [[nodiscard]] bool occupied() const { return stems > 0; }
  [[nodiscard]] bool used() const { return use <= PlotUse::no_score; }
  [[nodiscard]] double per_ha() const { return area_m2 > 0 ? stems / area_m2 * 1e4 : 0; }
};

/// Plots of one band, class or range together.
struct ComparedPart {
  std::string what;                         ///< "0.25–0.50", "GL", "12–18 %"
  double from = not_known, to = not_known;  ///< of a band or range
  int plots = 0, occupied = 0;
  double ground_share = 0;      ///< of the ground that the compared plots stand for
  double response = not_known;  ///< of a factor: its mean response here
  double share = not_known;     ///< occupied share, weighted by ground
  std::optional<LowHigh> share_limits;
  double per_ha = not_known;  ///< stems per hectare: ratio of weighted totals
  double standard_error = 0, df = 0;
  std::optional<LowHigh> limits;    ///< of per_ha; where none was found one-sided, each tail's alpha as ever
  std::string limits_kind;          ///< "log-based", "none found", or why there are none
  double upper_per_ha = not_known;  ///< weighted quantile of the plots' densities
};

/// Score bands of the plan, those with few plots joined.
struct ComparedBands {
  std::vector<ComparedPart> parts;  ///< low to high
  std::vector<std::string> joined;  ///< "0.00–0.25 had 3 plots and is joined with 0.25–0.50"
  ComparedPart excluded, no_score;  ///< kept apart from a score of 0
};

/// The counts along one factor beside what the rule says of it.
struct FactorAlong {
  std::size_t factor = 0;  ///< index into Sheet::factors
  std::string layer, unit;
  bool classes = false;
  std::vector<ComparedPart> parts;  ///< ranges of value with about as many plots each, or classes
  std::vector<std::pair<double, double>> response;  ///< of a measure, for drawing: value, response
  std::optional<double> agreement;                  ///< rank correlation of response and density
  LowHigh agreement_limits{-1, 1};
  /// Upper quantile of stems per hectare as a line of the response, 0 to 1.
  std::optional<QuantileLine> upper;
  /// The same as a line of the measure's own value.
  std::optional<QuantileLine> upper_by_value;
  std::string sentence;
};

/// A plot whose counts do not fit its score.
struct Misfit {
  std::size_t plot = 0;  ///< index into SpeciesComparison::plots
  /// Of a false low: the factor that, at its best, raises the score most, and to what.
  std::optional<std::size_t> raised_by;
  double raised_to = not_known;
};

/// Misfits with the same factor to blame for the same reason.
struct MisfitGroup {
  std::vector<Misfit> plots;  ///< false lows: lowest score first; false highs: highest first
  std::optional<std::size_t>
      blamed;         ///< the factor that holds the score down; none where all are at their best
  std::string where;  ///< "GL", "above 46 %"
  double at_best_from = not_known, at_best_to = not_known;  ///< scores with the blamed factor at its best
  int empty_alike = 0;  ///< empty plots on the same class, or within the group's range of the same measure
  int empty_would_rise = 0;  ///< of them, those that would score more with the factor at its best
  std::string sentence;      ///< "3 occupied plots: moisture 1.00 but cover GL 0.30 (score about 0.44)"
  std::string remedy;        ///< "With cover at its best they would score about 0.91; …"
};

struct ProposedEffect {
  int version = 0;     ///< of the proposed sheet
  std::string change;  ///< "cover GL 0.3 to 0.8"
  std::vector<std::string> cautions;
  std::vector<ComparedPart> bands;  ///< with the ranges of the bands now
  std::optional<Estimated> pairs;
  std::optional<double> ratio_index, agreement;
  int occupied_rise = 0, occupied_fall = 0, empty_rise = 0, empty_fall = 0;
  int false_lows = 0, false_highs = 0;  ///< then
  /// Of classes and ranges that change: "3 occupied and 9 empty plots on GL rise, from about 0.44 to about
  /// 0.80".
  std::vector<std::string> sentences;
};

struct SpeciesComparison {
  std::string code, name;
  std::size_t sheet = 0;  ///< index into Season::sheets
  int version = 0;        ///< of the sheet that the plan uses
  double low = 0, high = 0;
  std::vector<PlotAndScore> plots;
  int compared = 0, occupied = 0;  ///< plots
  ComparedBands bands;
  std::optional<Estimated> pairs;           ///< share of pairs in order, design-weighted
  std::optional<PairsInOrder> plain_pairs;  ///< of plots as if each stood for the same
  RatioIndex ratio;
  std::optional<double> agreement;  ///< rank correlation of score and density
  LowHigh agreement_limits{-1, 1};
  std::vector<FactorAlong> factors;
  std::vector<MisfitGroup> false_lows, false_highs;
  std::vector<std::string> indices;  ///< as sentences
  std::vector<std::string> apart;    ///< plots set aside, excluded, without a score: by name
  std::vector<std::string> cautions;
  std::optional<ProposedEffect> effect;
};

struct Comparison {
  std::string season;
  int year = 0;
  double confidence = 0.90, quantile = 0.90, cell_m = 0;
  std::vector<std::string> layers;
  std::vector<ComparedPlot> plots;  ///< evaluated ones
  std::vector<SpeciesComparison> species;
  std::vector<std::string> not_searched;  ///< codes without a plot to compare
  std::vector<std::string> remarks;       ///< that hold for all species
};

/// Holds every scored species' counts against its score. `layers` must hold what the sheets name, proposed
/// ones too; `model` is compiled from the season as it is. Throws InputError for a species that is not there.
[[nodiscard]] Comparison compare_scores(const Season& season, const Layers& layers, const Model& model,
                                        const EvaluatedSeason& counted, const CompareOptions& options);

inline constexpr const char* empty_good_habitat =
    "Empty good habitat is often not an error: there may be no seed source yet.";
inline constexpr const char* no_known_patches =
    "Known patches are not used: they were found where people looked, often where the rule had sent them. "
    "Judge a rule by plots drawn at random.";

/// In words for a terminal.
[[nodiscard]] std::string in_words(const Comparison& comparison, const Season& season,
                                   const EvaluatedSeason& counted);

/// Every number as a row with its method (RFC 4180): bands, indices, factors, effect of a proposed sheet.
[[nodiscard]] std::string compare_csv(const Comparison& comparison);
/// Every plot and species as a row, false lows first.
[[nodiscard]] std::string compare_plots_csv(const Comparison& comparison, const Season& season,
                                            const EvaluatedSeason& counted);

/// "false low", "false high", or what became of the plot: "compared", "set aside: …", "excluded: cover OW".
[[nodiscard]] std::string finding_of(const SpeciesComparison& species, const PlotAndScore& plot);

}  // namespace swardline
