// Differences on the same plots, and what plots without a partner add to them: the arithmetic alone.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "swardline/estimate/limits.hpp"

namespace swardline {

/// One plot counted in two seasons.
struct PairedCount {
  std::size_t stratum = 0;  ///< 0, 1, 2, …
  bool inside = true;       ///< of the domain; plots outside it still tell of their stratum's size
  double weight = 1;        ///< 1 / chance where chances differ within a stratum
  double stems_then = 0, area_then_m2 = 0;
  double stems_now = 0, area_now_m2 = 0;
};

/// All pairs of a stratum.
struct StratumPairs {
  int pairs = 0;
  double weights = 0;  ///< their sum
};

/// Densities per m² and their difference.
struct PairedChange {
  int pairs = 0;   ///< inside the domain
  int strata = 0;  ///< that they lie in
  int alone = 0;   ///< strata with a single pair: their spread is taken as that of the others
  double then = 0, now = 0;
  double change = 0;
  std::optional<double> standard_error;                        ///< none where no stratum has two pairs
  double degrees_freedom = 0;                                  ///< Satterthwaite's
  double variance_then = 0, variance_now = 0, covariance = 0;  ///< of the densities
};

/// Whether strata lie inside the domain as a whole (then each has its own ratio), or are cut by it.
enum class DomainCut { whole_strata, across_strata };

/// Σ A_h (r₂h − r₁h) / Σ A_h with r_h = Σ stems / Σ area over the pairs of a stratum and A_h its ground,
/// `ground_m2` by stratum: separate ratios of totals, and their variance from the residuals of the difference
/// (Cochran 1977, ch. 6: ratios by stratum and differences of ratios). With equal areas and one stratum it is
/// the paired t test. Where the domain cuts strata, one ratio over all of them, with the variance of domain
/// totals (Cochran 1977, ch. 2 and 5); `all`, by stratum, then stands for pairs outside it that are not
/// listed. Degrees of freedom by Satterthwaite (1946).
[[nodiscard]] PairedChange paired_change(const std::vector<PairedCount>& pairs,
                                         const std::vector<double>& ground_m2,
                                         DomainCut cut = DomainCut::whole_strata,
                                         const std::vector<StratumPairs>& all = {});

/// Limits of now / then: all R with (now − R·then)² ≤ t² var(now − R·then) (Fieller 1954, Journal of the
/// Royal Statistical Society B 16:175-185). They hold 1 exactly where the t limits of the difference hold 0.
/// None where then may be 0 at this confidence: they would have no end.
[[nodiscard]] std::optional<LowHigh> fieller_limits(const PairedChange& change, double confidence);

/// Means of two seasons from plots counted in both and in one of them only.
struct TwoSeasons {
  double sd_then = 0, sd_now = 0;  ///< between plots
  double correlation = 0;          ///< on the same plots
  int matched = 0, only_then = 0, only_now = 0;
  double matched_then = 0, matched_now = 0;  ///< means of the matched plots
  double alone_then = 0, alone_now = 0;      ///< means of the others; not looked at without plots
};
struct TwoSeasonsMeans {
  double then = 0, now = 0, change = 0;
  double variance_then = 0, variance_now = 0, variance_change = 0;
  double variance_matched = 0;  ///< of the change from the matched plots alone; infinite without any
};
/// The linear unbiased estimate of least variance: every mean weighted by its variance, those of the matched
/// plots with their covariance (sampling on two occasions: Cochran 1977, ch. 12; Patterson 1950). With equal
/// spreads and numbers the change's variance is 2 S² (1 − ρ) / (n − u ρ), the later mean's
/// S² (n − u ρ²) / (n² − u² ρ²). None where a season has no plot.
[[nodiscard]] std::optional<TwoSeasonsMeans> two_seasons(const TwoSeasons& of);

}  // namespace swardline
