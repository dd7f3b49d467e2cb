// Spread on ground of awkward shape, and after losses.
#include <doctest/doctest.h>

#include <numbers>

#include "../design/cell_frame.hpp"
#include "stems.hpp"
#include "swardline/design/drawing.hpp"

namespace balance_test {

using namespace swardline;

namespace {

Geometry disc(double x, double y, double hectares) {
  const double radius = std::sqrt(hectares * 1e4 / std::numbers::pi);
  std::vector<Point> ring;
  for (int i = 0; i < 720; ++i) {
    const double t = i * std::numbers::pi / 360;
    ring.push_back({x + radius * std::cos(t), y + radius * std::sin(t)});
  }
  return snapped_mm(polygon(ring));
}

std::vector<Point> points_every(const Geometry& area, double metres) {
  const PreparedArea inside(area);
  std::vector<Point> points;
  const Box box = area.box();
  for (double x = box.x0 + metres / 2; x < box.x1; x += metres) {
    for (double y = box.y0 + metres / 2; y < box.y1; y += metres) {
      if (inside.contains({x, y})) points.push_back({x, y});
    }
  }
  return points;
}

}  // namespace

TEST_CASE("planned plots are at least a quarter better spread than a hierarchical systematic draw") {
  constexpr int plots = 50, draws = 400;
  // Three quarters of a square of 300 m; two discs of 1 ha 400 m apart.
  const Geometry corner =
                     difference(box_polygon({1000, 1000, 1300, 1300}), box_polygon({1150, 1150, 1300, 1300})),
                 discs = polygons_of(united({disc(1100, 1100, 1), disc(1500, 1100, 1)}));
  for (const auto& [name, area, step] :
       {std::tuple(std::string("L"), &corner, 5.0), std::tuple(std::string("two discs"), &discs, 3.0)}) {
    const std::vector<Point> ground = points_every(*area, step);
    const PolygonFrame frame(*area, Grid{});
    StratumDrawer drawer(frame);
    Mean ours, systematic;
    for (int d = 0; d < draws; ++d) {
      DrawRequest request;
      request.describe = false;
      request.stratum = "shape|v1";
      request.seed = std::uint64_t(d);
      request.planned = plots;
      request.spares = plots / 2;
      std::vector<Point> planned, along;
      for (const Pin& pin : drawer.draw(request).pins) {
        if (!pin.spare) planned.push_back(pin.at);
      }
      for (const Candidate& c : drawer.candidates(plots, RandomKey(std::uint64_t(d), "systematic"))) {
        along.push_back(c.at);
      }
      ours.add(balance_index(ground, planned));
      systematic.add(balance_index(ground, along));
    }
    MESSAGE(name, ": planned ", ours.mean(), " ± ", ours.error(), ", systematic ", systematic.mean(), " ± ",
            systematic.error());
    CHECK(ours.mean() <= 0.75 * systematic.mean());
  }
}

TEST_CASE("with five of fifty plots lost and the first five spares in their place the spread holds") {
  constexpr int side = 50, plots = 50, draws = 1000, lost = 5;
  const CellFrame frame = square_of_cells(0, 0, side, 10);
  std::vector<Point> cells;
  for (int row = 0; row < side; ++row) {
    for (int col = 0; col < side; ++col) cells.push_back({double(col), double(row)});
  }
  StratumDrawer drawer(frame);
  Mean balance;
  for (int d = 0; d < draws; ++d) {
    DrawRequest request;
    request.describe = false;
    request.stratum = "square|v1";
    request.seed = std::uint64_t(d);
    request.planned = plots;
    request.spares = plots / 2;
    std::vector<Point> planned, used;
    for (const Pin& pin : drawer.draw(request).pins) {
      if (!pin.spare) planned.push_back({double(pin.col), double(pin.row)});
      if (pin.spare && pin.order <= lost) used.push_back({double(pin.col), double(pin.row)});
    }
    RandomStream loses(RandomKey(std::uint64_t(d), "lost"));
    for (int i = 0; i < lost; ++i)
      planned.erase(planned.begin() + std::ptrdiff_t(loses.below(planned.size())));
    planned.insert(planned.end(), used.begin(), used.end());
    REQUIRE(planned.size() == plots);
    balance.add(balance_index(cells, planned));
  }
  MESSAGE("balance after losses ", balance.mean(), " ± ", balance.error());
  CHECK(balance.mean() <= 0.13);
}

}  // namespace balance_test
