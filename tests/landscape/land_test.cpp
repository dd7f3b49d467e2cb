#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "land.hpp"
#include "nearest.hpp"
#include "noise.hpp"
#include "valley.hpp"

namespace land_test {

using namespace swardline;
using namespace swardline::landscape;

namespace {

// Cells of `part`, made alone, that differ from the same cells of `whole`.
std::size_t differing(const Land& land, const View& whole, const LandTile& all, int col, int row, int cols,
                      int rows) {
  LandTile alone;
  land.make(whole.part(col, row, cols, rows), alone);
  std::size_t different = 0;
  for (int r = 0; r < rows; ++r) {
    for (int c = 0; c < cols; ++c) {
      const std::size_t i =
          static_cast<std::size_t>(r) * static_cast<std::size_t>(cols) + static_cast<std::size_t>(c);
      const std::size_t j = static_cast<std::size_t>(row + r) * static_cast<std::size_t>(whole.cols) +
                            static_cast<std::size_t>(col + c);
      const bool same = alone.cover[i] == all.cover[j] && alone.moisture[i] == all.moisture[j] &&
                        alone.elevation[i] == all.elevation[j] && alone.canopy[i] == all.canopy[j] &&
                        alone.bedrock[i] == all.bedrock[j] && alone.water[i] == all.water[j];
      if (!same) ++different;
    }
  }
  return different;
}

}  // namespace

TEST_CASE("a window made alone equals the same window of a larger one") {
  const View whole{70011, 420093, 300, 260, 10};
  const Land land(7);
  LandTile all;
  land.make(whole, all);
  CHECK(differing(land, whole, all, 0, 0, 300, 1) == 0);
  CHECK(differing(land, whole, all, 37, 21, 111, 83) == 0);
  CHECK(differing(land, whole, all, 299, 259, 1, 1) == 0);

  SUBCASE("west of and south of the system's origin too") {
    const View negative{-150, 130, 260, 200, 30};
    land.make(negative, all);
    CHECK(differing(land, negative, all, 100, 90, 77, 61) == 0);
  }
  SUBCASE("and over the demo's sites, its slough, its road") {
    const Land valley = valley_land();
    const View bottoms{75700, 421190, 280, 120, 10};
    valley.make(bottoms, all);
    CHECK(differing(valley, bottoms, all, 13, 7, 260, 64) == 0);
    const View road{76300, 421110, 300, 80, 10};
    valley.make(road, all);
    CHECK(differing(valley, road, all, 99, 3, 64, 64) == 0);
  }
}

TEST_CASE("another seed is another land, and the land is neither flat nor all one class") {
  const View view{70000, 420000, 400, 400, 25};
  LandTile one, two;
  Land(7).make(view, one);
  Land(8).make(view, two);
  CHECK(one.cover != two.cover);
  CHECK(one.elevation != two.elevation);
  std::vector<int> classes(13, 0);
  for (const auto cover : one.cover) ++classes[cover];
  CHECK(classes[0] == 0);
  CHECK(std::count_if(classes.begin() + 1, classes.end(), [](int n) { return n > 0; }) >= 11);
  const auto [low, high] = std::minmax_element(one.elevation.begin(), one.elevation.end());
  CHECK(*high - *low > 80);
  CHECK(*std::max_element(one.moisture.begin(), one.moisture.end()) <= 60);
  CHECK(*std::max_element(one.water.begin(), one.water.end()) <= 3000);
}

TEST_CASE("the nearest thing is found as if every one were measured") {
  const RandomKey key(1, "shapes");
  std::vector<Capsule> shapes;
  for (int i = 0; i < 60; ++i) {
    const double x = 6000 * chance(key, i, 0), y = 6000 * chance(key, i, 1);
    shapes.push_back({x, y, x + 400 * chance(key, i, 2), y - 300, 40 * chance(key, i, 3), 90});
  }
  shapes.push_back(disc(3000, 3000, 55));
  const View view{150, 420, 210, 190, 10};
  const auto fast = nearest(shapes, 700, view);
  std::size_t different = 0, cell = 0;
  for (int r = 0; r < view.rows; ++r) {
    for (int c = 0; c < view.cols; ++c, ++cell) {
      if (fast[cell] != nearest(shapes, 700, Spot{view.x(c), view.y(r)})) ++different;
    }
  }
  CHECK(different == 0);
  // A disc by Pythagoras: 3-4-5.
  CHECK(nearest({disc(0, 0, 10)}, 1000, Spot{30, 40}) == doctest::Approx(40));
  CHECK(nearest({Capsule{0, 0, 100, 0, 5, 5}}, 1000, Spot{50, 25}) == doctest::Approx(20));
  CHECK(nearest({}, 1000, Spot{0, 0}) == 1000);
}

TEST_CASE("a creek's and a river's water agree with the distances told") {
  const Land land(11);
  const View view{70000, 421000, 256, 256, 10};
  LandTile tile;
  land.make(view, tile);
  std::size_t dry_at_zero = 0;
  for (std::size_t i = 0; i < tile.cover.size(); ++i) {
    if (tile.cover[i] == kOpenWater && tile.water[i] != 0) ++dry_at_zero;
  }
  CHECK(dry_at_zero == 0);
  const double river = land.waters().river_y(Waters::river_at(view.y(128)), view.x(128));
  const View there{70128, static_cast<std::int64_t>(std::floor(river / 10)) + 1, 1, 1, 10};
  land.make(there, tile);
  CHECK(tile.cover[0] == kOpenWater);
  CHECK(tile.water[0] == 0);
}

}  // namespace land_test
