// How many plots a question needs, and what a number of plots can answer.
//
// Every function of a confidence, a false-change rate or a power takes it as a share in (0, 1) and
// throws InputError outside, as for a standard deviation, a half width or a change that is not
// positive. Plots come back as real numbers, before rounding up, where a formula gives them so.
#pragma once

#include <optional>

namespace swardline {

// --- a mean, or a density, with stated limits ---

/// Plots so that mean ± half_width holds at this confidence, were the standard deviation known:
/// (z s / B)² (Cochran 1977 §4.6; BLM Technical Reference 1730-1, equation 1).
[[nodiscard]] double plots_for_mean(double sd, double half_width, double confidence);

/// Smallest whole n ≥ 2 with t(n−1) s / √n ≤ half_width: Student's t in place of z, iterated.
[[nodiscard]] int plots_for_mean_by_t(double sd, double half_width, double confidence);

/// What the formula's n must be raised to so that, with the standard deviation estimated from the
/// sample itself, the limits are no wider than asked with the probability `assurance`
/// (Kupper & Hafner 1989, equation 5; the small-sample adjustment of BLM TR 1730-1 has 0.90).
/// A normal population is assumed. n ≥ 1.
[[nodiscard]] int plots_with_assurance(int n, double confidence, double assurance = 0.90);

/// n where only `possible` plots fit the area: n / (1 + n/N) (Cochran 1977 §4.6).
[[nodiscard]] double plots_in_finite_area(double n, double possible);

/// Half width of the limits of a mean of n ≥ 2 plots, t(n−1) s / √n, times √(1 − n/N) where only
/// `possible` plots fit (0: no limit).
[[nodiscard]] double half_width_of_mean(double sd, double n, double confidence, double possible = 0);

// --- a change between two seasons ---

/// Whether the same plots are counted in both seasons. For these sd is that of the differences.
enum class Revisit { same_plots, separate_plots };

struct ChangeTest {
  double false_change = 0.10;  ///< chance of calling a change where there is none, both directions together
  double power = 0.80;         ///< chance of seeing the change where it is there
  bool one_direction = false;  ///< only a loss (or only a gain) matters
};

/// Plots in each season: s²(z_a + z_b)²/d², twice that with separate plots (BLM TR 1730-1,
/// equations 2 and 3).
[[nodiscard]] double plots_for_change(double sd, double change, const ChangeTest& test, Revisit revisit);

/// The same by the t test's own power (non-central t): a little more, and right for few plots.
[[nodiscard]] double plots_for_change_by_t(double sd, double change, const ChangeTest& test, Revisit revisit);

/// Chance that n plots in each season show this change (t test, the change's own direction).
[[nodiscard]] double power_of_change(double sd, double change, double n, const ChangeTest& test,
                                     Revisit revisit);

/// The smallest change that n plots in each season show: plots_for_change solved for it.
[[nodiscard]] double detectable_change(double sd, double n, const ChangeTest& test, Revisit revisit);

/// Standard deviation of differences on the same plots, from that of one season and the
/// correlation between seasons: s √(2 (1 − r)).
[[nodiscard]] double sd_of_differences(double sd, double correlation);

// --- a share of plots: occupied, flowering, browsed ---

/// Plots so that share ± half_width holds: z² p q / d² (Cochran 1977 §4.4).
[[nodiscard]] double plots_for_share(double share, double half_width, double confidence);

/// The same where only `possible` plots fit: n0 / (1 + (n0 − 1)/N) (Cochran 1977 §4.4).
[[nodiscard]] double plots_for_share_in_finite_area(double n0, double possible);

/// Plots in each season, separate ones, to see a share change: (z_a + z_b)²(p1 q1 + p2 q2)/(p2 − p1)².
[[nodiscard]] double plots_for_change_of_share(double before, double after, const ChangeTest& test);

/// The same with the test's own limit from the pooled share, as it is used where there is no change
/// (Fleiss, Levin & Paik 2003 §4.2, from memory): a few plots more.
[[nodiscard]] double plots_for_change_of_share_pooled(double before, double after, const ChangeTest& test);

/// Half width of the limits of a share, z √(p q / n), times √((N − n)/(N − 1)) where only `possible` plots
/// fit (0: no limit) (Cochran 1977 §3.6).
[[nodiscard]] double half_width_of_share(double share, double n, double confidence, double possible = 0);

/// The share after a change toward one half, the direction that needs more plots; none where the change
/// leads out of (0, 1).
[[nodiscard]] std::optional<double> share_after(double before, double change);

/// The smallest change of a share that n separate plots in each season show:
/// plots_for_change_of_share_pooled solved for it, toward one half; none where even the largest is not seen.
[[nodiscard]] std::optional<double> detectable_change_of_share(double before, double n,
                                                               const ChangeTest& test);

/// Plots for at least one find with probability `certainty` where this share of plots holds the
/// plant (McArdle 1990): ln(1 − certainty) / ln(1 − p).
[[nodiscard]] double plots_to_find_one(double share, double certainty);

/// Chance of at least one find in n plots: 1 − (1 − p)^n.
[[nodiscard]] double chance_to_find_one(double share, double n);

// --- counts without a pilot of their own ---

/// Standard deviation of plot counts of this mean by Taylor's (1961) law, variance = a m^b.
[[nodiscard]] double sd_by_taylor(double mean, double a, double b);

}  // namespace swardline
