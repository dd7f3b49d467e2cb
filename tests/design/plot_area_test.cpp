#include "swardline/design/plot_area.hpp"

#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <numbers>

#include "swardline/base/random.hpp"

namespace plot_area_test {

using namespace swardline;

namespace {

constexpr double pi = std::numbers::pi;
const std::array<double, 2> belt_size = {2, 10};

/// The area and the twice zone by a fine grid of points, from their definitions.
PlotArea by_points(const Geometry& area, const Geometry& plot, Point pin, double step) {
  const PreparedArea inside(area), of_plot(plot);
  PlotArea sum;
  const Box box = plot.box();
  for (double x = box.x0 + step / 2; x < box.x1; x += step) {
    for (double y = box.y0 + step / 2; y < box.y1; y += step) {
      if (!of_plot.contains({x, y}) || !inside.contains({x, y})) continue;
      sum.inside_m2 += step * step;
      if (!inside.contains({2 * x - pin.x, 2 * y - pin.y})) sum.twice_m2 += step * step;
    }
  }
  return sum;
}

}  // namespace

TEST_CASE("whole bearings give the exact compass points and unit vectors") {
  CHECK(direction(0) == Point{0, 1});
  CHECK(direction(90) == Point{1, 0});
  CHECK(direction(180) == Point{0, -1});
  CHECK(direction(270) == Point{-1, 0});
  CHECK(direction(30).x == 0.5);
  CHECK(direction(-60) == direction(300));
  CHECK(direction(720 + 45) == direction(45));
  for (int degree = 0; degree < 360; ++degree) {
    const Point d = direction(degree);
    CHECK(std::abs(d.x - std::sin(degree * pi / 180)) < 1e-12);
    CHECK(std::abs(d.y - std::cos(degree * pi / 180)) < 1e-12);
  }
  CHECK(std::abs(direction(48.9).x - std::sin(48.9 * pi / 180)) < 1e-12);
}

TEST_CASE("a plot's polygon has the plot's area, centre and bearing") {
  const Geometry belt = plot_polygon(UnitShape::belt, belt_size, {100, 200}, 90);
  CHECK(belt.area() == doctest::Approx(20));
  CHECK(belt.box().x0 == doctest::Approx(95));
  CHECK(belt.box().y1 == doctest::Approx(201));
  const Geometry square = plot_polygon(UnitShape::square, {3, 0}, {0, 0}, 37);
  CHECK(square.area() == doctest::Approx(9));
  CHECK(square.contains({direction(37).x * 1.49, direction(37).y * 1.49}));
  const Geometry circle = plot_polygon(UnitShape::circle, {5, 0}, {0, 0}, 0);
  CHECK(circle.area() == doctest::Approx(25 * pi).epsilon(1e-9));
  CHECK(circle.vertices() == 257);
}

TEST_CASE("a plot away from every edge is whole and nothing counts twice") {
  const Geometry site = box_polygon({0, 0, 1000, 1000});
  for (const UnitShape shape : {UnitShape::belt, UnitShape::square, UnitShape::circle}) {
    const PlotArea area = walk_through(site, shape, belt_size, {500, 500}, 33);
    CHECK(area.inside_m2 == area.plot_m2);
    CHECK(area.twice_m2 == 0);
    CHECK(area.tape.empty());
  }
}

TEST_CASE("a belt across an edge at 3.8 m counts twice from 1.9 m") {
  // The edge is the line x = 103.8: 3.8 m of one half are inside, and stems from 1.9 m on count twice.
  const Geometry site = box_polygon({0, 0, 103.8, 300});
  const PlotArea area = walk_through(site, UnitShape::belt, belt_size, {100, 150}, 90);
  CHECK(area.plot_m2 == 20);
  CHECK(area.inside_m2 == doctest::Approx((5 + 3.8) * 2).epsilon(1e-9));
  CHECK(area.twice_m2 == doctest::Approx(1.9 * 2).epsilon(1e-9));
  CHECK(area.tape == "end A: edge at 3.8 m, count twice from 1.9 m");
  const PlotArea turned = walk_through(site, UnitShape::belt, belt_size, {100, 150}, 270);
  CHECK(turned.tape == "end B: edge at 3.8 m, count twice from 1.9 m");
}

TEST_CASE("an edge past the belt's end still makes stems count twice") {
  const Geometry site = box_polygon({0, 0, 107, 300});
  const PlotArea area = walk_through(site, UnitShape::belt, belt_size, {100, 150}, 90);
  CHECK(area.inside_m2 == area.plot_m2);
  CHECK(area.twice_m2 == doctest::Approx((5 - 3.5) * 2).epsilon(1e-9));
  CHECK(area.tape == "end A: edge at 7.0 m, past the end, count twice from 3.5 m");
}

TEST_CASE("an edge beside a belt is said though the tape never meets it") {
  const Geometry site = box_polygon({0, 0, 300, 150.6});
  const PlotArea area = walk_through(site, UnitShape::belt, belt_size, {100, 150}, 90);
  CHECK(area.inside_m2 == doctest::Approx(10 * 1.6).epsilon(1e-9));
  CHECK(area.twice_m2 == doctest::Approx(10 * 0.3).epsilon(1e-9));
  CHECK(area.tape.find("edge beside the belt") == 0);
}

TEST_CASE("a belt in a corner counts twice where either edge is passed") {
  // Corner at (103, 150.8), belt eastwards: inside 8 × 1.8; twice where x > 1.5 or y > 0.4 from the pin.
  const Geometry site = box_polygon({0, 0, 103, 150.8});
  const PlotArea area = walk_through(site, UnitShape::belt, belt_size, {100, 150}, 90);
  CHECK(area.inside_m2 == doctest::Approx(8 * 1.8).epsilon(1e-9));
  CHECK(area.twice_m2 == doctest::Approx(8 * 1.8 - 6.5 * 1.4).epsilon(1e-9));
}

TEST_CASE("a square pond across a belt: edge, in again, and twice between the halves") {
  // Pond from 2 m to 3 m east of the pin, wider than the belt. Twice: from 1.0 m to 1.5 m.
  const Geometry site = difference(box_polygon({0, 0, 300, 300}), box_polygon({102, 140, 103, 160}));
  const PlotArea area = walk_through(site, UnitShape::belt, belt_size, {100, 150}, 90);
  CHECK(area.inside_m2 == doctest::Approx(18).epsilon(1e-9));
  CHECK(area.twice_m2 == doctest::Approx(1.0).epsilon(1e-9));
  CHECK(area.tape == "end A: edge at 2.0 m, in again at 3.0 m, count twice from 1.0 m to 1.5 m");
}

TEST_CASE("a belt out at both ends says both") {
  const Geometry strip = box_polygon({97, 0, 104, 300});
  const PlotArea area = walk_through(strip, UnitShape::belt, belt_size, {100, 150}, 90);
  CHECK(area.tape ==
        "end A: edge at 4.0 m, count twice from 2.0 m; end B: edge at 3.0 m, count twice from 1.5 m");
  CHECK(area.inside_m2 == doctest::Approx(14));
  CHECK(area.twice_m2 == doctest::Approx(2 * (2 + 1.5)));
}

TEST_CASE("a circle across a straight edge has the area of a circular segment") {
  // Segment of height h = r - d: r² acos(d/r) - d √(r² - d²) is outside; twice beyond d/2.
  const double r = 5, d = 2;
  const auto segment = [r](double from) {
    return r * r * std::acos(from / r) - from * std::sqrt(r * r - from * from);
  };
  const Geometry site = box_polygon({0, 0, 102, 300});
  const PlotArea area = walk_through(site, UnitShape::circle, {r, 0}, {100, 150}, 0);
  CHECK(area.plot_m2 == doctest::Approx(pi * r * r));
  CHECK(area.inside_m2 == doctest::Approx(pi * r * r - segment(d)).epsilon(1e-9));
  CHECK(area.twice_m2 == doctest::Approx(segment(d / 2) - segment(d)).epsilon(1e-9));
}

TEST_CASE("a circle about a pond inside it loses the pond") {
  const Geometry site = difference(box_polygon({0, 0, 300, 300}), box_polygon({101, 151, 102, 152}));
  const PlotArea area = walk_through(site, UnitShape::circle, {5, 0}, {100, 150}, 0);
  CHECK(area.inside_m2 == doctest::Approx(25 * pi - 1).epsilon(1e-9));
  CHECK(area.twice_m2 == doctest::Approx(0.25).epsilon(1e-9));
}

TEST_CASE("areas at awkward edges equal sums over fine points") {
  const Geometry site = difference(polygon({{0, 0}, {40, 3}, {37, 25}, {20, 18}, {8, 30}}),
                                   polygon({{18, 8}, {22, 9}, {20, 13}}));
  RandomStream random(RandomKey(4, "pins"));
  const PreparedArea inside(site);
  int tried = 0;
  while (tried < 12) {
    const Point pin{random.uniform() * 40, random.uniform() * 30};
    if (!inside.contains(pin)) continue;
    const auto shape =
        std::array{UnitShape::belt, UnitShape::square, UnitShape::circle}[std::size_t(tried) % 3];
    const std::array<double, 2> size = shape == UnitShape::belt ? belt_size : std::array<double, 2>{4, 0};
    const double bearing = double(random.below(360));
    const PlotArea area = walk_through(site, shape, size, pin, bearing);
    const PlotArea points = by_points(site, plot_polygon(shape, size, pin, bearing), pin, 0.02);
    CHECK(std::abs(area.inside_m2 - points.inside_m2) < 0.05);
    CHECK(std::abs(area.twice_m2 - points.twice_m2) < 0.05);
    ++tried;
  }
}

}  // namespace plot_area_test
