#include <algorithm>
#include <chrono>
#include <cmath>
#include <functional>
#include <numeric>

#include "bench.hpp"
#include "swardline/base/random.hpp"
#include "swardline/design/drawing.hpp"
#include "swardline/design/pivotal.hpp"

namespace swardline::bench {
namespace {

std::vector<Point> candidates(std::size_t count, std::uint64_t seed) {
  RandomStream random(RandomKey(seed, "bench candidates"));
  std::vector<Point> points(count);
  for (Point& point : points) point = {10000 * random.uniform(), 10000 * random.uniform()};
  return points;
}

/// The local pivotal method 2 of Grafström, Lundström & Schelin 2012 as its paper tells it: the nearest
/// undecided neighbour is found by looking at every one.
std::vector<std::size_t> plain_sample(const std::vector<Point>& points, std::size_t keep,
                                      const RandomKey& key) {
  RandomStream random(key);
  const std::size_t size = points.size();
  std::vector<std::uint64_t> chance(size, keep);
  std::vector<std::size_t> undecided(size);
  std::iota(undecided.begin(), undecided.end(), std::size_t(0));
  while (undecided.size() > 1) {
    const std::size_t a = undecided[random.below(undecided.size())];
    std::size_t b = a;
    double nearest = HUGE_VAL;
    for (const std::size_t other : undecided) {
      const double dx = points[other].x - points[a].x, dy = points[other].y - points[a].y;
      const double squared = dx * dx + dy * dy;
      if (other != a && squared < nearest) {
        nearest = squared;
        b = other;
      }
    }
    pivotal_step(chance[a], chance[b], size, random);
    std::erase_if(undecided, [&](std::size_t i) { return chance[i] == 0 || chance[i] == size; });
  }
  std::vector<std::size_t> taken;
  for (std::size_t i = 0; i < size; ++i)
    if (chance[i] == size) taken.push_back(i);
  return taken;
}

double seconds(const std::function<void()>& work) {
  const auto start = std::chrono::steady_clock::now();
  work();
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

double median(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

double mean(const std::vector<double>& values) {
  return std::accumulate(values.begin(), values.end(), 0.0) / double(values.size());
}

double squared_error(const std::vector<double>& values) {
  const double middle = mean(values);
  double sum = 0;
  for (const double value : values) sum += (value - middle) * (value - middle);
  return sum / double(values.size() - 1) / double(values.size());
}

/// Largest difference between the two empirical distribution functions.
double kolmogorov(std::vector<double> a, std::vector<double> b) {
  std::sort(a.begin(), a.end());
  std::sort(b.begin(), b.end());
  double largest = 0;
  for (const std::vector<double>* values : {&a, &b}) {
    for (const double value : *values) {
      const auto below = [value](const std::vector<double>& all) {
        return double(std::upper_bound(all.begin(), all.end(), value) - all.begin()) / double(all.size());
      };
      largest = std::max(largest, std::abs(below(a) - below(b)));
    }
  }
  return largest;
}

}  // namespace

Thinning time_thinning(int repeats, int draws) {
  Thinning result;
  const std::vector<Point> few = candidates(20000, 1), many = candidates(200000, 2);
  std::vector<double> few_s, many_s, plain_s;
  for (int i = 0; i < repeats; ++i) {
    const RandomKey key(std::uint64_t(i), "bench thinning");
    few_s.push_back(seconds([&] { (void)pivotal_sample(few, 1000, key); }));
    many_s.push_back(seconds([&] { (void)pivotal_sample(many, 10000, key); }));
    plain_s.push_back(seconds([&] { (void)plain_sample(few, 1000, key); }));
  }
  result.seconds_20k = median(few_s);
  result.seconds_200k = median(many_s);
  result.plain_seconds_20k = median(plain_s);

  result.draws = draws;
  const std::vector<Point> compared = candidates(20000, 3);
  std::vector<double> ours, plain;
  for (int i = 0; i < draws; ++i) {
    const auto seed = std::uint64_t(i);
    ours.push_back(balance_index(compared, pivotal_sample(compared, 1000, RandomKey(seed, "bench ours"))));
    plain.push_back(balance_index(compared, plain_sample(compared, 1000, RandomKey(seed, "bench plain"))));
  }
  result.balance = mean(ours);
  result.balance_plain = mean(plain);
  result.difference_in_errors =
      (result.balance - result.balance_plain) / std::sqrt(squared_error(ours) + squared_error(plain));
  result.kolmogorov = kolmogorov(ours, plain);
  result.kolmogorov_limit = 1.628 * std::sqrt(2.0 / draws);
  return result;
}

}  // namespace swardline::bench
