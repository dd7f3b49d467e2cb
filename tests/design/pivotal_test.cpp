#include "swardline/design/pivotal.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <set>

#include "swardline/design/drawing.hpp"
#include "swardline/geo/point_tree.hpp"

namespace pivotal_test {

using namespace swardline;

namespace {

std::vector<Point> random_points(std::size_t count, std::uint64_t seed) {
  RandomStream random(RandomKey(seed, "points"));
  std::vector<Point> points(count);
  for (Point& p : points) p = {random.uniform() * 1000, random.uniform() * 400};
  return points;
}

std::vector<Point> grid_points(int side) {
  std::vector<Point> points;
  for (int row = 0; row < side; ++row) {
    for (int col = 0; col < side; ++col) points.push_back({double(col), double(row)});
  }
  return points;
}

}  // namespace

// Deville & Tillé 1998, Biometrika 85:89-101; Grafström, Lundström & Schelin 2012: outcomes and
// probabilities recomputed from the definition.
TEST_CASE("one pivotal step has the published outcomes, and they return the chances exactly") {
  struct Case {
    std::uint64_t a, b;
    std::pair<std::uint64_t, std::uint64_t> first, second;
    double first_chance;
  };
  for (const Case& c : {Case{3, 4, {0, 7}, {7, 0}, 4.0 / 7}, Case{7, 8, {10, 5}, {5, 10}, 0.4}}) {
    RandomStream random(RandomKey(5, "step"));
    const int steps = 40000;
    int first = 0;
    for (int i = 0; i < steps; ++i) {
      std::uint64_t a = c.a, b = c.b;
      pivotal_step(a, b, 10, random);
      const std::pair<std::uint64_t, std::uint64_t> outcome{a, b};
      REQUIRE((outcome == c.first || outcome == c.second));
      first += outcome == c.first;
    }
    const double sigma = std::sqrt(c.first_chance * (1 - c.first_chance) / steps);
    CHECK(std::abs(double(first) / steps - c.first_chance) < 4 * sigma);
    const double mean_a =
        c.first_chance * double(c.first.first) + (1 - c.first_chance) * double(c.second.first);
    CHECK(mean_a == doctest::Approx(double(c.a)).epsilon(1e-12));
  }
}

// Grafström et al. 2012; every order of steps enumerated.
TEST_CASE("four units on a line give the four spread samples, each a quarter of the time") {
  const std::vector<Point> points = {{0, 0}, {1, 0}, {3, 0}, {4, 0}};
  std::map<std::vector<std::size_t>, int> seen;
  const int draws = 20000;
  for (int d = 0; d < draws; ++d) ++seen[pivotal_sample(points, 2, RandomKey(std::uint64_t(d), "line"))];
  CHECK(seen.size() == 4);
  for (const std::vector<std::size_t>& sample : {std::vector<std::size_t>{0, 2}, {0, 3}, {1, 2}, {1, 3}}) {
    CHECK(std::abs(double(seen[sample]) / draws - 0.25) < 4 * std::sqrt(0.25 * 0.75 / draws));
  }
}

TEST_CASE("a pivotal sample has exactly the size asked for, each unit once") {
  for (const std::size_t size : {1u, 2u, 7u, 60u, 301u}) {
    const std::vector<Point> points = random_points(size, size);
    for (std::size_t keep = 0; keep <= size; keep += 1 + size / 9) {
      for (std::uint64_t seed = 0; seed < 20; ++seed) {
        const std::vector<std::size_t> sample = pivotal_sample(points, keep, RandomKey(seed, "size"));
        REQUIRE(sample.size() == keep);
        REQUIRE(std::set<std::size_t>(sample.begin(), sample.end()).size() == keep);
        REQUIRE((keep == 0 || sample.back() < size));
      }
    }
  }
}

TEST_CASE("every unit has the same chance in a pivotal sample, in the corner and in the middle") {
  const std::vector<Point> points = grid_points(6);
  const int draws = 20000;
  std::vector<int> count(points.size(), 0);
  for (int d = 0; d < draws; ++d) {
    for (const std::size_t unit : pivotal_sample(points, 7, RandomKey(std::uint64_t(d), "chance")))
      ++count[unit];
  }
  const double chance = 7.0 / 36;
  const double sigma = std::sqrt(chance * (1 - chance) * draws);
  for (const int c : count) CHECK(std::abs(c - chance * draws) < 4.5 * sigma);
}

TEST_CASE("units that all stand in one place can still be drawn") {
  const std::vector<Point> points(50, Point{3, 4});
  CHECK(pivotal_sample(points, 11, RandomKey(1, "one place")).size() == 11);
}

TEST_CASE("the nearest point still there is found as by looking at all of them") {
  std::vector<Point> points = random_points(400, 3);
  for (const Point& p : grid_points(12)) points.push_back(p);
  PointTree tree(points);
  std::vector<std::uint32_t> left(points.size());
  std::iota(left.begin(), left.end(), 0u);
  RandomStream random(RandomKey(9, "tree"));
  while (left.size() > 1) {
    const std::uint32_t unit = left[random.below(left.size())];
    double best = 1e300;
    for (const std::uint32_t other : left) {
      if (other == unit) continue;
      const double dx = points[unit].x - points[other].x, dy = points[unit].y - points[other].y;
      best = std::min(best, dx * dx + dy * dy);
    }
    const std::uint32_t found = tree.nearest_other(unit, random);
    REQUIRE(std::find(left.begin(), left.end(), found) != left.end());
    const double dx = points[unit].x - points[found].x, dy = points[unit].y - points[found].y;
    REQUIRE(dx * dx + dy * dy == best);
    REQUIRE(tree.nearest_squared(unit) == best);
    tree.remove(unit);
    std::erase(left, unit);
  }
}

TEST_CASE("spread order gives every unit every rank alike") {
  const std::vector<Point> points = {{0, 0}, {1, 0}, {5, 0}, {6, 1}, {9, 9}, {20, 3}, {2, 2}};
  const int draws = 14000;
  std::vector<std::vector<int>> rank_of(points.size(), std::vector<int>(points.size(), 0));
  for (int d = 0; d < draws; ++d) {
    const std::vector<std::size_t> order = spread_order(points, RandomKey(std::uint64_t(d), "ranks"));
    REQUIRE(std::set<std::size_t>(order.begin(), order.end()).size() == points.size());
    for (std::size_t rank = 0; rank < order.size(); ++rank) ++rank_of[order[rank]][rank];
  }
  const double chance = 1.0 / 7;
  const double sigma = std::sqrt(chance * (1 - chance) * draws);
  for (const auto& ranks : rank_of) {
    for (const int count : ranks) CHECK(std::abs(count - chance * draws) < 4.5 * sigma);
  }
}

TEST_CASE("the first of a spread order are spread better than the first of a random order") {
  const std::vector<Point> points = random_points(64, 12);
  double spread = 0, random = 0;
  for (std::uint64_t seed = 0; seed < 60; ++seed) {
    std::vector<std::size_t> order = spread_order(points, RandomKey(seed, "spread"));
    order.resize(16);
    spread += balance_index(points, order);
    RandomStream stream(RandomKey(seed, "shuffle"));
    std::vector<std::size_t> any(points.size());
    std::iota(any.begin(), any.end(), std::size_t{0});
    for (std::size_t i = 0; i < 16; ++i) std::swap(any[i], any[i + stream.below(any.size() - i)]);
    any.resize(16);
    random += balance_index(points, any);
  }
  CHECK(spread < 0.5 * random);
}

}  // namespace pivotal_test
