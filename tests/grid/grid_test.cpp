#include "swardline/grid/grid.hpp"

#include <doctest/doctest.h>

#include "swardline/base/random.hpp"

namespace grid_test {

using namespace swardline;

TEST_CASE("a cell's west and north side belong to it, its east and south side to the neighbours") {
  const Grid grid{3, 7, 10};
  CHECK(grid.col_of(3) == 0);
  CHECK(grid.col_of(12.999) == 0);
  CHECK(grid.col_of(13) == 1);
  CHECK(grid.col_of(2.999) == -1);
  CHECK(grid.row_of(7) == 0);
  CHECK(grid.row_of(-2.999) == 0);
  CHECK(grid.row_of(-3) == 1);
  CHECK(grid.row_of(7.001) == -1);
  CHECK(grid.row_of(4'200'000) == -419'999 - 1);
}

TEST_CASE("the centre of a cell lies in the cell, wherever it is") {
  RandomStream random(RandomKey(1, "cells"));
  for (const double cell_m : {0.25, 1.0, 9.3, 10.0, 30.0}) {
    const Grid grid{random.uniform() * cell_m, random.uniform() * cell_m, cell_m};
    for (int i = 0; i < 500; ++i) {
      const auto col = std::int64_t(random.below(2'000'000)) - 1'000'000;
      const auto row = std::int64_t(random.below(2'000'000)) - 1'000'000;
      const Point centre = grid.centre(col, row);
      CHECK(grid.col_of(centre.x) == col);
      CHECK(grid.row_of(centre.y) == row);
      const Box box = grid.cell_box(col, row);
      CHECK((box.x0 < centre.x && centre.x < box.x1 && box.y0 < centre.y && centre.y < box.y1));
    }
  }
}

TEST_CASE("the smallest window over a box takes no cell more for the rounding of a coordinate") {
  const Grid grid{0, 0, 10};
  CHECK(grid.covering({100, 200, 130, 250}) == Window{10, -25, 3, 5});
  CHECK(grid.covering({99.99, 200, 130.01, 250}) == Window{9, -25, 5, 5});
  CHECK(grid.covering({100 - 1e-10, 200 - 1e-10, 130 + 1e-10, 250 + 1e-10}) == Window{10, -25, 3, 5});
  CHECK(grid.covering({-35, -35, -35, -35}) == Window{-4, 3, 1, 1});
}

TEST_CASE("the box of a window is the window's again") {
  RandomStream random(RandomKey(2, "windows"));
  for (int i = 0; i < 500; ++i) {
    const Grid grid{random.uniform() * 12.5, random.uniform() * 12.5, 12.5};
    const Window window{std::int64_t(random.below(200'000)) - 100'000,
                        std::int64_t(random.below(200'000)) - 100'000, 1 + int(random.below(3000)),
                        1 + int(random.below(3000))};
    CHECK(grid.covering(grid.box(window)) == window);
  }
}

TEST_CASE("windows meet and unite") {
  const Window a{-5, -5, 10, 10}, b{2, -8, 10, 6}, far{100, 0, 1, 1};
  CHECK(intersect(a, b) == Window{2, -5, 3, 3});
  CHECK(intersect(b, a) == Window{2, -5, 3, 3});
  CHECK(unite(a, b) == Window{-5, -8, 17, 13});
  CHECK(intersect(a, far).empty());
  CHECK(unite({}, b) == b);
  CHECK(unite(b, {}) == b);
  CHECK(Window{0, 0, 3, 0}.empty());
}

TEST_CASE("whole-number division rounds down on both sides of zero") {
  CHECK(floor_div(-1, 256) == -1);
  CHECK(floor_div(-256, 256) == -1);
  CHECK(floor_div(-257, 256) == -2);
  CHECK(floor_div(255, 256) == 0);
  CHECK(floor_div(256, 256) == 1);
  CHECK(Block{-1, 2}.window() == Window{-256, 512, 256, 256});
}

}  // namespace grid_test
