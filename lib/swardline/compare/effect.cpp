// What a proposed sheet would do to the scores of all plots, occupied and empty.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "swardline/base/text.hpp"
#include "swardline/compare/compare_parts.hpp"
#include "swardline/compare/proposal.hpp"

namespace swardline {
namespace {

constexpr double least_change = 1e-9;

/// Plots that move alike: from about one score to about another.
struct Move {
  int occupied = 0, empty = 0;
  double now_low = 1, now_high = 0, then_low = 1, then_high = 0;
  void add(const PlotAndScore& plot) {
    ++(plot.occupied() ? occupied : empty);
    now_low = std::min(now_low, plot.score);
    now_high = std::max(now_high, plot.score);
    then_low = std::min(then_low, plot.score_then);
    then_high = std::max(then_high, plot.score_then);
  }
  [[nodiscard]] std::string in_words(const char* moves) const {
    return fmt::format("{} occupied and {} empty {} {}, from about {} to about {}.", grouped(occupied),
                       grouped(empty), occupied + empty == 1 ? "plot" : "plots", moves,
                       score_range(now_low, now_high), score_range(then_low, then_high));
  }
};

void count_moves(const std::vector<PlotAndScore>& plots, double high, ProposedEffect& effect) {
  Move rise, fall;
  int scored_now = 0, scored_then = 0, to_high = 0;
  for (const PlotAndScore& plot : plots) {
    if (!plot.used()) continue;
    if (plot.use == PlotUse::compared && plot.use_then != PlotUse::compared) ++scored_now;
    if (plot.use != PlotUse::compared && plot.use_then == PlotUse::compared) ++scored_then;
    if (plot.use != PlotUse::compared || plot.use_then != PlotUse::compared) continue;
    if (plot.score_then > plot.score + least_change) {
      rise.add(plot);
      to_high += !plot.occupied() && plot.score < high && plot.score_then >= high ? 1 : 0;
    } else if (plot.score_then < plot.score - least_change) {
      fall.add(plot);
    }
  }
  effect.occupied_rise = rise.occupied;
  effect.empty_rise = rise.empty;
  effect.occupied_fall = fall.occupied;
  effect.empty_fall = fall.empty;
  if (rise.occupied + rise.empty > 0) {
    effect.sentences.push_back(rise.in_words(rise.occupied + rise.empty == 1 ? "rises" : "rise"));
    if (to_high > 0)
      effect.sentences.push_back(
          fmt::format("{} of the empty ones would reach {}.", grouped(to_high), score_text(high)));
  }
  if (fall.occupied + fall.empty > 0)
    effect.sentences.push_back(fall.in_words(fall.occupied + fall.empty == 1 ? "falls" : "fall"));
  if (rise.occupied + rise.empty + fall.occupied + fall.empty == 0)
    effect.sentences.emplace_back(
        "No plot would score differently: the sample does not reach the ground that changes.");
  if (scored_then > 0)
    effect.sentences.push_back(fmt::format("{} now excluded or without a score would be scored.",
                                           counted_words(scored_then, "plot")));
  if (scored_now > 0)
    effect.sentences.push_back(fmt::format("{} now scored would be excluded or without a score.",
                                           counted_words(scored_now, "plot")));
}

void say_numbers(const SpeciesComparison& species, ProposedEffect& effect) {
  int lows = 0, highs = 0;
  for (const PlotAndScore& plot : species.plots) {
    if (plot.use != PlotUse::compared) continue;
    lows += plot.occupied() && plot.score < species.low ? 1 : 0;
    highs += !plot.occupied() && plot.score >= species.high ? 1 : 0;
  }
  effect.sentences.push_back(fmt::format("False lows: {} now, {} then. False highs: {} now, {} then.", lows,
                                         effect.false_lows, highs, effect.false_highs));
  if (species.pairs && effect.pairs)
    effect.sentences.push_back(fmt::format(
        "Occupied places would have the higher score {:.0f} times in 100, now {:.0f} (area under the ROC "
        "curve {:.3f}, now {:.3f}).",
        100 * effect.pairs->value, 100 * species.pairs->value, effect.pairs->value, species.pairs->value));
}

void say_version(const Sheet& now, const Sheet& then, ProposedEffect& effect) {
  if (then.version <= now.version)
    effect.cautions.push_back(
        fmt::format("The proposal has version {}, as the plan's sheet has: a changed rule needs a new "
                    "version, a reason and a "
                    "signature before it is used.",
                    then.version));
  else
    effect.cautions.push_back(fmt::format(
        "The proposal is version {}; the plan uses version {} until the new one is signed with its reason.",
        then.version, now.version));
  effect.cautions.push_back(
      fmt::format("Strata, plots and maps of this season cite {} version {} and stay as they are. Nothing "
                  "was written to a "
                  "sheet.",
                  now.code, now.version));
  effect.cautions.emplace_back(
      "A rule changed to fit these counts fits them better than the next ones: judge it by plots counted "
      "later.");
}

}  // namespace

void try_proposed(const Sheet& now, const Sheet& then, const CompareOptions& options,
                  const Comparison& comparison, SpeciesComparison& species) {
  ProposedEffect effect;
  effect.version = then.version;
  effect.change = changes_in_words(now, then);
  for (PlotAndScore& plot : species.plots) {
    plot.use_then = plot.use;
    if (!plot.used()) continue;
    const CellScore cell = score_at(then, comparison.plots[plot.plot], comparison.layers);
    plot.use_then = cell.outcome == Outcome::scored     ? PlotUse::compared
                    : cell.outcome == Outcome::excluded ? PlotUse::excluded
                                                        : PlotUse::no_score;
    plot.score_then = cell.outcome == Outcome::scored ? cell.score : not_known;
    if (plot.use_then != PlotUse::compared) continue;
    effect.false_lows += plot.occupied() && plot.score_then < species.low ? 1 : 0;
    effect.false_highs += !plot.occupied() && plot.score_then >= species.high ? 1 : 0;
  }
  effect.bands = bands_then(species.plots, species.bands.parts, comparison);
  effect.pairs = pairs_in_order(weighed_scores(species.plots, true));
  effect.ratio_index = ratio_of(species.plots, true, options).index;
  effect.agreement = agreement_of(species.plots, true);
  count_moves(species.plots, species.high, effect);
  say_numbers(species, effect);
  say_version(now, then, effect);
  species.effect = std::move(effect);
}

}  // namespace swardline
