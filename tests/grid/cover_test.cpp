#include "swardline/grid/cover.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <numeric>

#include "swardline/base/random.hpp"

namespace cover_test {

using namespace swardline;

namespace {

using Cells = std::map<std::pair<std::int64_t, std::int64_t>, std::int64_t>;

/// Covered square millimetres of every cell that is covered at all.
Cells cover_of(const Geometry& area, const Grid& grid) {
  Cells cells;
  std::vector<std::int64_t> mm2(std::size_t{block_cells} * block_cells);
  for (const BlockPiece& piece : cut_into_blocks(area, grid)) {
    std::fill(mm2.begin(), mm2.end(), 0);
    add_cover(piece, grid, mm2);
    const Window window = piece.block.window();
    for (std::size_t i = 0; i < mm2.size(); ++i)
      if (mm2[i] != 0)
        cells[{window.col + std::int64_t(i % 256), window.row + std::int64_t(i / 256)}] += mm2[i];
  }
  return cells;
}

double sum_m2(const Cells& cells) {
  double sum = 0;
  for (const auto& [at, mm2] : cells) sum += double(mm2) * 1e-6;
  return sum;
}

std::int64_t at(const Cells& cells, std::int64_t col, std::int64_t row) {
  const auto found = cells.find({col, row});
  return found == cells.end() ? 0 : found->second;
}

/// A star about a point: any radius at any angle, so it never crosses itself.
std::vector<Point> star(RandomStream& random, Point middle, double radius, int points) {
  std::vector<Point> ring;
  for (int i = 0; i < points; ++i) {
    const double angle = 2 * std::numbers::pi * i / points;
    const double r = radius * (0.3 + 0.7 * random.uniform());
    ring.push_back({middle.x + r * std::cos(angle), middle.y + r * std::sin(angle)});
  }
  return ring;
}

constexpr std::int64_t m2 = 1'000'000;  // square millimetres

}  // namespace

TEST_CASE("a square over four cells of a 3x3 grid covers each as drawn by hand") {
  const Grid grid{0, 0, 10};
  // From (5, -25) to (18, -8): cells of columns 0-1, rows 0-2.
  const Cells cells = cover_of(from_wkt("POLYGON((5 -25, 18 -25, 18 -8, 5 -8, 5 -25))"), grid);
  CHECK(cells.size() == 6);
  CHECK(at(cells, 0, 0) == 5 * 2 * m2);
  CHECK(at(cells, 1, 0) == 8 * 2 * m2);
  CHECK(at(cells, 0, 1) == 5 * 10 * m2);
  CHECK(at(cells, 1, 1) == 8 * 10 * m2);
  CHECK(at(cells, 0, 2) == 5 * 5 * m2);
  CHECK(at(cells, 1, 2) == 8 * 5 * m2);
}

TEST_CASE("a triangle cuts cells along its slanting side") {
  const Grid grid{0, 0, 10};
  // Below the line from (0, 0) to (30, -30): half of each cell on the diagonal, all of those under it.
  const Cells cells = cover_of(from_wkt("POLYGON((0 0, 0 -30, 30 -30, 0 0))"), grid);
  CHECK(cells.size() == 6);
  for (int i = 0; i < 3; ++i) CHECK(at(cells, i, i) == 50 * m2);
  CHECK(at(cells, 0, 1) == 100 * m2);
  CHECK(at(cells, 0, 2) == 100 * m2);
  CHECK(at(cells, 1, 2) == 100 * m2);
}

TEST_CASE("a sliver and a speck inside one cell keep their own area") {
  const Grid grid{0, 0, 10};
  const Cells sliver = cover_of(from_wkt("POLYGON((1 -4, 29 -4.001, 29 -4, 1 -4))"), grid);
  CHECK(sum_m2(sliver) == doctest::Approx(0.014).epsilon(1e-4));
  CHECK(sliver.size() == 3);
  const Cells speck = cover_of(from_wkt("POLYGON((13 -13, 13.1 -13, 13.1 -13.2, 13 -13.2, 13 -13))"), grid);
  CHECK(speck.size() == 1);
  CHECK(at(speck, 1, 1) == 20'000);
}

TEST_CASE("holes are left out and the parts of a multipolygon added") {
  const Grid grid{0, 0, 10};
  const Cells holed = cover_of(
      from_wkt("POLYGON((0 0, 0 -30, 30 -30, 30 0, 0 0), (10 -10, 20 -10, 20 -20, 10 -20, 10 -10))"), grid);
  CHECK(holed.size() == 8);  // the hole is the middle cell, to the millimetre
  CHECK(at(holed, 1, 1) == 0);
  CHECK(sum_m2(holed) == doctest::Approx(800));

  const Cells within = cover_of(
      from_wkt("POLYGON((0 0, 0 -30, 30 -30, 30 0, 0 0), (12 -13, 16 -13, 16 -18, 12 -18, 12 -13))"), grid);
  CHECK(within.size() == 9);
  CHECK(at(within, 1, 1) == 80 * m2);

  // Two parts share cell (1, 0); the second has an island in its hole.
  const Cells parts =
      cover_of(from_wkt("MULTIPOLYGON(((0 0, 12 0, 12 -10, 0 -10, 0 0)),"
                        "((15 0, 15 -10, 30 -10, 30 0, 15 0), (21 -1, 29 -1, 29 -9, 21 -9, 21 -1)),"
                        "((24 -4, 26 -4, 26 -6, 24 -6, 24 -4)))"),
               grid);
  CHECK(at(parts, 0, 0) == 100 * m2);
  CHECK(at(parts, 1, 0) == (20 + 50) * m2);
  CHECK(at(parts, 2, 0) == (100 - 64 + 4) * m2);
}

TEST_CASE("a polygon whose sides run along cell edges covers those cells whole and no other") {
  for (const double cell_m : {10.0, 0.3, 9.3}) {
    const Grid grid{cell_m / 3, cell_m / 7, cell_m};
    for (const Window& window : {Window{-300, -300, 600, 600}, Window{65'700, -420'000, 257, 3},
                                 Window{-256, 256, 512, 256}, Window{7, 9, 1, 1}}) {
      const Cells cells = cover_of(box_polygon(grid.box(window)), grid);
      const std::int64_t whole = std::llround(cell_m * cell_m * 1e6);
      CHECK(cells.size() == window.cells());
      std::size_t odd = 0;
      for (const auto& [where, covered] : cells)
        if (std::abs(covered - whole) > 2 || intersect({where.first, where.second, 1, 1}, window).empty())
          ++odd;
      CHECK(odd == 0);
    }
  }
}

TEST_CASE("blocks wholly inside are said to be full, and come in order") {
  const Grid grid{0, 0, 10};
  const Geometry area = box_polygon({-2560.0 * 2 - 5, -2560 * 2, 2560 * 2, 2560});
  const std::vector<BlockPiece> pieces = cut_into_blocks(area, grid);
  CHECK(pieces.size() == 5 * 3);
  int full = 0;
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    if (i > 0) CHECK(pieces[i - 1].block < pieces[i].block);
    full += pieces[i].full ? 1 : 0;
  }
  CHECK(full == 4 * 3);
  CHECK(cut_into_blocks(Geometry(), grid).empty());
}

TEST_CASE("each cell's cover is GEOS' intersection with that cell") {
  RandomStream random(RandomKey(5, "stars"));
  for (int round = 0; round < 30; ++round) {
    const Grid grid{random.uniform() * 10, random.uniform() * 10, 10};
    const double far = round % 2 == 0 ? 0 : 4.2e6;  // at the coordinates of real maps too
    const Point middle{random.uniform() * 100 - 50 + far / 7, random.uniform() * 100 - 50 + far};
    Geometry area = polygon(star(random, middle, 120, 6 + int(random.below(60))));
    if (round % 3 == 0) area = difference(area, polygon(star(random, middle, 30, 9)));
    if (round % 5 == 0)
      area = polygons_of(united({area, polygon(star(random, {middle.x + 400, middle.y}, 60, 12))}));
    const Cells cells = cover_of(area, grid);
    CHECK(std::abs(sum_m2(cells) / area.area() - 1) < 1e-6);
    const Window window = grid.covering(area.box());
    double worst = 0;
    for (std::int64_t row = window.row; row < window.row + window.rows; ++row)
      for (std::int64_t col = window.col; col < window.col + window.cols; ++col) {
        const double own = intersection(area, box_polygon(grid.cell_box(col, row))).area();
        worst = std::max(worst, std::abs(own - double(at(cells, col, row)) * 1e-6));
      }
    CHECK(worst < (far > 0 ? 2e-6 : 1.01e-6));
  }
}

TEST_CASE("runs of whole cells and cut cells rise, share no cell, and are the area together") {
  RandomStream random(RandomKey(7, "runs"));
  for (int round = 0; round < 20; ++round) {
    const Grid grid{random.uniform() * 10, random.uniform() * 10, 10};
    // Up to a star over several blocks, and with a hole.
    Geometry area = polygon(star(random, {1200, -1300}, round < 10 ? 200 : 3000, 5 + int(random.below(40))));
    if (round % 2 == 0) area = difference(area, polygon(star(random, {1200, -1300}, 60, 9)));
    BlockCover cover;
    double sum = 0;
    for (const BlockPiece& piece : cut_into_blocks(area, grid)) {
      cover_of(piece, grid, cover);
      std::vector<int> times(std::size_t{block_cells} * block_cells, 0);
      std::int64_t before = -1;
      for (const BlockCover::Run& run : cover.whole) {
        CHECK(std::int64_t{run.first} > before);
        before = std::int64_t{run.first} + run.count - 1;
      }
      CHECK(before < std::ssize(times));
      before = -1;
      for (const BlockCover::Cut& cut : cover.cut) {
        CHECK(std::int64_t{cut.place} > before);
        CHECK(cut.mm2 > 0);
        CHECK(cut.mm2 < cell_mm2(grid));
        before = cut.place;
      }
      cover.each(cell_mm2(grid), [&](std::size_t place, std::int64_t mm2) {
        ++times.at(place);
        sum += double(mm2) * 1e-6;
      });
      CHECK(*std::max_element(times.begin(), times.end()) <= 1);
    }
    CHECK(std::abs(sum / area.area() - 1) < 1e-6);
  }
}

TEST_CASE("the ground of a cell is the polygon within it") {
  const Grid grid{0, 0, 10};
  const std::vector<BlockPiece> pieces =
      cut_into_blocks(from_wkt("POLYGON((5 -25, 18 -25, 18 -8, 5 -8, 5 -25))"), grid);
  REQUIRE(pieces.size() == 1);
  CHECK(ground_of_cell(pieces[0], grid, 0, 0).area() == doctest::Approx(10));
  CHECK(ground_of_cell(pieces[0], grid, 1, 2).area() == doctest::Approx(40));
  CHECK(ground_of_cell(pieces[0], grid, 2, 2).empty());
  CHECK(ground_of_cell(pieces[0], grid, 0, -1).empty());  // of another block
  const BlockPiece full{{-1, -1}, true, {}};
  CHECK(ground_of_cell(full, grid, -1, -1).area() == doctest::Approx(100));
  CHECK(ground_of_cell(full, grid, 0, 0).empty());
}

TEST_CASE("a shore of a hundred thousand vertices is cut and loses nothing") {
  RandomStream random(RandomKey(6, "shore"));
  std::vector<Point> ring;
  constexpr int points = 100'000;
  for (int i = 0; i < points; ++i) {
    const double angle = 2 * std::numbers::pi * i / points;
    const double r = 12'000 + 2'000 * std::sin(9 * angle) + 3 * random.uniform();
    ring.push_back({660'000 + r * std::cos(angle), 4'200'000 + r * std::sin(angle)});
  }
  const Geometry shore = polygon(ring);
  REQUIRE(shore.vertices() >= points);
  const Grid grid{3, 7, 10};
  std::int64_t sum = 0;
  std::vector<std::int64_t> mm2(std::size_t{block_cells} * block_cells);
  for (const BlockPiece& piece : cut_into_blocks(shore, grid)) {
    std::fill(mm2.begin(), mm2.end(), 0);
    add_cover(piece, grid, mm2);
    sum = std::accumulate(mm2.begin(), mm2.end(), sum);
  }
  CHECK(std::abs(double(sum) * 1e-6 / shore.area() - 1) < 1e-6);
}

}  // namespace cover_test
