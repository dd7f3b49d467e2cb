// Limits of estimates from counts, each with the method it is known by.
//
// Every function of a confidence takes it as a share in (0, 1), of both sides together; `alpha` is the chance
// that is left beyond a one-sided limit. InputError outside.
#pragma once

#include <span>

namespace swardline {

struct LowHigh {
  double low = 0, high = 0;
};

/// Student's t with df degrees of freedom (whole or not) beyond which half of 1 − confidence lies.
[[nodiscard]] double student_t(double confidence, double df);

/// value / C to value · C with C = exp(t √(ln(1 + cv²))), cv = standard error / value: for estimates that are
/// skewed and cannot be below 0 (Burnham, Anderson, White, Brownie & Pollock 1987, Wildlife Society Monograph
/// 5, from memory; t in place of z for few plots). value > 0.
[[nodiscard]] LowHigh log_based_limits(double value, double standard_error, double df, double confidence);

/// value ± t · standard error. The lower one may lie below 0.
[[nodiscard]] LowHigh symmetric_limits(double value, double standard_error, double df, double confidence);

/// Of a share: Wilson's score limits (1927), `with` out of `n`; both may be broken numbers where n is the
/// number of simple random plots that would tell as much.
[[nodiscard]] LowHigh wilson_limits(double with, double n, double confidence);

/// Of a share, exact: Clopper & Pearson 1934, Biometrika 26:404-413.
[[nodiscard]] LowHigh exact_share_limits(int with, int n, double confidence);

/// Of the expectation of a count that is scattered at random, exact: Garwood 1936, Biometrika 28:437-442.
[[nodiscard]] LowHigh poisson_limits(int count, double confidence);

// --- nothing found ---

/// Largest share of plots that may hold the plant when n held none: 1 − alpha^(1/n).
[[nodiscard]] double most_share_if_none(double n, double alpha);

/// Largest density when an area was searched and nothing found, were plants scattered at random:
/// −ln(alpha) / area; for alpha 0.05 that is 3 / area. More where they are clumped.
[[nodiscard]] double most_density_if_none(double area, double alpha);

/// How hard one stratum was searched without a find.
struct SearchedGround {
  double ground = 0;  ///< what the stratum stands for, m²
  double plots = 0;
  double area = 0;  ///< searched, m²
};

/// The same over strata searched unevenly: the largest share of all ground, and the largest total, that would
/// still be missed with chance alpha, wherever it is. One stratum, or plots in proportion to ground: as
/// above. Of the total this is the limit of a weighted sum of Poisson counts that are all 0 (Fay & Feuer
/// 1997).
[[nodiscard]] double most_share_if_none(std::span<const SearchedGround> strata, double alpha);
[[nodiscard]] double most_total_if_none(std::span<const SearchedGround> strata, double alpha);

// --- few plots with plants ---

/// Limits of the expectation of a sum of weights of events that come at random (Fay & Feuer 1997, Statistics
/// in Medicine 16:791-801): gamma limits, the upper as if one more event of the heaviest weight had been
/// seen.
[[nodiscard]] LowHigh weighted_events_limits(std::span<const double> weights, double heaviest,
                                             double confidence);

/// Limits of the mean of clumped counts per area, as multiples of the estimate Σ counts / all area: negative
/// binomial profile likelihood, the shape in proportion to the area, as of clumps scattered at random (White
/// & Bennetts 1996, Ecology 77:2549-2557, for likelihood limits of such counts). `counts` are those above 0
/// with their plots' areas beside them; `all_area` holds the empty plots too. At least two counts.
[[nodiscard]] LowHigh clumped_limits(std::span<const double> counts, std::span<const double> areas,
                                     double all_area, double confidence);

}  // namespace swardline
