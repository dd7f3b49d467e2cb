// How clumped counts on plots of one size are.
#pragma once

#include <optional>
#include <span>

namespace swardline {

struct Dispersion {
  int plots = 0;
  double mean = 0, variance = 0;
  double ratio = 0;                    ///< variance / mean: 1 at random, more where clumped
  double index = 0;                    ///< (n − 1) variance / mean, chi-squared with n − 1 df at random
  std::optional<double> k_by_moments;  ///< mean² / (variance − mean); none where not above the mean
};

/// Bliss & Fisher 1953, Biometrics 9:176-200. At least two plots and one plant (InputError).
[[nodiscard]] Dispersion dispersion_of(std::span<const double> counts);

/// The negative binomial's k of greatest likelihood for whole counts: Σ A_j/(k + j) = n ln(1 + mean/k) with
/// A_j the number of counts above j (Bliss & Fisher 1953). None where the variance is not above the mean.
[[nodiscard]] std::optional<double> k_by_likelihood(std::span<const double> counts);

}  // namespace swardline
