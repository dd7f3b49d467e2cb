// Draws with chances in proportion to a weight.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "cell_frame.hpp"
#include "swardline/base/error.hpp"
#include "swardline/design/closeness.hpp"
#include "swardline/design/drawing.hpp"

namespace weights_test {

using namespace swardline;

namespace {

Geometry slanting_ground() {
  return difference(polygon({{2400, 100}, {2700, 130}, {2710, 260}, {2560, 250}, {2550, 420}, {2410, 400}}),
                    box_polygon({2460, 180, 2490, 203}));
}

/// Whole percents that rise to the east, by cells of 10 m.
std::int32_t rising(std::int64_t col, std::int64_t) { return std::int32_t(5 + 3 * (col - 240)); }

DrawRequest request(std::uint64_t seed, int planned, int spares, double apart_m = 0) {
  DrawRequest made;
  made.stratum = "QPR|score=50-75|v1";
  made.seed = seed;
  made.planned = planned;
  made.spares = spares;
  made.apart_m = apart_m;
  return made;
}

bool same_pins(const StratumDraw& a, const StratumDraw& b) {
  return std::equal(a.pins.begin(), a.pins.end(), b.pins.begin(), b.pins.end(),
                    [](const Pin& p, const Pin& q) {
                      return p.at.x == q.at.x && p.at.y == q.at.y && p.spare == q.spare && p.order == q.order;
                    });
}

}  // namespace

TEST_CASE("chances over fine cells sum to the number of plots, by areas from another library") {
  const Grid grid{};
  const Geometry ground = slanting_ground();
  const PolygonFrame frame(ground, grid, rising);
  const StratumDraw draw = draw_stratum(frame, request(1, 12, 6));
  REQUIRE(draw.pins.size() == 18);
  const Pin& pin = draw.pins.front();
  CHECK(pin.weight == rising(pin.col, pin.row));
  // Chance per m² = planned × weight / weighted_mm2; the cells' areas here are GEOS's.
  double sum = 0;
  const Box box = ground.box();
  for (std::int64_t col = grid.col_of(box.x0); col <= grid.col_of(box.x1); ++col) {
    for (std::int64_t row = std::min(grid.row_of(box.y0), grid.row_of(box.y1));
         row <= std::max(grid.row_of(box.y0), grid.row_of(box.y1)); ++row) {
      const double area = polygons_of(intersection(ground, box_polygon(grid.cell_box(col, row)))).area();
      sum += area * 12 * double(rising(col, row)) / (double(draw.weighted_mm2) * 1e-6);
    }
  }
  CHECK(sum == doctest::Approx(12).epsilon(1e-7));
  CHECK(double(draw.area_mm2) * 1e-6 == doctest::Approx(ground.area()).epsilon(1e-7));
}

TEST_CASE("the same weight everywhere draws the same plots as no weight") {
  const Geometry ground = slanting_ground();
  const PolygonFrame plain(ground, Grid{}),
      ones(ground, Grid{}, [](std::int64_t, std::int64_t) { return 1; });
  for (const double apart_m : {0.0, 30.0, 60.0}) {
    const StratumDraw a = draw_stratum(plain, request(5, 20, 10, apart_m)),
                      b = draw_stratum(ones, request(5, 20, 10, apart_m));
    CHECK(same_pins(a, b));
    CHECK(a.balance == b.balance);
    CHECK(a.largest_departure == b.largest_departure);
    CHECK(a.weighted_mm2 == a.area_mm2);
  }
}

TEST_CASE("ground of weight 0 is never drawn, and nothing at all is drawn where all of it is") {
  const Geometry ground = slanting_ground();
  const PolygonFrame frame(ground, Grid{}, [](std::int64_t col, std::int64_t) { return col < 255 ? 0 : 40; });
  for (std::uint64_t seed = 0; seed < 50; ++seed) {
    for (const Pin& pin : draw_stratum(frame, request(seed, 10, 5)).pins) CHECK(pin.col >= 255);
  }
  const PolygonFrame none(ground, Grid{}, [](std::int64_t, std::int64_t) { return 0; });
  const StratumDraw draw = draw_stratum(none, request(1, 10, 5));
  CHECK(draw.pins.empty());
  CHECK(draw.shortfalls.size() == 1);
}

namespace {

/// The share on the heavy half and its standard error, over sets of points.
template <typename Draw>
std::pair<double, double> heavy_share(int sets, const Draw& draw) {
  double heavy = 0, all = 0, squares = 0;
  for (int d = 0; d < sets; ++d) {
    const std::vector<Point> points = draw(std::uint64_t(d));
    const auto here = double(std::count_if(points.begin(), points.end(), [](Point p) { return p.x > 200; }));
    heavy += here;
    all += double(points.size());
    // The error of a ratio, with the share it should have.
    squares += std::pow(here - 0.75 * double(points.size()), 2);
  }
  return {heavy / all, std::sqrt(squares) / all};
}

}  // namespace

TEST_CASE("plots fall in proportion to the weight, and so does the lattice that far-apart plots become") {
  // Two halves of equal area, weights 1 and 3.
  const Geometry area = box_polygon({0, 0, 400, 200});
  const PolygonFrame frame(area, Grid{}, [](std::int64_t col, std::int64_t) { return col < 20 ? 1 : 3; });
  StratumDrawer drawer(frame);
  const auto [drawn, error] = heavy_share(1500, [&](std::uint64_t seed) {
    std::vector<Point> points;
    for (const Pin& pin : drawer.draw(request(seed, 16, 0)).pins) points.push_back(pin.at);
    return points;
  });
  CHECK_MESSAGE(std::abs(drawn - 0.75) < 4 * error, drawn, " ± ", error);
  CHECK(error < 0.005);

  Ground ground(frame);
  const auto [on_lattice, lattice_error] = heavy_share(1500, [&](std::uint64_t seed) {
    std::vector<Point> points;
    for (const Candidate& c : lattice_points(ground, 30, RandomKey(seed, "lattice"))) points.push_back(c.at);
    return points;
  });
  CHECK_MESSAGE(std::abs(on_lattice - 0.75) < 4 * lattice_error, on_lattice, " ± ", lattice_error);
  CHECK(lattice_error < 0.005);

  const StratumDraw far = drawer.draw(request(1, 16, 0, 50));
  CHECK(far.method == DrawMethod::lattice);
  CHECK(far.notes.back().find("kept with chances in proportion to the weight") != std::string::npos);
}

TEST_CASE("weights too large to add up exactly are refused") {
  const Geometry ground = box_polygon({0, 0, 400'000, 400'000});
  Grid coarse;
  coarse.cell_m = 100'000;
  // 1.6e17 mm² × 1e6 is past 63 bits.
  CHECK_THROWS_WITH_AS(PolygonFrame(ground, coarse, [](std::int64_t, std::int64_t) { return 1'000'000; }),
                       doctest::Contains("weight_step"), InputError);
}

}  // namespace weights_test
