// Are counts by part, one row a draw, those of the stated chances?
#pragma once

#include <Eigen/Dense>

#include "chi_square.hpp"

namespace swardline {

/// Chance of so large a departure of the mean counts from `expected`. With the covariance between draws,
/// because spread draws vary less than independent ones and a plain chi-square would never notice anything.
/// Where every draw's counts add up to the same, one part must be left out.
inline double wald_probability(const Eigen::MatrixXd& counts, const Eigen::VectorXd& expected) {
  const Eigen::VectorXd mean = counts.colwise().mean();
  const Eigen::MatrixXd centred = counts.rowwise() - mean.transpose();
  const auto draws = double(counts.rows());
  const Eigen::MatrixXd covariance = centred.transpose() * centred / (draws - 1) / draws;
  const Eigen::VectorXd departure = mean - expected;
  return chi_square_upper(departure.dot(covariance.ldlt().solve(departure)), double(counts.cols()));
}

}  // namespace swardline
