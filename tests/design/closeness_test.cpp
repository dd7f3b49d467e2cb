#include "swardline/design/closeness.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "../simulation/sites.hpp"
#include "cell_frame.hpp"
#include "swardline/design/drawing.hpp"

namespace closeness_test {

using namespace swardline;

namespace {

DrawRequest request(int planned, int spares, double apart_m, std::uint64_t seed = 2027) {
  DrawRequest r;
  r.stratum = "FLG|all|v1";
  r.seed = seed;
  r.planned = planned;
  r.spares = spares;
  r.apart_m = apart_m;
  return r;
}

double nearest_pair(const std::vector<Pin>& pins) {
  double nearest = 1e9;
  for (std::size_t i = 0; i < pins.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      nearest = std::min(nearest, std::hypot(pins[i].at.x - pins[j].at.x, pins[i].at.y - pins[j].at.y));
    }
  }
  return nearest;
}

bool says(const StratumDraw& draw, const std::string& words) {
  const auto holds = [&](const std::string& note) { return note.find(words) != std::string::npos; };
  return std::any_of(draw.notes.begin(), draw.notes.end(), holds) ||
         std::any_of(draw.shortfalls.begin(), draw.shortfalls.end(), holds);
}

}  // namespace

TEST_CASE("up to three tenths of the mean spacing close pairs give way to spares, and it is counted") {
  const CellFrame frame = square_of_cells(0, 0, 16, 10);  // 160 m square, 16 plots: mean spacing 40 m
  StratumDrawer drawer(frame);
  int replaced = 0;
  for (std::uint64_t seed = 0; seed < 300; ++seed) {
    const StratumDraw draw = drawer.draw(request(16, 8, 12, seed));
    REQUIRE(draw.pins.size() == 24);
    CHECK(nearest_pair(draw.pins) >= 12);
    CHECK(draw.method == DrawMethod::pivotal);
    CHECK_FALSE(draw.largest_departure.has_value());
    CHECK(says(draw, "replaced from the spares") == (draw.replaced_for_closeness > 0));
    replaced += draw.replaced_for_closeness;
  }
  CHECK(replaced > 0);
}

TEST_CASE("a plot too near one before it gives way to the first spare that is far enough") {
  const std::vector<Point> points = {{0, 0}, {1, 0}, {50, 0}, {50.5, 0}, {20, 0}, {80, 0}};
  Chosen chosen;
  chosen.planned = {0, 1, 2};
  chosen.spares = {3, 4, 5};
  const RandomKey key(1, "apart");
  const KeptApart kept = keep_apart(points, chosen, 5, 2, key);
  CHECK(kept.planned == std::vector<std::size_t>{0, 4, 2});
  CHECK(kept.spares == std::vector<std::size_t>{5});
  CHECK(kept.replaced == 1);
  const KeptApart wide = keep_apart(points, chosen, 60, 2, key);
  CHECK(wide.planned == std::vector<std::size_t>{0, 5});
  CHECK(wide.spares.empty());
}

TEST_CASE("a distance that binds without harm is simulated and the pivotal draw stays") {
  // 300 m square, 9 plots: mean spacing 100 m; 32 m is just over three tenths of it.
  const CellFrame frame = square_of_cells(0, 0, 30, 10);
  const StratumDraw draw = draw_stratum(frame, request(9, 3, 32));
  CHECK(draw.method == DrawMethod::pivotal);
  REQUIRE(draw.largest_departure.has_value());
  CHECK(draw.redraws == 1000);
  CHECK((*draw.largest_departure < 0.05 || *draw.largest_departure < 3 * draw.largest_departure_error));
  CHECK(draw.pins.size() == 12);
  CHECK(nearest_pair(draw.pins) >= 32);
}

TEST_CASE(
    "what the rule does to the strip along the edge is looked at too, beyond the noise of the redraws") {
  const Geometry area = wavy_site_with_pond();
  const PolygonFrame frame(area, Grid{});
  Ground ground(frame);
  DrawRequest r = request(12, 4, 27);  // six tenths of the mean spacing
  const RandomKey key(3, "departure");
  const Departure without = simulate_departure(ground, r, 320, key);
  r.survey_area = &area;
  r.reach_m = 5.1;
  const Departure with = simulate_departure(ground, r, 320, key);
  // The rule drives plots to the edge, where fewer others are near: more so than into any of 20 parts.
  CHECK(with.at_edge);
  CHECK(with.largest > without.largest);
  CHECK(with.largest > 0.05);
  CHECK(with.largest > 5 * with.error);
  CHECK(with.beyond_noise);
  CHECK_FALSE(without.at_edge);
  CHECK(with.redraws == 1000);
}

TEST_CASE("a distance that spoils equal chances makes the draw a lattice, and it says so") {
  const CellFrame frame = square_of_cells(0, 0, 10, 10);  // 100 m square, 12 plots: mean spacing 29 m
  for (std::uint64_t seed = 0; seed < 3; ++seed) {
    const StratumDraw draw = draw_stratum(frame, request(12, 2, 24, seed));
    CHECK(draw.method == DrawMethod::lattice);
    REQUIRE(draw.largest_departure.has_value());
    CHECK(says(draw, "triangular lattice 24 m apart"));
    CHECK(says(draw, "the chance is the same everywhere, the number is random: "));
    CHECK(nearest_pair(draw.pins) >= 24);
    CHECK(draw.pins.size() <= 14);
    CHECK(draw.pins.size() >= 10);
  }
}

TEST_CASE("a plan that refuses gets no plots and the distance that does no harm") {
  const CellFrame frame = square_of_cells(0, 0, 10, 10);
  DrawRequest r = request(12, 2, 24);
  r.refuse_when_apart_binds = true;
  const StratumDraw draw = draw_stratum(frame, r);
  CHECK(draw.method == DrawMethod::refused);
  CHECK(draw.pins.empty());
  CHECK(says(draw, "the plan says to refuse. Up to 8.66 m does no harm"));
}

TEST_CASE("ten plots 15 m apart do not fit a strip of 60 by 18.3 m, and a distance that fits is named") {
  const Geometry area = small_strip();
  const PolygonFrame frame(area, Grid{});
  StratumDrawer drawer(frame);
  DrawRequest r = request(10, 0, 15);
  r.survey_area = &area;
  r.reach_m = 5.1;
  const StratumDraw draw = drawer.draw(r);
  const std::size_t fitted = draw.pins.size();
  CHECK(fitted >= 3);
  CHECK(fitted <= 9);
  CHECK(nearest_pair(draw.pins) >= 15);
  REQUIRE(draw.apart_that_fits_m.has_value());
  CHECK(*draw.apart_that_fits_m > 7);
  CHECK(*draw.apart_that_fits_m < 11);
  REQUIRE(draw.shortfalls.size() == 1);
  MESSAGE(draw.shortfalls[0]);
  CHECK(says(draw, std::to_string(fitted) + " of 10 plots drawn: of a lattice 15 m apart, laid at random, " +
                       std::to_string(fitted) + " points fell on this ground"));
  // 60 × 18.3 m² over √3/2 · 15² m² a point.
  CHECK(says(draw, "(their number is random, 5.6 on average)"));
  CHECK(says(draw, "; about "));
  // What is said to fit does fit.
  r.apart_m = *draw.apart_that_fits_m;
  const StratumDraw again = drawer.draw(r);
  CHECK(again.pins.size() == 10);
  CHECK(nearest_pair(again.pins) >= r.apart_m);
}

TEST_CASE("a distance wider than the site leaves one plot or none and ends") {
  const PolygonFrame frame(small_strip(), Grid{});
  bool met_none = false, met_one = false;
  for (std::uint64_t seed = 0; seed < 60 && !(met_none && met_one); ++seed) {
    // At 40 m one plot always fits somewhere, yet the lattice may fall with none: nothing may say "0 fit".
    const StratumDraw draw = draw_stratum(frame, request(10, 5, seed == 0 ? 500 : 40, seed));
    CHECK(draw.pins.size() <= 2);
    CHECK(draw.apart_that_fits_m.has_value());
    CHECK_FALSE(says(draw, " fit at "));
    CHECK(says(draw, " would give 10"));
    CHECK(says(draw, "no estimate can be made for this stratum") == draw.pins.empty());
    CHECK(says(draw, "without a standard error") == (draw.pins.size() == 1));
    met_none = met_none || draw.pins.empty();
    met_one = met_one || draw.pins.size() == 1;
  }
  CHECK(met_none);
  CHECK(met_one);
}

TEST_CASE("a lattice thinned to the number asked for keeps equal chances where simple thinning does not") {
  // About as many points fall as are asked for, on a strip where their number depends on where they fall.
  const PolygonFrame frame(small_strip(), Grid{});
  Ground ground(frame);
  const Box box = small_strip().box();
  const auto worst_departure = [&](bool weighed) {
    constexpr int draws = 20000, columns = 6, rows = 3, parts = columns * rows, planned = 5;
    std::vector<double> sum(parts, 0), squares(parts, 0);
    double all = 0;
    for (int d = 0; d < draws; ++d) {
      const RandomKey key(std::uint64_t(d), "thinned");
      std::vector<Point> points;
      for (const Candidate& c :
           weighed ? lattice_to_thin(ground, 15, planned, key) : lattice_points(ground, 15, key)) {
        points.push_back(c.at);
      }
      std::array<double, parts> count{};
      for (const std::size_t i :
           pivotal_sample(points, std::min<std::size_t>(planned, points.size()), key.under("thin"))) {
        const auto col = std::min(columns - 1, int((points[i].x - box.x0) / (box.x1 - box.x0) * columns));
        const auto row = std::min(rows - 1, int((points[i].y - box.y0) / (box.y1 - box.y0) * rows));
        count[std::size_t(col * rows + row)] += 1;
        all += 1;
      }
      for (std::size_t p = 0; p < parts; ++p) {
        sum[p] += count[p];
        squares[p] += count[p] * count[p];
      }
    }
    double worst = 0;
    for (std::size_t p = 0; p < parts; ++p) {
      const double mean = sum[p] / draws;
      const double error = std::sqrt((squares[p] / draws - mean * mean) * draws);
      worst = std::max(worst, std::abs(sum[p] - all / parts) / error);
    }
    return worst;
  };
  const double weighed = worst_departure(true), simple = worst_departure(false);
  MESSAGE("largest departure in standard errors: weighed ", weighed, ", simple ", simple);
  CHECK(weighed < 4);
  CHECK(simple > 4);
}

TEST_CASE("lattice points are on the ground, far enough apart, and every spot has the same chance") {
  const Geometry area =
      difference(polygon({{3.2, 4.1}, {87.3, 20.7}, {41.9, 77.4}}), box_polygon({40, 30, 50, 40}));
  const PolygonFrame frame(area, Grid{});
  Ground ground(frame);
  const PreparedArea inside(area);
  const double apart = 9;
  std::vector<Geometry> parts;
  for (int i = 0; i < 12; ++i) {
    parts.push_back(
        clipped(area, {3 + 22.0 * (i / 3), 3 + 25.0 * (i % 3), 25 + 22.0 * (i / 3), 28 + 25.0 * (i % 3)}));
  }
  std::vector<double> sum(12, 0), squares(12, 0);
  const int draws = 3000;
  for (int d = 0; d < draws; ++d) {
    std::vector<double> count(12, 0);
    std::vector<Pin> pins;
    for (const Candidate& c : lattice_points(ground, apart, RandomKey(std::uint64_t(d), "lattice"))) {
      REQUIRE(inside.contains(c.at));
      ++count[std::size_t((c.at.x - 3) / 22) * 3 + std::size_t((c.at.y - 3) / 25)];
      if (d < 50) pins.push_back({c.at, c.col, c.row, false, 1});
    }
    if (d < 50) CHECK(nearest_pair(pins) >= apart);
    for (std::size_t p = 0; p < 12; ++p) {
      sum[p] += count[p];
      squares[p] += count[p] * count[p];
    }
  }
  for (std::size_t p = 0; p < 12; ++p) {
    const double expected = parts[p].area() / (std::sqrt(3.0) / 2 * 9.0015 * 9.0015);
    const double mean = sum[p] / draws;
    const double error = std::sqrt(std::max(0.0, squares[p] / draws - mean * mean) / draws);
    CHECK(std::abs(mean - expected) < 4 * error + 1e-3);
  }
}

}  // namespace closeness_test
