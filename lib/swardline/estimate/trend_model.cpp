#include "swardline/estimate/trend_model.hpp"

#include <Eigen/Dense>
#include <Eigen/SparseCholesky>
#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "swardline/base/error.hpp"

namespace swardline {
namespace {

constexpr double unbounded = std::numeric_limits<double>::infinity();
constexpr double two_pi = 6.283185307179586;

using Sparse = Eigen::SparseMatrix<double>;
using Deviations = std::vector<double>;

/// The model's cross products; the criterion needs nothing else of the data.
class Profile {
 public:
  explicit Profile(const MixedModel& model) {
    const auto n = Eigen::Index(model.y.size()), p = Eigen::Index(model.fixed.size());
    if (n < p + 2)
      throw InputError({}, "there are too few counts for a trend.", "Count more plots, or more seasons.");
    Eigen::MatrixXd with(n, p + 1);
    for (Eigen::Index j = 0; j < p; ++j)
      with.col(j) = Eigen::Map<const Eigen::VectorXd>(model.fixed[std::size_t(j)].data(), n);
    with.col(p) = Eigen::Map<const Eigen::VectorXd>(model.y.data(), n);
    free_ = double(n - p);
    within_ = with.transpose() * with;
    check_columns(p);
    levels(model, n, with);
  }

  [[nodiscard]] std::size_t effects() const { return effects_; }

  /// `sd`: of each effect, beside the residual's. The residual is profiled out.
  double criterion(const Deviations& sd) {
    ++evaluations;
    const double log_det = factorise(sd);
    if (!std::isfinite(log_det)) return unbounded;
    const Eigen::Index p = within_.rows() - 1;
    const Eigen::LLT<Eigen::MatrixXd> fixed(left_.topLeftCorner(p, p));
    if (fixed.info() != Eigen::Success) return unbounded;
    beta_ = fixed.solve(left_.col(p).head(p));
    const double squares = left_(p, p) - beta_.dot(left_.col(p).head(p));
    if (!(squares > 1e-12 * within_(p, p))) return unbounded;
    residual_ = squares / free_;
    const double log_fixed = 2 * fixed.matrixLLT().diagonal().array().log().sum();
    return log_det + log_fixed + free_ * (1 + std::log(two_pi * residual_));
  }

  /// Of the last criterion.
  [[nodiscard]] MixedFit fit(const Deviations& sd) const {
    MixedFit fit;
    const Eigen::Index p = within_.rows() - 1;
    const Eigen::MatrixXd inverse = left_.topLeftCorner(p, p).inverse();
    for (Eigen::Index j = 0; j < p; ++j) {
      fit.fixed.push_back(beta_(j));
      fit.standard_error.push_back(std::sqrt(residual_ * inverse(j, j)));
    }
    fit.residual = residual_;
    for (const double one : sd) fit.variances.push_back(one * one * residual_);
    fit.evaluations = evaluations;
    return fit;
  }

  int evaluations = 0;

 private:
  void check_columns(Eigen::Index p) const {
    const Eigen::FullPivLU<Eigen::MatrixXd> lu(within_.topLeftCorner(p, p));
    if (lu.rank() < p)
      throw InputError({}, "the seasons of a trend cannot be told apart.", "Count in more than one year.");
  }

  void levels(const MixedModel& model, Eigen::Index n, const Eigen::MatrixXd& with) {
    std::vector<Eigen::Triplet<double>> ones;
    Eigen::Index first = 0;
    for (const std::vector<std::int32_t>& level : model.effects) {
      const Eigen::Index many = 1 + *std::max_element(level.begin(), level.end());
      for (Eigen::Index i = 0; i < n; ++i) ones.emplace_back(i, first + level[std::size_t(i)], 1.0);
      for (Eigen::Index k = 0; k < many; ++k) effect_of_.push_back(effects_);
      first += many;
      ++effects_;
    }
    Sparse design(n, first);
    design.setFromTriplets(ones.begin(), ones.end());
    between_ = design.transpose() * design;
    across_ = design.transpose() * with;
    scaled_ = between_;
    if (first > 0) solver_.analyzePattern(scaled_);
  }

  /// Cholesky of Λ'Z'ZΛ + I; leaves in `left_` what X and y are to each other with the effects taken out.
  double factorise(const Deviations& sd) {
    left_ = within_;
    if (effects_ == 0) return 0;
    for (Eigen::Index c = 0; c < between_.outerSize(); ++c) {
      Sparse::InnerIterator to(scaled_, c);
      for (Sparse::InnerIterator from(between_, c); from; ++from, ++to)
        to.valueRef() =
            from.value() * sd[effect_of_[std::size_t(from.row())]] * sd[effect_of_[std::size_t(c)]] +
            (from.row() == c ? 1 : 0);
    }
    solver_.factorize(scaled_);
    if (solver_.info() != Eigen::Success) return unbounded;
    Eigen::MatrixXd right = across_;
    for (Eigen::Index r = 0; r < right.rows(); ++r) right.row(r) *= sd[effect_of_[std::size_t(r)]];
    left_.noalias() -= right.transpose() * solver_.solve(right);
    return solver_.vectorD().array().log().sum();
  }

  double free_ = 0;
  Eigen::MatrixXd within_, across_, left_;  ///< [X y]'[X y], Z'[X y]
  Sparse between_, scaled_;                 ///< Z'Z
  std::vector<std::size_t> effect_of_;
  std::size_t effects_ = 0;
  Eigen::SimplicialLDLT<Sparse, Eigen::Lower, Eigen::AMDOrdering<int>> solver_;
  Eigen::VectorXd beta_;
  double residual_ = 0;
};

/// Nelder & Mead's simplex with their factors. Standard deviations have no sign, so that 0 is no wall.
class Simplex {
 public:
  Simplex(Profile& profile, const Deviations& start, double step) : profile_(profile) {
    corners_.push_back({at(start), start});
    for (std::size_t k = 0; k < start.size(); ++k) {
      Deviations corner = start;
      corner[k] += step;
      corners_.push_back({at(corner), corner});
    }
  }

  /// Until the corners agree. Returns the best.
  Deviations search(int most, bool& settled) {
    const std::size_t last = corners_.size() - 1;
    for (int step = 0; step < most; ++step) {
      std::sort(corners_.begin(), corners_.end(),
                [](const Corner& a, const Corner& b) { return a.value < b.value; });
      if ((settled = together())) break;
      const Deviations centre = centre_of_best();
      const Corner reflected = beyond(centre, -1);
      if (reflected.value < corners_[0].value) {
        const Corner farther = beyond(centre, -2);
        corners_[last] = farther.value < reflected.value ? farther : reflected;
      } else if (reflected.value < corners_[last - 1].value) {
        corners_[last] = reflected;
      } else {
        const Corner nearer = beyond(centre, reflected.value < corners_[last].value ? -0.5 : 0.5);
        if (nearer.value < std::min(reflected.value, corners_[last].value))
          corners_[last] = nearer;
        else
          shrink();
      }
    }
    return corners_[0].at;
  }

 private:
  struct Corner {
    double value = 0;
    Deviations at;
  };

  double at(Deviations& point) {
    for (double& sd : point) sd = std::abs(sd);
    return profile_.criterion(point);
  }
  double at(const Deviations& point) {
    Deviations copy = point;
    return at(copy);
  }

  [[nodiscard]] bool together() const {
    const double values = corners_.back().value - corners_.front().value;
    if (!(values <= 1e-11 * (1 + std::abs(corners_.front().value)))) return false;
    for (std::size_t k = 0; k < corners_[0].at.size(); ++k)
      for (const Corner& corner : corners_)
        if (std::abs(corner.at[k] - corners_[0].at[k]) > 1e-6 * (1 + corners_[0].at[k])) return false;
    return true;
  }

  [[nodiscard]] Deviations centre_of_best() const {
    Deviations centre(corners_[0].at.size());
    for (std::size_t c = 0; c + 1 < corners_.size(); ++c)
      for (std::size_t k = 0; k < centre.size(); ++k)
        centre[k] += corners_[c].at[k] / double(corners_.size() - 1);
    return centre;
  }

  /// From the centre by `factor` of the way to the worst corner.
  Corner beyond(const Deviations& centre, double factor) {
    Corner corner;
    corner.at = centre;
    for (std::size_t k = 0; k < centre.size(); ++k)
      corner.at[k] += factor * (corners_.back().at[k] - centre[k]);
    corner.value = at(corner.at);
    return corner;
  }

  void shrink() {
    for (std::size_t c = 1; c < corners_.size(); ++c) {
      for (std::size_t k = 0; k < corners_[c].at.size(); ++k)
        corners_[c].at[k] = (corners_[c].at[k] + corners_[0].at[k]) / 2;
      corners_[c].value = at(corners_[c].at);
    }
  }

  Profile& profile_;
  std::vector<Corner> corners_;
};

constexpr double gains_nothing = 1e-8;

/// From one start, begun anew where it stops until that gains nothing.
Deviations search_from(Profile& profile, Deviations at, bool& settled) {
  constexpr int most_steps = 2000, most_restarts = 6;
  double best = profile.criterion(at);
  for (int restart = 0; restart < most_restarts; ++restart) {
    const Deviations next = Simplex(profile, at, restart == 0 ? 0.5 : 0.1).search(most_steps, settled);
    const double value = profile.criterion(next);
    const double gain = best - value;
    if (value <= best) {
      best = value;
      at = next;
    }
    if (restart > 0 && gain < gains_nothing) break;
  }
  return at;
}

/// An effect that gains nothing is set to 0.
void drop_idle(Profile& profile, Deviations& at) {
  for (double& sd : at) {
    const double kept = sd, value = profile.criterion(at);
    sd = 0;
    if (!(profile.criterion(at) <= value + gains_nothing)) sd = kept;
  }
}

}  // namespace

double reml_criterion(const MixedModel& model, const std::vector<double>& variance_ratios) {
  Profile profile(model);
  Deviations sd;
  for (const double ratio : variance_ratios) sd.push_back(std::sqrt(ratio));
  return profile.criterion(sd);
}

MixedFit fit_by_reml(const MixedModel& model) {
  Profile profile(model);
  Deviations best(profile.effects(), 0.0);
  bool settled = true;
  if (profile.effects() > 0) {
    double least = unbounded;
    for (const double start : {1.0, 0.2}) {
      bool came_to_rest = false;
      const Deviations found = search_from(profile, Deviations(profile.effects(), start), came_to_rest);
      if (const double value = profile.criterion(found); value < least - gains_nothing) {
        least = value;
        best = found;
        settled = came_to_rest;
      }
    }
    drop_idle(profile, best);
  }
  const double criterion = profile.criterion(best);
  if (!std::isfinite(criterion))
    throw InputError({}, "the counts leave nothing to chance, so a trend cannot be judged.",
                     "Nothing to do where nothing was found; else look at the counts.");
  MixedFit fit = profile.fit(best);
  fit.criterion = criterion;
  fit.settled = settled;
  return fit;
}

}  // namespace swardline
