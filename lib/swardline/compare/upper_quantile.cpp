#include "swardline/compare/upper_quantile.hpp"

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

#include "swardline/base/error.hpp"

namespace swardline {
namespace {

double weight_at(std::span<const double> weights, std::size_t i) { return weights.empty() ? 1 : weights[i]; }

/// The search for one line.
class Turning {
 public:
  Turning(std::span<const double> x, std::span<const double> y, std::span<const double> weights,
          double quantile)
      : x_(x), y_(y), weights_(weights), quantile_(quantile) {
    const auto [low, high] = std::minmax_element(x.begin(), x.end());
    const auto [least, most] = std::minmax_element(y.begin(), y.end());
    width_ = *high - *low;
    height_ = std::max(*most - *least, std::max(std::abs(*least), std::abs(*most)));
    for (std::size_t i = 0; i < x.size(); ++i) all_weight_ += weight_at(weights, i);
  }

  [[nodiscard]] QuantileLine best() {
    const double middle = weighted_quantile(y_, weights_, quantile_);
    const auto first = std::size_t(std::find(y_.begin(), y_.end(), middle) - y_.begin());
    turn_about(first, middle, 0);
    // Every turn lowers the loss, and there are finitely many lines through two points.
    for (;;) {
      const std::optional<std::size_t> pivot = downhill();
      if (!pivot) return line_;
      const QuantileLine before = line_;
      turn_about(*pivot, line_.at_zero, line_.slope);
      if (!(line_.loss < before.loss)) return before;
    }
  }

 private:
  /// The best line through one point: a weighted quantile of the slopes to all others.
  void turn_about(std::size_t pivot, double at_zero, double slope) {
    turns_.clear();
    double downward = 0;
    for (std::size_t i = 0; i < x_.size(); ++i) {
      const double d = x_[i] - x_[pivot];
      if (d == 0) continue;
      turns_.emplace_back((y_[i] - at_zero - slope * x_[i]) / d, i);
      downward += weight_at(weights_, i) * (d > 0 ? quantile_ * d : (quantile_ - 1) * d);
    }
    std::sort(turns_.begin(), turns_.end());
    double climbed = 0;
    for (const auto& [turn, i] : turns_) {
      climbed += weight_at(weights_, i) * std::abs(x_[i] - x_[pivot]);
      if (climbed < downward) continue;
      line_.slope = (y_[i] - y_[pivot]) / (x_[i] - x_[pivot]);
      break;
    }
    line_.at_zero = y_[pivot] - line_.slope * x_[pivot];
    line_.loss = quantile_loss(x_, y_, weights_, quantile_, line_.at_zero, line_.slope);
  }

  /// A point on the line about which a turn lowers the loss most; none where no turn does.
  [[nodiscard]] std::optional<std::size_t> downhill() {
    constexpr double rounding = 1e-11;
    const double close = rounding * (height_ + std::abs(line_.slope) * width_);
    on_line_.clear();
    double push = 0, push_x = 0;  // of the points off the line, about x = 0
    for (std::size_t i = 0; i < x_.size(); ++i) {
      const double residual = y_[i] - line_.at(x_[i]);
      if (std::abs(residual) <= close) {
        on_line_.push_back(i);
        continue;
      }
      const double w = weight_at(weights_, i) * (residual > 0 ? quantile_ : quantile_ - 1);
      push += w;
      push_x += w * x_[i];
    }
    std::sort(on_line_.begin(), on_line_.end(), [this](auto a, auto b) { return x_[a] < x_[b]; });
    double all = 0, all_x = 0;
    for (const std::size_t i : on_line_) {
      all += weight_at(weights_, i);
      all_x += weight_at(weights_, i) * x_[i];
    }
    std::optional<std::size_t> best;
    double steepest = -rounding * all_weight_ * width_;
    double left = 0, left_x = 0;
    for (const std::size_t i : on_line_) {
      const double x0 = x_[i], w = weight_at(weights_, i);
      // Weighted distances of the points on the line to either side of this one (it counts for nothing).
      const double to_left = left * x0 - left_x, to_right = (all_x - left_x) - (all - left) * x0;
      const double pushed = push_x - push * x0;
      const double up = -pushed + quantile_ * to_left + (1 - quantile_) * to_right;
      const double down = pushed + (1 - quantile_) * to_left + quantile_ * to_right;
      if (const double slope = std::min(up, down); slope < steepest) {
        steepest = slope;
        best = i;
      }
      left += w;
      left_x += w * x0;
    }
    return best;
  }

  std::span<const double> x_, y_, weights_;
  double quantile_;
  double width_ = 0, height_ = 0, all_weight_ = 0;
  QuantileLine line_;
  std::vector<std::pair<double, std::size_t>> turns_;
  std::vector<std::size_t> on_line_;
};

}  // namespace

double quantile_loss(std::span<const double> x, std::span<const double> y, std::span<const double> weights,
                     double quantile, double at_zero, double slope) {
  double loss = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double residual = y[i] - at_zero - slope * x[i];
    loss += weight_at(weights, i) * (residual > 0 ? quantile : quantile - 1) * residual;
  }
  return loss;
}

std::optional<QuantileLine> quantile_line(std::span<const double> x, std::span<const double> y,
                                          std::span<const double> weights, double quantile) {
  if (x.size() != y.size() || (!weights.empty() && weights.size() != x.size()))
    throw Defect("points of a line differ in number");
  if (!(quantile > 0 && quantile < 1)) throw InputError({}, "a quantile lies between 0 and 1", "Give 0.9.");
  if (x.empty()) return std::nullopt;
  const auto [low, high] = std::minmax_element(x.begin(), x.end());
  if (!(*low < *high)) return std::nullopt;
  return Turning(x, y, weights, quantile).best();
}

double weighted_quantile(std::span<const double> values, std::span<const double> weights, double quantile) {
  std::vector<std::pair<double, double>> sorted;
  double all = 0;
  for (std::size_t i = 0; i < values.size(); ++i) {
    sorted.emplace_back(values[i], weight_at(weights, i));
    all += sorted.back().second;
  }
  if (sorted.empty()) throw Defect("a quantile of no values was asked for");
  std::sort(sorted.begin(), sorted.end());
  double sum = 0;
  for (const auto& [value, weight] : sorted) {
    sum += weight;
    if (sum >= quantile * all * (1 - 1e-12)) return value;
  }
  return sorted.back().first;
}

}  // namespace swardline
