#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "cell_frame.hpp"
#include "swardline/design/drawing.hpp"
#include "swardline/design/ground.hpp"

namespace candidates_test {

using namespace swardline;

namespace {

bool same(const std::vector<Candidate>& a, const std::vector<Candidate>& b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](const Candidate& p, const Candidate& q) {
    return p.at == q.at && p.col == q.col && p.row == q.row;
  });
}

bool whole_millimetres(Point p) {
  return p.x == std::round(p.x * 1000) / 1000 && p.y == std::round(p.y * 1000) / 1000;
}

Geometry triangle_with_hole() {
  return difference(polygon({{3.2, 4.1}, {87.3, 20.7}, {41.9, 77.4}}),
                    polygon({{40, 30}, {52.5, 33}, {44, 41}}));
}

}  // namespace

TEST_CASE("the quadtree code goes both ways, negative numbers too") {
  for (const std::int64_t col : {-2147483648LL, -70000LL, -1LL, 0LL, 5LL, 2147483647LL}) {
    for (const std::int64_t row : {-300LL, 0LL, 123456LL}) {
      CHECK(cell_of_code(quadtree_code(col, row)) == std::pair<std::int64_t, std::int64_t>{col, row});
    }
  }
  // The four cells round the origin have an ancestor in common like any other four.
  CHECK(quadtree_code(-1, -1) < quadtree_code(0, 0));
  CHECK_THROWS((void)quadtree_code(std::int64_t{1} << 31, 0));
}

TEST_CASE("candidates come in the number asked for and lie strictly inside their cells") {
  const CellFrame frame = square_of_cells(-7, 250, 20, 12.5);
  const std::vector<Candidate> found = hierarchical_candidates(frame, 333, RandomKey(1, "cells"));
  REQUIRE(found.size() == 333);
  for (const Candidate& c : found) {
    const Box cell = frame.grid().cell_box(c.col, c.row);
    CHECK(c.at.x > cell.x0);
    CHECK(c.at.x < cell.x1);
    CHECK(c.at.y > cell.y0);
    CHECK(c.at.y < cell.y1);
    CHECK(whole_millimetres(c.at));
  }
}

TEST_CASE("each cell gets its share of candidates rounded down or up, in every draw") {
  const CellFrame frame = square_of_cells(-3, -4, 10, 10);  // 100 cells over four blocks
  for (std::uint64_t seed = 0; seed < 50; ++seed) {
    std::map<std::pair<std::int64_t, std::int64_t>, int> count;
    for (const Candidate& c : hierarchical_candidates(frame, 250, RandomKey(seed, "share")))
      ++count[{c.col, c.row}];
    CHECK(count.size() == 100);
    for (const auto& [cell, n] : count) CHECK((n == 2 || n == 3));
  }
}

TEST_CASE("whole quarters of the ground are visited one after the other") {
  // 16 × 16 cells aligned with the tree, one candidate each: the first 64 fill one quarter, in any order.
  const CellFrame frame = square_of_cells(32, 48, 16, 10);
  std::set<std::size_t> first_quarters;
  for (std::uint64_t seed = 0; seed < 64; ++seed) {
    const std::vector<Candidate> found = hierarchical_candidates(frame, 256, RandomKey(seed, "quarters"));
    const auto quarter = [](const Candidate& c) {
      return std::size_t((c.col >= 40 ? 1 : 0) + (c.row >= 56 ? 2 : 0));
    };
    for (std::size_t i = 0; i < 256; ++i) REQUIRE(quarter(found[i]) == quarter(found[i / 64 * 64]));
    first_quarters.insert(quarter(found[0]));
  }
  CHECK(first_quarters.size() == 4);
}

TEST_CASE("candidates do not depend on how blocks are listed and are the same again") {
  std::vector<std::pair<std::int64_t, std::int64_t>> cells;
  for (int i = 0; i < 400; ++i) cells.emplace_back(37 * i % 900 - 400, 53 * i % 700 - 300);
  Grid grid;
  const CellFrame frame(cells, grid);
  std::reverse(cells.begin(), cells.end());
  const CellFrame reversed(cells, grid);
  const RandomKey key(2027, "order");
  CHECK(frame.blocks().size() > 4);
  CHECK(same(hierarchical_candidates(frame, 90, key), hierarchical_candidates(reversed, 90, key)));
  CHECK_FALSE(
      same(hierarchical_candidates(frame, 90, key), hierarchical_candidates(frame, 90, key.under("x"))));
}

TEST_CASE("only blocks that hold a position are read") {
  std::vector<std::pair<std::int64_t, std::int64_t>> cells;
  for (int i = 0; i < 200; ++i) cells.emplace_back(block_cells * i, 0);
  const CellFrame frame(cells, Grid{});
  CHECK(hierarchical_candidates(frame, 10, RandomKey(1, "few")).size() == 10);
  CHECK(frame.block_reads <= 10);
}

TEST_CASE("candidates on cut cells lie on the ground and are uniform over it") {
  const Geometry area = triangle_with_hole();
  const PolygonFrame frame(area, Grid{});
  StratumDrawer drawer(frame);
  // Twelve parts cut by straight lines, their areas from the polygon.
  std::vector<Geometry> parts;
  for (int i = 0; i < 4; ++i) {
    for (int j = 0; j < 3; ++j) {
      parts.push_back(clipped(area, {3 + 22.0 * i, 3 + 25.0 * j, 25 + 22.0 * i, 28 + 25.0 * j}));
    }
  }
  std::vector<int> count(12, 0);
  const PreparedArea inside(area);
  const int draws = 400, per_draw = 100;
  for (int d = 0; d < draws; ++d) {
    for (const Candidate& c : drawer.candidates(per_draw, RandomKey(std::uint64_t(d), "cut"))) {
      REQUIRE(inside.contains(c.at));
      REQUIRE(whole_millimetres(c.at));
      REQUIRE(frame.grid().col_of(c.at.x) == c.col);
      REQUIRE(frame.grid().row_of(c.at.y) == c.row);
      ++count[std::size_t((c.at.x - 3) / 22) * 3 + std::size_t((c.at.y - 3) / 25)];
    }
  }
  // Systematic positions vary less than independent ones, so the binomial error is on the safe side.
  for (std::size_t p = 0; p < parts.size(); ++p) {
    const double share = parts[p].area() / area.area();
    const double sigma = std::sqrt(share * (1 - share) * draws * per_draw);
    CHECK(std::abs(count[p] - share * draws * per_draw) < 4 * sigma + 1);
  }
}

TEST_CASE("a sliver thinner than a millimetre still gets its point, inside") {
  const Geometry sliver = polygon({{0.0002, 0.0003}, {9.9994, 7.0001}, {9.9993, 7.0006}});
  const CellGround ground(sliver);
  RandomStream random(RandomKey(1, "sliver"));
  for (int i = 0; i < 100; ++i) CHECK(distance(sliver, point_geometry(ground.point(random))) < 1e-9);
}

TEST_CASE("a frame of one polygon adds up to its area") {
  const Geometry area = triangle_with_hole();
  const PolygonFrame frame(area, Grid{});
  std::int64_t sum = 0;
  for (const BlockArea& block : frame.blocks()) {
    std::int64_t in_block = 0;
    for (const CellArea& cell : frame.cells(block.block)) {
      in_block += cell.mm2;
      CHECK(std::abs(frame.ground(cell.col, cell.row).area() * 1e6 - double(cell.mm2)) <= 2);
    }
    CHECK(in_block == block.mm2);
    sum += in_block;
  }
  CHECK(double(sum) * 1e-6 == doctest::Approx(area.area()).epsilon(1e-7));
}

}  // namespace candidates_test
