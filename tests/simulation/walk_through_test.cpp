// Plants that love edges, counted on belts at random over a wavy site with a pond.
#include <doctest/doctest.h>

#include <cmath>

#include "sites.hpp"
#include "swardline/design/drawing.hpp"
#include "swardline/design/plot_area.hpp"

namespace walk_through_test {

using namespace swardline;

namespace {

/// Poisson stems, 0.5 a square metre within 2 m of the survey area's boundary (pond included), none
/// elsewhere.
std::vector<Point> edge_band_stems(const Geometry& area, std::uint64_t seed) {
  const PreparedArea inside(area), inner(buffered(area, -2));
  RandomStream random(RandomKey(seed, "edge band"));
  // A Poisson process by whole squares of 0.1 m: chance 0.005 of a stem in each.
  std::vector<Point> stems;
  const Box box = area.box();
  for (double x = box.x0; x < box.x1; x += 0.1) {
    for (double y = box.y0; y < box.y1; y += 0.1) {
      if (random.uniform() >= 0.005) continue;
      const Point at{x + 0.1 * random.uniform(), y + 0.1 * random.uniform()};
      if (inside.contains(at) && !inner.contains(at)) stems.push_back(at);
    }
  }
  return stems;
}

/// A ratio of totals over draws and its standard error by linearisation (Cochran 1977, ch. 6).
struct Ratio {
  std::vector<double> top, bottom;
  void add(double y, double x) {
    top.push_back(y);
    bottom.push_back(x);
  }
  [[nodiscard]] std::pair<double, double> value_and_error() const {
    double y = 0, x = 0, squares = 0;
    for (std::size_t i = 0; i < top.size(); ++i) {
      y += top[i];
      x += bottom[i];
    }
    for (std::size_t i = 0; i < top.size(); ++i) squares += std::pow(top[i] - y / x * bottom[i], 2);
    const auto n = double(top.size());
    return {y / x, std::sqrt(squares * n / (n - 1)) / x};
  }
};

}  // namespace

TEST_CASE(
    "counting twice beyond half the way to the edge gives edge plants their due, inside area alone does "
    "not") {
  const Geometry area = wavy_site_with_pond();
  const std::vector<Point> stems = edge_band_stems(area, 7);
  const double density = double(stems.size()) / area.area();
  REQUIRE(stems.size() > 500);
  const PolygonFrame frame(area, Grid{});
  StratumDrawer drawer(frame);
  const PreparedArea inside(area);
  const std::array<double, 2> size = {2, 10};
  Ratio walked, inside_only, whole_plots;
  for (int d = 0; d < 3000; ++d) {
    DrawRequest request;
    request.describe = false;
    request.stratum = "edges|v1";
    request.seed = std::uint64_t(d);
    request.planned = 12;
    RandomStream bearings(RandomKey(std::uint64_t(d), "bearings"));
    double y = 0, twice = 0, inside_m2 = 0, twice_m2 = 0, plot_m2 = 0;
    for (const Pin& pin : drawer.draw(request).pins) {
      const double bearing = double(bearings.below(360));
      const PlotArea plot = walk_through(area, UnitShape::belt, size, pin.at, bearing);
      inside_m2 += plot.inside_m2;
      twice_m2 += plot.twice_m2;
      plot_m2 += plot.plot_m2;
      const Point along = direction(bearing);
      for (const Point& stem : stems) {
        const double dx = stem.x - pin.at.x, dy = stem.y - pin.at.y;
        if (std::abs(dx * along.x + dy * along.y) > 5 || std::abs(dx * along.y - dy * along.x) > 1) continue;
        y += 1;
        twice += inside.contains({2 * stem.x - pin.at.x, 2 * stem.y - pin.at.y}) ? 0 : 1;
      }
    }
    walked.add(y + twice, inside_m2 + twice_m2);
    inside_only.add(y, inside_m2);
    whole_plots.add(inside_m2 + twice_m2, plot_m2);
  }
  const auto [estimate, error] = walked.value_and_error();
  const auto [lost, lost_error] = inside_only.value_and_error();
  const auto [area_ratio, area_error] = whole_plots.value_and_error();
  MESSAGE("true ", density, ", walk-through ", estimate, " ± ", error, ", inside only ", lost, " ± ",
          lost_error, ", searched area over plot area ", area_ratio, " ± ", area_error);
  CHECK(std::abs(estimate - density) < 4 * error);
  CHECK(error < 0.03 * density);
  CHECK(lost < 0.9 * density);
  CHECK(lost + 4 * lost_error < density);
  // What lies inside, with the twice zone, makes up whole plots on average.
  CHECK(std::abs(area_ratio - 1) < 4 * area_error);
}

}  // namespace walk_through_test
