// Measures finer than the grid become means.
#include <algorithm>
#include <cmath>
#include <limits>

#include "made_layers.hpp"

namespace averaging_test {

using namespace grid_test;
using namespace swardline;

namespace {

constexpr float none = std::numeric_limits<float>::quiet_NaN();

/// A layer of this cell size whose north-west corner is the made files'.
void base(MadePlan& made, double cell) {
  MadeFile file;
  file.value = [](int, int) { return 1; };
  file.gt = {west, cell, 0, north, 0, -cell};
  file.type = GDT_Byte;
  made.measure("base", file);
}

}  // namespace

TEST_CASE("finer measures become the mean of the cells within, by the ground they share") {
  struct Case {
    double finer, shift;
  };
  // Shifts that cut the outermost cells of the grid, and those that leave them whole.
  for (const Case& one :
       {Case{2.5, 0}, Case{3, 0}, Case{6, 0}, Case{6, 3.7}, Case{2.5, 3.7}, Case{3, 9.1}, Case{0.5, 6.2}}) {
    CAPTURE(one.finer);
    CAPTURE(one.shift);
    MadePlan made;
    base(made, 0.1);
    MadeFile file;
    file.gt = {west + 20 + one.shift, one.finer, 0, north - 30 - one.shift, 0, -one.finer};
    file.cols = file.rows = 120;
    file.none = -1;
    file.value = [](int col, int row) {
      return number(9, col, row, 50) == 0 || (col > 70 && row > 70) ? -1 : number(10, col, row, 1000);
    };
    made.measure("moisture", file);
    made.plan.grid.cell_m = 10;
    const int side = int(120 * one.finer / 10) + 4;
    const std::vector<float> cells = made.read("moisture", {60001, -420000 + 2, side, side});
    // Ground that a cell of the grid and one of the file share, in metres from the file's corner.
    const auto shared = [&](int cell, int own) {
      const double begin = 10 * (cell - 1) - one.shift;
      const double metres = std::min(begin + 10, one.finer * (own + 1)) - std::max(begin, one.finer * own);
      return metres < 1e-5 ? 0 : metres;
    };
    std::vector<float> expected;
    for (int r = 0; r < side; ++r)
      for (int c = 0; c < side; ++c) {
        double sum = 0, ground = 0;
        for (int row = 0; row < 120; ++row)
          for (int col = 0; shared(r, row) > 0 && col < 120; ++col)
            if (const double v = file.value(col, row); shared(c, col) > 0 && v >= 0) {
              sum += v * shared(c, col) * shared(r, row);
              ground += shared(c, col) * shared(r, row);
            }
        expected.push_back(ground > 0 ? float(sum / ground) : none);
      }
    const Difference off = difference(cells, expected);
    CHECK(off.only_one == 0);
    CHECK(off.largest < 2e-3);
    CHECK(off.compared > side * side / 3);
  }
}

TEST_CASE("a cell beside data that shares no ground with it has none") {
  // Corners that are no whole number of cells from 0, so that coordinates are rounded.
  for (const double finer : {5.0, 2.5, 2.0, 1.0, 0.5})
    for (const double corner : {3.7, 0.1, 6.3}) {
      CAPTURE(finer);
      CAPTURE(corner);
      MadePlan made;
      MadeFile file;
      const int times = int(10 / finer);
      file.gt = {west + corner, finer, 0, north - corner, 0, -finer};
      file.cols = file.rows = 24 * times;
      file.type = GDT_Byte;
      file.none = 0;
      file.value = [times](int col, int row) { return (col / times + row / times) % 2; };
      made.measure("litter", file);
      made.plan.grid.cell_m = 10;
      const Layers layers = made.open();
      Window window = layers.infos()[0].extent;
      REQUIRE(window.cols == 24);
      window = {window.col - 2, window.row - 2, 28, 28};
      std::vector<float> expected;
      for (int r = -2; r < 26; ++r)
        for (int c = -2; c < 26; ++c) {
          const bool inside = r >= 0 && c >= 0 && r < 24 && c < 24;
          expected.push_back(inside && (r + c) % 2 == 1 ? 1 : none);
        }
      CHECK(differing(made.read("litter", window), expected) == 0);
    }
}

TEST_CASE("beyond the extent of a turned layer there is nothing, in any window") {
  for (int degrees = 5; degrees < 90; degrees += 5) {
    CAPTURE(degrees);
    MadePlan made;
    base(made, 10);
    MadeFile file;
    const double east = 2 * std::cos(degrees * 0.0174533), up = 2 * std::sin(degrees * 0.0174533);
    file.gt = {west + 505, east, up, north - 505, up, -east};
    file.cols = file.rows = 150;
    file.value = [](int, int) { return 1; };
    made.measure("litter", file);
    made.plan.grid.cell_m = 10;
    const Window extent = made.open({"litter"}).infos()[0].extent;
    const Window around{extent.col - 3, extent.row - 3, extent.cols + 6, extent.rows + 6};
    const std::vector<float> cells = made.read("litter", around);
    int beyond = 0, within = 0;
    for (int r = 0; r < around.rows; ++r)
      for (int c = 0; c < around.cols; ++c) {
        const float cell = cells[std::size_t(r * around.cols + c)];
        if (std::isnan(cell)) continue;
        ++(intersect({around.col + c, around.row + r, 1, 1}, extent).empty() ? beyond : within);
      }
    CHECK(beyond == 0);
    CHECK(within > 900);  // the file's own ground is 900 cells
  }
}

TEST_CASE("very fine files are warped in parts without a seam") {
  MadePlan made;
  base(made, 10);
  MadeFile file;
  constexpr int times = 20;  // 0.5 m cells: 2,560 to a block of the grid would be 26 million
  file.gt = {west, 10.0 / times, 0, north, 0, -10.0 / times};
  file.cols = 129 * times;
  file.rows = 90 * times;  // 4.6 million cells in one block of the grid
  file.type = GDT_Byte;
  file.value = [](int col, int row) { return (col * 7 + row * 13 + (col * row) % 5) % 251; };
  made.measure("litter", file);
  made.plan.grid.cell_m = 10;
  const std::vector<float> cells = made.read("litter", {60000, -420000, 129, 90});
  double worst = 0;
  for (int r = 0; r < 90; ++r)
    for (int c = 0; c < 129; ++c) {
      double sum = 0;
      for (int row = r * times; row < (r + 1) * times; ++row)
        for (int col = c * times; col < (c + 1) * times; ++col) sum += file.value(col, row);
      worst = std::max(worst, std::abs(double(cells[std::size_t(r * 129 + c)]) - sum / times / times));
    }
  CHECK(worst < 1e-3);
}

TEST_CASE("a slightly finer measure is interpolated, a much finer one averaged, a class never") {
  for (const double cell : {10.0, 7.0, 6.6, 2.0}) {
    CAPTURE(cell);
    MadePlan made;
    base(made, 10);
    MadeFile file;
    file.gt = {west + 1, cell, 0, north, 0, -cell};
    file.value = [](int, int) { return 1; };
    file.type = GDT_Byte;
    made.measure("moisture", file);
    made.classes("cover", file, {1});
    made.plan.grid.cell_m = 10;
    const Layers layers = made.open({"moisture", "cover"});
    const auto says = [&](std::size_t i, const char* what) {
      return layers.infos()[i].how.find(what) != std::string::npos;
    };
    CHECK(says(0, cell > 6.66 ? "bilinear" : "average"));
    CHECK(says(1, "nearest cell"));
    CHECK_FALSE(layers.infos()[0].bytes);
    CHECK(layers.infos()[1].bytes);
  }
}

}  // namespace averaging_test
