// Means, densities and totals from samples by strata, and how uncertain they are.
//
// What every estimate here comes down to is a sum of contributions, one a unit: the total is linear in them,
// and its variance is that of n draws in each stratum. (Cochran 1977, Sampling Techniques, 3rd ed., ch. 5 and
// 6; Särndal, Swensson & Wretman 1992, ch. 5.)
#pragma once

#include <span>
#include <vector>

namespace swardline {

/// A number with its variance; df: degrees of freedom, 0 where there are none.
struct Estimated {
  double value = 0, variance = 0, df = 0;
  [[nodiscard]] double standard_error() const;
};

/// The units (plots, segments, transects) of one stratum.
struct StratumCounts {
  double ground = 0;            ///< what they stand for: m², or the number of units there are
  std::vector<double> counts;   ///< y
  std::vector<double> areas;    ///< a, m² searched; empty: 1 each, for means per unit
  std::vector<double> weights;  ///< in proportion to 1 / chance; empty: equal
  std::vector<double> over;     ///< x of a combined ratio y / x; empty: the areas
  std::vector<char> inside;     ///< whether the unit lies in the domain; empty: all do
  double share_taken = 0;       ///< n / N, for populations of N units; 0 for ground
};

/// Density of one stratum, r = Σwy / Σwa with w = 1 or 1 / chance (Hájek), and the variance of a ratio
/// (1 − f) n/(n − 1) Σw²(y − r a)² / (Σwa)² (Cochran 1977, 6.4); of equal areas that of a mean. df = n − 1.
/// InputError without units or area.
[[nodiscard]] Estimated ratio_of_totals(const StratumCounts& stratum);

struct Stratified {
  double ground = 0;  ///< of the strata, or of the domain as estimated (combined_ratio)
  Estimated density, total;
};

/// Each stratum's own ratio, weighted by its ground: total Σ A r, density Σ A r / Σ A (the separate ratio
/// estimate, Cochran 1977, 6.10). Strata of one unit add no variance: merge them first.
[[nodiscard]] Stratified stratified_ratio(std::span<const StratumCounts> strata);

/// One ratio over all strata, N / M with N = Σ (A/Σwa) Σ w y and M the same of x (the combined ratio, Cochran
/// 1977, 6.11). With `inside` it speaks of a domain: units outside have y = x = 0 and the same weights
/// (5A.14), `ground` is M and `total` N.
[[nodiscard]] Stratified combined_ratio(std::span<const StratumCounts> strata);

/// y − ratio · a; 0 where the two differ in their last digits only (by no more than 1e-12 of them): without
/// spread, rounding must not look like one.
[[nodiscard]] double residual(double y, double ratio, double a);

/// (1 − share taken) n/(n − 1) Σ(u − mean)²: the variance of the sum of n contributions. 0 of fewer than two.
[[nodiscard]] double variance_of_sum(std::span<const double> contributions, double share_taken = 0);

/// Degrees of freedom of a sum of variances (Satterthwaite 1946, Biometrics Bulletin 2:110-114), (ΣV)² / Σ
/// V²/df; parts of variance 0 say nothing. 0 where all are.
class Satterthwaite {
 public:
  void add(double variance, double df);
  [[nodiscard]] double variance() const { return sum_; }
  [[nodiscard]] double df() const { return squares_ > 0 ? sum_ * sum_ / squares_ : 0; }

 private:
  double sum_ = 0, squares_ = 0;
};

}  // namespace swardline
