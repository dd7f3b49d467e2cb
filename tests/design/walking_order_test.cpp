#include "swardline/design/walking_order.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "swardline/base/random.hpp"

namespace walking_order_test {

using namespace swardline;

namespace {

double metres(Point a, Point b) { return std::sqrt((a.x - b.x) * (a.x - b.x) + (a.y - b.y) * (a.y - b.y)); }

double length(Point start, const std::vector<Point>& points, const std::vector<std::size_t>& order) {
  double sum = 0;
  for (const std::size_t i : order) {
    sum += metres(start, points[i]);
    start = points[i];
  }
  return sum;
}

/// Every order there is.
double shortest_of_all(Point start, const std::vector<Point>& points) {
  std::vector<std::size_t> order(points.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  double best = std::numeric_limits<double>::infinity();
  do best = std::min(best, length(start, points, order));
  while (std::next_permutation(order.begin(), order.end()));
  return best;
}

/// The shortest route by filling in sets of visited points from the end, for up to 16 points.
double shortest_by_sets(Point start, const std::vector<Point>& points) {
  const std::size_t n = points.size(), all = (std::size_t{1} << n) - 1;
  std::vector<std::vector<double>> rest(all + 1, std::vector<double>(n, 0));
  for (std::size_t done = all; done-- > 0;) {
    for (std::size_t at = 0; at < n; ++at) {
      double best = std::numeric_limits<double>::infinity();
      for (std::size_t next = 0; next < n; ++next) {
        if ((done >> next & 1) == 0) {
          best = std::min(best, metres(points[at], points[next]) + rest[done | std::size_t{1} << next][next]);
        }
      }
      rest[done][at] = best;
    }
  }
  double best = std::numeric_limits<double>::infinity();
  for (std::size_t first = 0; first < n; ++first) {
    best = std::min(best, metres(start, points[first]) + rest[std::size_t{1} << first][first]);
  }
  return best;
}

std::vector<Point> scattered(RandomStream& random, std::size_t count) {
  std::vector<Point> points;
  for (std::size_t i = 0; i < count; ++i) points.push_back({1000 * random.uniform(), 600 * random.uniform()});
  return points;
}

void check_sound(const Walk& walk, Point start, const std::vector<Point>& points) {
  std::vector<std::size_t> sorted = walk.order;
  std::sort(sorted.begin(), sorted.end());
  std::vector<std::size_t> each(points.size());
  std::iota(each.begin(), each.end(), std::size_t{0});
  CHECK(sorted == each);
  CHECK(walk.leg_m.size() == points.size());
  CHECK(std::accumulate(walk.leg_m.begin(), walk.leg_m.end(), 0.0) == doctest::Approx(walk.total_m));
  CHECK(length(start, points, walk.order) == doctest::Approx(walk.total_m));
}

}  // namespace

TEST_CASE("up to seven plots no other order is shorter") {
  RandomStream random(RandomKey(1, "walk"));
  for (int trial = 0; trial < 60; ++trial) {
    const std::vector<Point> points = scattered(random, 1 + random.below(7));
    const Point start{1200 * random.uniform(), -50};
    const Walk walk = walking_order(start, points);
    check_sound(walk, start, points);
    CHECK(walk.exact);
    CHECK(walk.total_m == doctest::Approx(shortest_of_all(start, points)));
  }
}

TEST_CASE("twelve plots are exact too") {
  RandomStream random(RandomKey(2, "walk"));
  for (int trial = 0; trial < 5; ++trial) {
    const std::vector<Point> points = scattered(random, 12);
    const Walk walk = walking_order({0, 0}, points);
    CHECK(walk.exact);
    CHECK(walk.total_m == doctest::Approx(shortest_by_sets({0, 0}, points)));
  }
}

TEST_CASE("beyond twelve plots the walk stays close to the shortest") {
  RandomStream random(RandomKey(3, "walk"));
  double excess = 0;
  constexpr int trials = 20;
  for (int trial = 0; trial < trials; ++trial) {
    const std::vector<Point> points = scattered(random, 13);
    const Walk walk = walking_order({0, 0}, points);
    check_sound(walk, {0, 0}, points);
    CHECK_FALSE(walk.exact);
    const double best = shortest_by_sets({0, 0}, points);
    CHECK(walk.total_m >= best * (1 - 1e-12));
    excess += walk.total_m / best - 1;
  }
  CHECK(excess / trials < 0.05);
}

TEST_CASE("plots along a road are walked along it") {
  RandomStream random(RandomKey(4, "walk"));
  std::vector<Point> points;
  for (int i = 0; i < 60; ++i) points.push_back({3400 * random.uniform(), 0});
  double far = 0;
  for (const Point& p : points) far = std::max(far, p.x);
  const Walk walk = walking_order({0, 0}, points);
  check_sound(walk, {0, 0}, points);
  CHECK(walk.total_m == doctest::Approx(far));
}

TEST_CASE("a big site is done quickly and every plot is met once") {
  RandomStream random(RandomKey(5, "walk"));
  const std::vector<Point> points = scattered(random, 800);
  const Walk walk = walking_order({0, 0}, points);
  check_sound(walk, {0, 0}, points);
  // The shortest tour of n uniform points in area A tends to 0.7124 √(nA) (Beardwood, Halton & Hammersley
  // 1959, Proc. Camb. Phil. Soc. 55:299-327; the constant from memory); a fair heuristic is within 15 %.
  CHECK(walk.total_m < 1.15 * 0.7124 * std::sqrt(800 * 1000.0 * 600.0));
  CHECK(walking_order({0, 0}, points).order == walk.order);
}

TEST_CASE("no plots make no walk, and plots on one spot no metres") {
  CHECK(walking_order({0, 0}, {}).order.empty());
  const std::vector<Point> same(20, Point{5, 5});
  const Walk walk = walking_order({5, 5}, same);
  check_sound(walk, {5, 5}, same);
  CHECK(walk.total_m == 0);
}

}  // namespace walking_order_test
