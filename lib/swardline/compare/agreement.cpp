#include "swardline/compare/agreement.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "swardline/base/error.hpp"

namespace swardline {
namespace {

/// For every score of `of`, the weight of `among` below it and half of that at it.
std::vector<double> placements(std::span<const double> of, std::vector<ScoreAndWeight> among) {
  std::sort(among.begin(), among.end());
  std::vector<double> sums(among.size() + 1, 0);
  for (std::size_t i = 0; i < among.size(); ++i) sums[i + 1] = sums[i] + among[i].second;
  std::vector<double> out;
  out.reserve(of.size());
  for (const double score : of) {
    const auto below = std::partition_point(among.begin(), among.end(),
                                            [score](const ScoreAndWeight& a) { return a.first < score; });
    const auto upto = std::partition_point(below, among.end(),
                                           [score](const ScoreAndWeight& a) { return a.first <= score; });
    out.push_back((sums[std::size_t(below - among.begin())] + sums[std::size_t(upto - among.begin())]) / 2);
  }
  return out;
}

std::vector<ScoreAndWeight> equally_weighted(std::span<const double> scores) {
  std::vector<ScoreAndWeight> out;
  out.reserve(scores.size());
  for (const double score : scores) out.emplace_back(score, 1.0);
  return out;
}

// A chance that two of the others both lie on the right side of one, from how it lies among them: the mean
// of p² with ties shared, less the pairs of one with itself. Hanley & McNeil's tables count it so: for two
// draws with replacement p², where p takes ties by thirds: (below² + below·at + at²/3).
double mean_of_both(std::span<const double> of, std::span<const double> among, bool others_below) {
  std::vector<double> sorted(among.begin(), among.end());
  std::sort(sorted.begin(), sorted.end());
  double sum = 0;
  for (const double score : of) {
    const auto range = std::equal_range(sorted.begin(), sorted.end(), score);
    const auto at = double(range.second - range.first);
    const auto right =
        others_below ? double(range.first - sorted.begin()) : double(sorted.end() - range.second);
    sum += right * right + right * at + at * at / 3;
  }
  const auto n = double(among.size());
  return sum / (double(of.size()) * n * n);
}

double hanley_mcneil(double area, double q1, double q2, double occupied, double empty) {
  const double variance =
      (area * (1 - area) + (occupied - 1) * (q1 - area * area) + (empty - 1) * (q2 - area * area)) /
      (occupied * empty);
  return std::sqrt(std::max(0.0, variance));
}

std::vector<double> weighted_mid_ranks(std::span<const double> values, std::span<const double> weights) {
  std::vector<ScoreAndWeight> among;
  among.reserve(values.size());
  for (std::size_t i = 0; i < values.size(); ++i)
    among.emplace_back(values[i], weights.empty() ? 1.0 : weights[i]);
  return placements(values, std::move(among));
}

void settle_index(RatioIndex& index) {
  std::vector<double> score, ratio;
  for (const RatioWindow& window : index.windows)
    if (window.ratio) {
      score.push_back((window.low + window.high) / 2);
      ratio.push_back(*window.ratio);
    }
  index.index = rank_agreement(score, ratio);
}

/// Weights by prefix over rising scores: what lies from `low` to `high`, both ends within.
class Cumulated {
 public:
  explicit Cumulated(std::vector<ScoreAndWeight> values) : values_(std::move(values)) {
    std::sort(values_.begin(), values_.end());
    sums_.reserve(values_.size() + 1);
    sums_.push_back(0);
    for (const auto& [score, weight] : values_) sums_.push_back(sums_.back() + weight);
  }
  [[nodiscard]] double all() const { return sums_.back(); }
  [[nodiscard]] double within(double low, double high) const {
    constexpr double rounding = 1e-9;  // scores are decimals, window ends are sums of them
    const auto from = std::partition_point(
        values_.begin(), values_.end(), [low](const ScoreAndWeight& v) { return v.first < low - rounding; });
    const auto upto = std::partition_point(
        from, values_.end(), [high](const ScoreAndWeight& v) { return v.first <= high + rounding; });
    return sums_[std::size_t(upto - values_.begin())] - sums_[std::size_t(from - values_.begin())];
  }

 private:
  std::vector<ScoreAndWeight> values_;
  std::vector<double> sums_;
};

}  // namespace

std::optional<PairsInOrder> pairs_in_order(std::span<const double> occupied, std::span<const double> empty) {
  if (occupied.empty() || empty.empty()) return std::nullopt;
  const auto n = double(occupied.size()), m = double(empty.size());
  PairsInOrder out;
  for (const double below : placements(occupied, equally_weighted(empty))) out.share += below / (n * m);
  const double a = out.share;
  // Q1: two occupied plots both above one empty plot; Q2: one occupied plot above two empty ones.
  const double q1 = mean_of_both(empty, occupied, false), q2 = mean_of_both(occupied, empty, true);
  out.standard_error = hanley_mcneil(a, q1, q2, n, m);
  out.short_standard_error = hanley_mcneil(a, a / (2 - a), 2 * a * a / (1 + a), n, m);
  return out;
}

std::optional<Estimated> pairs_in_order(std::span<const WeighedScore> plots) {
  std::vector<double> score_of[2];
  std::vector<ScoreAndWeight> weighed[2];
  double weight[2] = {0, 0};
  for (const WeighedScore& plot : plots) {
    const std::size_t k = plot.occupied ? 1 : 0;
    score_of[k].push_back(plot.score);
    weighed[k].emplace_back(plot.score, plot.weight);
    weight[k] += plot.weight;
  }
  if (!(weight[0] > 0) || !(weight[1] > 0)) return std::nullopt;
  const std::vector<double> below = placements(score_of[1], weighed[0]);  // of occupied plots: empty ground
  const std::vector<double> under = placements(score_of[0], weighed[1]);  // of empty plots: occupied ground
  Estimated out;
  for (std::size_t i = 0; i < below.size(); ++i)
    out.value += weighed[1][i].second / weight[1] * below[i] / weight[0];
  std::vector<std::pair<std::size_t, double>> parts;
  std::size_t next[2] = {0, 0};
  for (const WeighedScore& plot : plots) {
    const std::size_t k = plot.occupied ? 1 : 0;
    const std::size_t i = next[k]++;
    const double placement = plot.occupied ? below[i] / weight[0] : 1 - under[i] / weight[1];
    parts.emplace_back(plot.stratum, plot.weight / weight[k] * residual(placement, out.value, 1));
  }
  std::stable_sort(parts.begin(), parts.end(),
                   [](const auto& a, const auto& b) { return a.first < b.first; });
  Satterthwaite variance;
  for (std::size_t from = 0; from < parts.size();) {
    std::vector<double> u;
    std::size_t to = from;
    for (; to < parts.size() && parts[to].first == parts[from].first; ++to) u.push_back(parts[to].second);
    variance.add(variance_of_sum(u), double(u.size()) - 1);
    from = to;
  }
  out.variance = variance.variance();
  out.df = variance.df();
  return out;
}

std::optional<double> rank_agreement(std::span<const double> x, std::span<const double> y,
                                     std::span<const double> weights) {
  if (x.size() != y.size() || (!weights.empty() && weights.size() != x.size()))
    throw Defect("two lists of ranks differ in length");
  if (x.size() < 2) return std::nullopt;
  const std::vector<double> rx = weighted_mid_ranks(x, weights), ry = weighted_mid_ranks(y, weights);
  const auto weight = [&](std::size_t i) { return weights.empty() ? 1.0 : weights[i]; };
  double all = 0, mean_x = 0, mean_y = 0, xx = 0, yy = 0, xy = 0;
  for (std::size_t i = 0; i < rx.size(); ++i) {
    all += weight(i);
    mean_x += weight(i) * rx[i];
    mean_y += weight(i) * ry[i];
  }
  for (std::size_t i = 0; i < rx.size(); ++i) {
    const double dx = rx[i] - mean_x / all, dy = ry[i] - mean_y / all;
    xx += weight(i) * dx * dx;
    yy += weight(i) * dy * dy;
    xy += weight(i) * dx * dy;
  }
  const auto one_value = [](std::span<const double> v) {
    return std::all_of(v.begin(), v.end(), [&](double each) { return each == v.front(); });
  };
  if (one_value(x) || one_value(y) || !(xx > 0) || !(yy > 0)) return std::nullopt;
  return std::clamp(xy / std::sqrt(xx * yy), -1.0, 1.0);
}

LowHigh rank_agreement_limits(double correlation, double n, double confidence) {
  if (!(n > 4)) return {-1, 1};
  if (std::abs(correlation) >= 1) return {correlation, correlation};
  constexpr double many = 1e6;  // degrees of freedom: the normal distribution
  const double reach = student_t(confidence, many) * std::sqrt(1.06 / (n - 3));
  const double z = std::atanh(correlation);
  return {std::tanh(z - reach), std::tanh(z + reach)};
}

double equal_plots(std::span<const double> weights) {
  double sum = 0, squares = 0;
  for (const double w : weights) {
    sum += w;
    squares += w * w;
  }
  return squares > 0 ? sum * sum / squares : 0;
}

RatioIndex ratio_index_in_classes(std::span<const double> occupied, std::span<const double> ground) {
  if (occupied.size() != ground.size()) throw Defect("classes of plots and of ground differ in number");
  const double all_occupied = std::accumulate(occupied.begin(), occupied.end(), 0.0);
  const double all_ground = std::accumulate(ground.begin(), ground.end(), 0.0);
  RatioIndex out;
  if (!(all_occupied > 0) || !(all_ground > 0)) return out;
  for (std::size_t i = 0; i < occupied.size(); ++i) {
    RatioWindow window{double(i), double(i + 1), occupied[i] / all_occupied, ground[i] / all_ground, {}};
    if (window.ground > 0) window.ratio = window.occupied / window.ground;
    out.windows.push_back(window);
  }
  settle_index(out);
  return out;
}

RatioIndex ratio_index(std::vector<ScoreAndWeight> occupied, std::vector<ScoreAndWeight> ground,
                       std::span<const double> centres, double width) {
  const Cumulated plants(std::move(occupied)), land(std::move(ground));
  RatioIndex out;
  if (!(plants.all() > 0) || !(land.all() > 0)) return out;
  for (const double centre : centres) {
    RatioWindow window{centre - width / 2, centre + width / 2, 0, 0, {}};
    window.occupied = plants.within(window.low, window.high) / plants.all();
    window.ground = land.within(window.low, window.high) / land.all();
    if (window.ground > 0) window.ratio = window.occupied / window.ground;
    out.windows.push_back(window);
  }
  settle_index(out);
  return out;
}

std::vector<double> window_centres(double width, double step) {
  std::vector<double> centres;
  const auto last = static_cast<long>(std::floor((1 - width) / step + 1e-9));
  for (long i = 0; i <= last; ++i) centres.push_back(width / 2 + double(i) * step);
  return centres;
}

}  // namespace swardline
