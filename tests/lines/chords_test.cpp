// Lines through areas, against plane geometry done by hand and against GEOS.
#include "swardline/lines/chords.hpp"

#include <doctest/doctest.h>

#include <cmath>

#include "swardline/base/random.hpp"

namespace chords_test {

using namespace swardline;

namespace {

/// A square of 100 m with a square pond of 20 m in its middle.
Geometry square_with_pond() {
  return difference(box_polygon({1000, 2000, 1100, 2100}), box_polygon({1040, 2040, 1060, 2060}));
}

}  // namespace

TEST_CASE("a line is inside up to the pond and after it") {
  const Chords chords(square_with_pond());
  const auto through = chords.inside({1010, 2050}, {1, 0});
  REQUIRE(through.size() == 2);
  CHECK(through[0].from == doctest::Approx(-10));
  CHECK(through[0].to == doctest::Approx(30));
  CHECK(through[1].from == doctest::Approx(50));
  CHECK(through[1].to == doctest::Approx(90));
  const auto cut = chords.inside({1010, 2050}, {1, 0}, {0, 55});
  REQUIRE(cut.size() == 2);
  CHECK(cut[0] == Stretch{0, through[0].to});
  CHECK(cut[1].length() == doctest::Approx(5));
  CHECK(chords.inside({1010, 2500}, {1, 0}).empty());
}

TEST_CASE("corners and shared edges are no way out") {
  // Along a diagonal through two corners, and across the shared edge of two squares.
  const Chords square(box_polygon({0, 0, 10, 10}));
  const double half = std::sqrt(0.5);
  const auto diagonal = square.inside({5, 5}, {half, half});
  REQUIRE(diagonal.size() == 1);
  CHECK(diagonal[0].length() == doctest::Approx(std::sqrt(200.0)));
  const Chords two(from_wkt("MULTIPOLYGON(((0 0,10 0,10 10,0 10,0 0)),((10 2,20 2,20 8,10 8,10 2)))"));
  const auto across = two.inside({0, 5}, {1, 0});
  REQUIRE(across.size() == 1);
  CHECK(across[0].length() == doctest::Approx(20));
}

TEST_CASE("areas up to a line and lengths inside are those GEOS cuts off") {
  const Geometry area = square_with_pond();
  const Chords chords(area);
  RandomStream random(RandomKey(7, "chords"));
  for (int i = 0; i < 200; ++i) {
    const double turn = 6.283185307179586 * random.uniform();
    const Point along{std::cos(turn), std::sin(turn)}, left{-along.y, along.x};
    const Point origin{1000 + 100 * random.uniform(), 2000 + 100 * random.uniform()};
    const auto at = [&](double u, double v) {
      return Point{origin.x + u * along.x + v * left.x, origin.y + u * along.y + v * left.y};
    };
    const double limit = 80 * random.uniform() - 40, far = 400;
    const Geometry before = polygon({at(-far, -far), at(limit, -far), at(limit, far), at(-far, far)});
    CHECK(std::abs(chords.area_before(origin, along, -far)) < 1e-6);
    CHECK(chords.area_before(origin, along, limit) ==
          doctest::Approx(intersection(area, before).area()).epsilon(1e-9));
    double length = 0;
    for (const Stretch& s : chords.inside(origin, along)) length += s.length();
    CHECK(length == doctest::Approx(intersection(area, line({at(-far, 0), at(far, 0)})).length()));
    const Stretch reach = chords.reach(origin, along);
    CHECK(chords.area_before(origin, along, reach.to) == doctest::Approx(area.area()));
    CHECK(std::abs(chords.area_before(origin, along, reach.from)) < 1e-6);
  }
}

}  // namespace chords_test
