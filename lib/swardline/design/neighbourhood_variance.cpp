#include "swardline/design/neighbourhood_variance.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <utility>

#include "swardline/base/error.hpp"
#include "swardline/geo/plane_vectors.hpp"

namespace swardline {
namespace {

constexpr std::size_t neighbours = 4;  // the unit itself among them

/// For each point the nearest of all, itself first, ties by number. Only points in a strip about it can be
/// near enough, so this grows with n √n.
class NearestOthers {
 public:
  explicit NearestOthers(const std::vector<Point>& points)
      : points_(points), by_x_(points.size()), place_(points.size()) {
    std::iota(by_x_.begin(), by_x_.end(), std::size_t{0});
    std::sort(by_x_.begin(), by_x_.end(), [&](std::size_t a, std::size_t b) {
      return points[a].x != points[b].x ? points[a].x < points[b].x : a < b;
    });
    for (std::size_t i = 0; i < by_x_.size(); ++i) place_[by_x_[i]] = i;
  }

  [[nodiscard]] std::vector<std::size_t> to(std::size_t of) const {
    Found found;
    for (std::size_t i = place_[of] + 1; i < by_x_.size() && take(of, by_x_[i], found); ++i) {
    }
    for (std::size_t i = place_[of]; i > 0 && take(of, by_x_[i - 1], found); --i) {
    }
    std::vector<std::size_t> order = {of};
    for (const auto& [distance, other] : found) order.push_back(other);
    return order;
  }

 private:
  using Found = std::vector<std::pair<double, std::size_t>>;

  /// False once no point farther along the strip can be near enough.
  bool take(std::size_t of, std::size_t other, Found& found) const {
    const double dx = points_[other].x - points_[of].x;
    const bool full = found.size() == neighbours - 1;
    if (full && dx * dx > found.back().first) return false;
    const std::pair<double, std::size_t> one{squared(points_[other], points_[of]), other};
    if (full && one >= found.back()) return true;
    if (full) found.pop_back();
    found.insert(std::upper_bound(found.begin(), found.end(), one), one);
    return true;
  }

  const std::vector<Point>& points_;
  std::vector<std::size_t> by_x_, place_;
};

/// Scales a symmetric matrix with a full diagonal until its rows, and so its columns, sum to one.
void scale_to_one(NeighbourWeights& rows) {
  constexpr int most_rounds = 10'000;
  constexpr double enough = 1e-13;
  std::vector<double> root(rows.size());
  for (int round = 0; round < most_rounds; ++round) {
    double off = 0;
    for (std::size_t i = 0; i < rows.size(); ++i) {
      double sum = 0;
      for (const NeighbourWeight& w : rows[i]) sum += w.weight;
      off = std::max(off, std::abs(sum - 1));
      root[i] = std::sqrt(sum);
    }
    if (off < enough) return;
    for (std::size_t i = 0; i < rows.size(); ++i) {
      for (NeighbourWeight& w : rows[i]) w.weight /= root[i] * root[w.unit];
    }
  }
}

}  // namespace

NeighbourWeights neighbourhood_weights(const std::vector<Point>& points) {
  std::vector<std::map<std::size_t, double>> sums(points.size());
  const NearestOthers nearest(points);
  for (std::size_t i = 0; i < points.size(); ++i) {
    const std::vector<std::size_t> near = nearest.to(i);
    for (std::size_t rank = 0; rank < near.size(); ++rank) {
      const double weight = 1 - double(rank) / neighbours;
      sums[i][near[rank]] += weight;
      sums[near[rank]][i] += weight;
    }
  }
  NeighbourWeights rows(points.size());
  for (std::size_t i = 0; i < rows.size(); ++i) {
    for (const auto& [unit, weight] : sums[i]) rows[i].push_back({unit, weight});
  }
  scale_to_one(rows);
  return rows;
}

double neighbourhood_variance(const NeighbourWeights& weights, const std::vector<double>& z,
                              SmallNeighbourhoods small) {
  if (weights.size() != z.size()) throw Defect("neighbourhoods and counts differ in number");
  double variance = 0;
  for (const std::vector<NeighbourWeight>& row : weights) {
    double mean = 0, squares = 0, of_weights = 0;
    for (const NeighbourWeight& w : row) {
      mean += w.weight * z[w.unit];
      of_weights += w.weight * w.weight;
    }
    for (const NeighbourWeight& w : row) squares += w.weight * (z[w.unit] - mean) * (z[w.unit] - mean);
    if (row.size() < 2) continue;
    variance += small == SmallNeighbourhoods::corrected ? squares / (1 - of_weights) : squares;
  }
  return variance;
}

double nearest_neighbour_variance(const std::vector<Point>& points, const std::vector<double>& z) {
  if (points.size() != z.size()) throw Defect("points and counts differ in number");
  double sum = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    double least = 0, squares = 0;
    int tied = 0;
    for (std::size_t j = 0; j < points.size(); ++j) {
      if (j == i) continue;
      const double distance = squared(points[i], points[j]), difference = z[i] - z[j];
      if (tied > 0 && distance > least) continue;
      if (tied == 0 || distance < least) {
        least = distance;
        squares = 0;
        tied = 0;
      }
      squares += difference * difference;
      ++tied;
    }
    if (tied > 0) sum += squares / tied;
  }
  return sum / 2;
}

}  // namespace swardline
