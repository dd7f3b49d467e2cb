// Linear models with random effects, fitted by restricted maximum likelihood.
#pragma once

#include <cstdint>
#include <vector>

namespace swardline {

/// y = X β + Σ Z u + e: every random effect groups the observations, its levels independent of one variance,
/// crossed or nested as the groups are.
struct MixedModel {
  std::vector<double> y;
  std::vector<std::vector<double>> fixed;  ///< columns of X, each as long as y
  std::vector<std::vector<std::int32_t>>
      effects;  ///< by random effect: the level of each observation, from 0
};

struct MixedFit {
  std::vector<double> fixed;           ///< β
  std::vector<double> standard_error;  ///< beside it
  std::vector<double> variances;       ///< by random effect; 0 where the data give it no part
  double residual = 0;                 ///< variance of e
  double criterion = 0;                ///< −2 log restricted likelihood, constants included
  int evaluations = 0;
  bool settled = false;  ///< the search came to rest
};

/// −2 log restricted likelihood at these variances of the random effects, each as a ratio to the residual's,
/// with β and the residual's variance at their best (Bates, Mächler, Bolker & Walker 2015, Journal of
/// Statistical Software 67(1), eq. 41-42): one sparse Cholesky of Λ'Z'ZΛ + I, so that cost grows with the
/// observations and the levels, not with their product.
[[nodiscard]] double reml_criterion(const MixedModel& model, const std::vector<double>& variance_ratios);

/// The least criterion, searched by simplex (Nelder & Mead 1965) over ratios of standard deviations from
/// several starts, each begun anew where it stopped until it gains nothing; effects that gain nothing are set
/// to 0. Throws InputError where X has more columns than there are observations less two, or columns that
/// repeat each other, and where the fit is perfect (no residual to judge by).
[[nodiscard]] MixedFit fit_by_reml(const MixedModel& model);

}  // namespace swardline
