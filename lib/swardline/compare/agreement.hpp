// How well scores and counts agree, as single numbers. None of them is a chance of finding plants.
#pragma once

#include <optional>
#include <span>
#include <utility>
#include <vector>

#include "swardline/estimate/limits.hpp"
#include "swardline/estimate/stratified.hpp"

namespace swardline {

/// Area under the ROC curve: of all pairs of an occupied and an empty plot, the share in which the occupied
/// one has the higher score; a tie counts half (Hanley & McNeil 1982, Radiology 143:29-36; the Mann-Whitney
/// statistic over n·m). Order of n log n.
struct PairsInOrder {
  double share = 0;
  /// Of simple random plots, their equation 1 with Q1 and Q2 counted over the scores themselves, ties
  /// included.
  double standard_error = 0;
  /// The same with Q1 = A/(2 − A) and Q2 = 2A²/(1 + A), their short form.
  double short_standard_error = 0;
};
/// Nothing where either list is empty.
[[nodiscard]] std::optional<PairsInOrder> pairs_in_order(std::span<const double> occupied,
                                                         std::span<const double> empty);

/// A plot with what it stands for.
struct WeighedScore {
  double score = 0;
  double weight = 1;
  bool occupied = false;
  std::size_t stratum = 0;  ///< any number, the same for plots of one stratum
};

/// The same share of all pairs of occupied and empty ground that the plots stand for. Its variance is that of
/// a sum of each plot's share in it, by stratum (linearised as by Särndal, Swensson & Wretman 1992, ch. 5,
/// from the placements of DeLong, DeLong & Clarke-Pearson 1988, Biometrics 44:837-845), df by Satterthwaite.
[[nodiscard]] std::optional<Estimated> pairs_in_order(std::span<const WeighedScore> plots);

/// Spearman's rank correlation: Pearson's of mid-ranks. With weights, a value's rank is the weight below it
/// and half of that at it, and the correlation is weighted; equal weights give the common figure. Nothing
/// where either list has one value only, or there are fewer than two pairs.
[[nodiscard]] std::optional<double> rank_agreement(std::span<const double> x, std::span<const double> y,
                                                   std::span<const double> weights = {});

/// Limits of a rank correlation from n plots, through Fisher's z with variance 1.06/(n − 3) (Fieller, Hartley
/// & Pearson 1957, Biometrika 44:470-481). n may be broken; −1 to 1 where it is 4 or less.
[[nodiscard]] LowHigh rank_agreement_limits(double correlation, double n, double confidence);

/// The number of equally weighted plots that would tell as much: (Σw)²/Σw² (Kish 1965, Survey
/// Sampling, 11.7).
[[nodiscard]] double equal_plots(std::span<const double> weights);

/// One class or window of scores.
struct RatioWindow {
  double low = 0, high = 0;     ///< scores
  double occupied = 0;          ///< share of all occupied plots (by weight) that lie in it
  double ground = 0;            ///< share of all ground that lies in it
  std::optional<double> ratio;  ///< occupied / ground; none where there is no ground
};

/// Whether plants become more frequent than ground as the score rises, −1 to 1: the rank correlation of a
/// window's ratio with its score. Ties of the ratio have mid-ranks, and windows without ground are left out.
struct RatioIndex {
  std::optional<double> index;
  std::vector<RatioWindow> windows;
};

/// In classes set beforehand (Boyce, Vernier, Nielsen & Schmiegelow 2002, Ecological Modelling 157:281-300):
/// occupied plots and ground by class, each in any unit.
[[nodiscard]] RatioIndex ratio_index_in_classes(std::span<const double> occupied,
                                                std::span<const double> ground);

/// A score with its weight.
using ScoreAndWeight = std::pair<double, double>;

/// In windows of `width` about every centre, both ends within (Hirzel, Le Lay, Helfer, Randin & Guisan 2006,
/// Ecological Modelling 199:142-152: the continuous index).
[[nodiscard]] RatioIndex ratio_index(std::vector<ScoreAndWeight> occupied, std::vector<ScoreAndWeight> ground,
                                     std::span<const double> centres, double width);

/// Centres from width/2 to 1 − width/2 by `step`.
[[nodiscard]] std::vector<double> window_centres(double width, double step);

}  // namespace swardline
