// How evenly draws spread over a 50 × 50 frame. The reference ranges for the mean of 1,000 draws are from an
// own simulation by two independent programs (numpy and C++) that agree within Monte Carlo error; index:
// Stevens & Olsen 2004, JASA 99:262-278; designs: Grafström, Lundström & Schelin 2012, Biometrics 68:514-520.
#include <doctest/doctest.h>

#include "../design/cell_frame.hpp"
#include "swardline/design/drawing.hpp"

namespace spread_test {

using namespace swardline;

namespace {

constexpr int side = 50, plots = 50, draws = 1000;

std::vector<Point> cells_as_points() {
  std::vector<Point> points;
  for (int row = 0; row < side; ++row) {
    for (int col = 0; col < side; ++col) points.push_back({double(col), double(row)});
  }
  return points;
}

/// Squared error of the mean of x + y over cell centres of the unit square, whose mean is 1.
double squared_error_on_trend(const std::vector<Point>& sample) {
  double sum = 0;
  for (const Point& p : sample) sum += (p.x + 0.5) / side + (p.y + 0.5) / side;
  const double error = sum / double(sample.size()) - 1;
  return error * error;
}

/// Variance of that mean in simple random draws of 50 cells: (1 - n/N)·S²/n.
constexpr double simple_random_on_trend = 0.00326667;

}  // namespace

TEST_CASE("planned plots and spares of a whole draw are spread, and every size is exact") {
  const std::vector<Point> cells = cells_as_points();
  const CellFrame frame = square_of_cells(0, 0, side, 10);
  for (const int spares : {25, 50}) {
    StratumDrawer drawer(frame);
    double planned_balance = 0, all_balance = 0, trend = 0;
    for (int d = 0; d < draws; ++d) {
      DrawRequest request;
      request.describe = false;
      request.stratum = "square|v1";
      request.seed = std::uint64_t(d);
      request.planned = plots;
      request.spares = spares;
      const StratumDraw draw = drawer.draw(request);
      std::vector<Point> planned, all;
      for (const Pin& pin : draw.pins) {
        all.push_back({double(pin.col), double(pin.row)});
        if (!pin.spare) planned.push_back(all.back());
      }
      REQUIRE(planned.size() == plots);
      REQUIRE(all.size() == std::size_t(plots + spares));
      planned_balance += balance_index(cells, planned) / draws;
      all_balance += balance_index(cells, all) / draws;
      trend += squared_error_on_trend(planned) / draws;
    }
    MESSAGE("spares ", spares, ": planned ", planned_balance, ", with spares ", all_balance, ", trend ",
            trend / simple_random_on_trend);
    CHECK(planned_balance <= 0.070);
    CHECK(all_balance <= 0.11);
    // The range of a local pivotal draw of all cells; four standard errors wide.
    CHECK(trend / simple_random_on_trend > 0.034);
    CHECK(trend / simple_random_on_trend < 0.053);
  }
}

TEST_CASE("the local pivotal sample of all cells has the published balance and variance") {
  const std::vector<Point> cells = cells_as_points();
  double balance = 0, trend = 0;
  for (int d = 0; d < draws; ++d) {
    const std::vector<std::size_t> units =
        pivotal_sample(cells, plots, RandomKey(std::uint64_t(d), "all cells"));
    std::vector<Point> sample;
    for (const std::size_t unit : units) sample.push_back(cells[unit]);
    balance += balance_index(cells, units) / draws;
    trend += squared_error_on_trend(sample) / draws;
  }
  MESSAGE("balance ", balance, ", trend ", trend / simple_random_on_trend);
  CHECK(balance > 0.0645);
  CHECK(balance < 0.069);
  CHECK(trend / simple_random_on_trend > 0.034);
  CHECK(trend / simple_random_on_trend < 0.053);
}

TEST_CASE("the hierarchical systematic draw alone has the published balance and variance") {
  // The frame is shifted at random within a tree of 64 × 64 cells, as in the reference.
  const std::vector<Point> cells = cells_as_points();
  double balance = 0, trend = 0;
  for (int d = 0; d < draws; ++d) {
    const RandomKey key(std::uint64_t(d), "systematic");
    RandomStream random(key.under("shift"));
    const auto col = std::int64_t(random.below(15)), row = std::int64_t(random.below(15));
    std::vector<Point> sample;
    for (const Candidate& c : hierarchical_candidates(square_of_cells(col, row, side, 10), plots, key)) {
      sample.push_back({double(c.col - col), double(c.row - row)});
    }
    REQUIRE(sample.size() == plots);
    balance += balance_index(cells, sample) / draws;
    trend += squared_error_on_trend(sample) / draws;
  }
  MESSAGE("balance ", balance, ", trend ", trend / simple_random_on_trend);
  CHECK(balance > 0.099);
  CHECK(balance < 0.106);
  CHECK(trend / simple_random_on_trend > 0.051);
  CHECK(trend / simple_random_on_trend < 0.076);
}

}  // namespace spread_test
