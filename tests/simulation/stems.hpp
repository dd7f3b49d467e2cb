// Stems of known number on a site, and counting them on round plots.
#pragma once

#include <cmath>
#include <functional>
#include <numbers>
#include <vector>

#include "swardline/base/random.hpp"
#include "swardline/geo/geometry.hpp"

namespace swardline {

/// Poisson stems: whole squares of 0.1 m hold one with chance density / 100.
inline std::vector<Point> poisson_stems(const Geometry& area, const RandomKey& key,
                                        const std::function<double(Point)>& density) {
  const PreparedArea inside(area);
  RandomStream random(key);
  std::vector<Point> stems;
  const Box box = area.box();
  for (double x = box.x0; x < box.x1; x += 0.1) {
    for (double y = box.y0; y < box.y1; y += 0.1) {
      const double u = random.uniform();
      if (u >= 0.02) continue;  // no density here is above 2
      const Point at{x + 0.1 * random.uniform(), y + 0.1 * random.uniform()};
      if (u < density(at) / 100 && inside.contains(at)) stems.push_back(at);
    }
  }
  return stems;
}

inline int poisson_number(double mean, RandomStream& random) {
  const double limit = std::exp(-mean);
  int count = -1;
  for (double product = 1; product > limit; product *= random.uniform()) ++count;
  return count;
}

/// Clusters: parents at random (also outside the site), offspring about them with Gaussian spread.
inline std::vector<Point> clustered_stems(const Geometry& area, const RandomKey& key, double m2_per_parent,
                                          double offspring, double spread_m) {
  const PreparedArea inside(area);
  RandomStream random(key);
  const Box box = area.box();
  const double rim = 5 * spread_m, width = box.x1 - box.x0 + 2 * rim, height = box.y1 - box.y0 + 2 * rim;
  std::vector<Point> stems;
  for (int left = poisson_number(width * height / m2_per_parent, random); left > 0; --left) {
    const Point parent{box.x0 - rim + width * random.uniform(), box.y0 - rim + height * random.uniform()};
    for (int more = poisson_number(offspring, random); more > 0; --more) {
      const double r = spread_m * std::sqrt(-2 * std::log(1 - random.uniform())),
                   turn = 2 * std::numbers::pi * random.uniform();
      const Point at{parent.x + r * std::cos(turn), parent.y + r * std::sin(turn)};
      if (inside.contains(at)) stems.push_back(at);
    }
  }
  return stems;
}

/// Stems by squares of 5 m, to count them on round plots of up to that radius.
class Stems {
 public:
  static constexpr double plot_m2 = 20;

  Stems(const Geometry& area, const std::vector<Point>& stems)
      : inside_(area), corner_{area.box().x0, area.box().y0}, total_(double(stems.size())) {
    columns_ = number(area.box().x1 - corner_.x) + 1;
    rows_ = number(area.box().y1 - corner_.y) + 1;
    squares_.resize(std::size_t(columns_ * rows_));
    for (const Point& stem : stems) {
      squares_[std::size_t(number(stem.y - corner_.y) * columns_ + number(stem.x - corner_.x))].push_back(
          stem);
    }
  }
  [[nodiscard]] double total() const { return total_; }

  /// On a round plot of 20 m²; beyond half the way to the edge twice (Ducey, Gove & Valentine 2004).
  [[nodiscard]] double count(Point pin) const {
    const double radius2 = plot_m2 / std::numbers::pi;
    const int col = number(pin.x - corner_.x), row = number(pin.y - corner_.y);
    double y = 0;
    for (int r = std::max(0, row - 1); r <= std::min(rows_ - 1, row + 1); ++r) {
      for (int c = std::max(0, col - 1); c <= std::min(columns_ - 1, col + 1); ++c) {
        for (const Point& stem : squares_[std::size_t(r * columns_ + c)]) {
          const double dx = stem.x - pin.x, dy = stem.y - pin.y;
          if (dx * dx + dy * dy > radius2) continue;
          y += inside_.contains({2 * stem.x - pin.x, 2 * stem.y - pin.y}) ? 1 : 2;
        }
      }
    }
    return y;
  }

 private:
  static int number(double metres) { return int(std::floor(metres / 5)); }
  PreparedArea inside_;
  Point corner_;
  double total_;
  int columns_ = 0, rows_ = 0;
  std::vector<std::vector<Point>> squares_;
};

/// Mean and its standard error.
struct Mean {
  double sum = 0, squares = 0, number = 0;
  void add(double value) {
    sum += value;
    squares += value * value;
    number += 1;
  }
  [[nodiscard]] double mean() const { return sum / number; }
  [[nodiscard]] double variance() const { return (squares - sum * sum / number) / (number - 1); }
  [[nodiscard]] double error() const { return std::sqrt(variance() / number); }
};

}  // namespace swardline
