// Published allocations and variances of spread samples.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "swardline/design/allocation.hpp"
#include "swardline/design/neighbourhood_variance.hpp"

namespace design_test {

using namespace swardline;

TEST_CASE("Neyman's allocation of the cities") {
  // Cochran 1977, Sampling Techniques, 3rd ed., sections 5.4 and 5.6 (cities, 1930): N = 16 and 48,
  // S² = 53843 and 5581, n = 24; shares 12.2084 and 11.7916. Inputs from memory, recomputed. The variance of
  // the total under the rounded numbers, 1090826.667, holds a finite correction; ours does not.
  const std::vector<Share> cities = {{"large", 16, std::sqrt(53843.0)}, {"small", 48, std::sqrt(5581.0)}};
  const std::vector<int> numbers = allocate(cities, 24, 0, Allocation::optimal);
  CHECK(numbers == std::vector<int>{12, 12});
  const double first = 16 * std::sqrt(53843.0), second = 48 * std::sqrt(5581.0);
  CHECK(24 * first / (first + second) == doctest::Approx(12.2084186).epsilon(1e-8));
  const ExpectedSpecies one{"people", 0.2, {1, 1}, {std::sqrt(53843.0), std::sqrt(5581.0)}};
  CHECK(allocate_over_species(cities, {one}, Available::plots(24), 0) == numbers);
  const double relative = expected_relative_error(cities, numbers, one).value();
  const double finite = 16.0 * 53843 + 48.0 * 5581;
  CHECK(std::pow(relative * 64, 2) - finite == doctest::Approx(1090826.667).epsilon(1e-9));
}

TEST_CASE("the allocation of two strata with costs") {
  // Cochran 1977, an exercise of chapter 5: W = 0.4 and 0.6, S = 10 and 20, costs 4 and 9 a unit. For a
  // variance of 1 without finite correction n = 264, one third and two thirds of it, for 1,936. From
  // memory, recomputed.
  const std::vector<Share> two = {{"first", 0.4, 10, false, 4}, {"second", 0.6, 20, false, 9}};
  CHECK(allocate(two, 264, 0, Allocation::optimal) == std::vector<int>{88, 176});
  CHECK(allocate(two, Available::budget(1936), 0, Allocation::optimal) == std::vector<int>{88, 176});
  CHECK(0.4 * 0.4 * 100 / 88 + 0.6 * 0.6 * 400 / 176 == doctest::Approx(1).epsilon(1e-12));
  // Handed out one by one they come to the same.
  const ExpectedSpecies one{"only", 0.2, {1, 1}, {10, 20}};
  CHECK(allocate_over_species(two, {one}, Available::plots(264), 0) == std::vector<int>{88, 176});
  CHECK(allocate_over_species(two, {one}, Available::budget(1936), 0) == std::vector<int>{88, 176});
}

TEST_CASE("the nearest-neighbour variance of five points") {
  // Form: Grafström & Schelin 2014, Scandinavian Journal of Statistics 41:277-290; numbers recomputed.
  // The fifth point has two nearest: 11270 with the one, 10972 with the other.
  const std::vector<Point> points = {{0, 0}, {1, 0}, {5, 0}, {5, 2}, {9, 1}};
  CHECK(nearest_neighbour_variance(points, {20, 24, 50, 52, 200}) == doctest::Approx(11121).epsilon(1e-12));
  CHECK(nearest_neighbour_variance({{0, 0}}, {20}) == 0);
}

TEST_CASE("the local-neighbourhood variance with given weights") {
  // Form: Stevens & Olsen 2003, Environmetrics 14:593-610; weights given outright, numbers recomputed.
  const std::vector<double> z = {10, 12, 15, 14, 20, 22, 25, 24};
  NeighbourWeights ring(8), blocks(8);
  for (std::size_t i = 0; i < 8; ++i) {
    ring[i] = {{(i + 7) % 8, 0.25}, {i, 0.5}, {(i + 1) % 8, 0.25}};
    for (std::size_t j = 0; j < 4; ++j) blocks[i].push_back({i / 4 * 4 + j, 0.25});
  }
  constexpr auto published = SmallNeighbourhoods::as_published;
  CHECK(neighbourhood_variance(ring, z, published) == doctest::Approx(97.25).epsilon(1e-12));
  CHECK(neighbourhood_variance(blocks, z, published) == doctest::Approx(29.5).epsilon(1e-12));
  const NeighbourWeights all(4, {{0, 0.25}, {1, 0.25}, {2, 0.25}, {3, 0.25}});
  CHECK(neighbourhood_variance(all, {3, 5, 8, 4}, published) == doctest::Approx(14).epsilon(1e-12));
  // With the correction a single neighbourhood gives n·s², the variance of a simple random sample's total.
  CHECK(neighbourhood_variance(all, {3, 5, 8, 4}) == doctest::Approx(4 * 14.0 / 3).epsilon(1e-12));
  CHECK(neighbourhood_variance(ring, z) == doctest::Approx(97.25 / 0.625).epsilon(1e-12));
}

TEST_CASE("neighbourhoods are mutual, hold four or more, and rows and columns sum to one") {
  std::vector<Point> points;
  for (int i = 0; i < 60; ++i) points.push_back({double(i * i % 61), double(i * 17 % 23)});
  const NeighbourWeights rows = neighbourhood_weights(points);
  std::vector<double> column(points.size(), 0);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    double sum = 0;
    CHECK(rows[i].size() >= 4);
    for (const NeighbourWeight& w : rows[i]) {
      CHECK(w.weight > 0);
      sum += w.weight;
      column[w.unit] += w.weight;
      bool mutual = false;
      for (const NeighbourWeight& back : rows[w.unit]) mutual = mutual || back.unit == i;
      CHECK(mutual);
    }
    CHECK(sum == doctest::Approx(1).epsilon(1e-10));
  }
  for (const double sum : column) CHECK(sum == doctest::Approx(1).epsilon(1e-10));
  // The nearest of each, found one by one, are among its neighbours.
  const auto apart = [&](std::size_t i, std::size_t j) {
    return std::hypot(points[i].x - points[j].x, points[i].y - points[j].y);
  };
  for (std::size_t i = 0; i < points.size(); ++i) {
    std::vector<std::size_t> order;
    for (std::size_t j = 0; j < points.size(); ++j)
      if (j != i) order.push_back(j);
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return apart(i, a) < apart(i, b); });
    for (std::size_t rank = 0; rank < 3; ++rank)
      CHECK(std::any_of(rows[i].begin(), rows[i].end(),
                        [&](const NeighbourWeight& w) { return w.unit == order[rank]; }));
  }
  CHECK(neighbourhood_weights({{0, 0}, {5, 5}}).at(0).size() == 2);
  CHECK(neighbourhood_variance(neighbourhood_weights({{0, 0}}), {5}) == 0);
}

}  // namespace design_test
