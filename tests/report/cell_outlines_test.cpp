#include "swardline/report/cell_outlines.hpp"

#include <doctest/doctest.h>

#include <array>
#include <cstdlib>

#include "swardline/base/random.hpp"

namespace cell_outlines_test {

using namespace swardline;

namespace {

using Corners = std::vector<std::pair<double, double>>;

/// Rings of a path of M, H, V and z.
std::vector<Corners> rings_in(const std::string& path) {
  std::vector<Corners> rings;
  const char* at = path.c_str();
  while (*at != '\0') {
    const char letter = *at++;
    char* end = nullptr;
    if (letter == 'M') {
      const double x = std::strtod(at, &end);
      at = end;
      const double y = std::strtod(at, &end);
      at = end;
      rings.push_back({{x, y}});
    } else if (letter == 'H' || letter == 'V') {
      const double value = std::strtod(at, &end);
      at = end;
      const auto [x, y] = rings.back().back();
      rings.back().emplace_back(letter == 'H' ? value : x, letter == 'V' ? value : y);
    } else {
      CHECK(letter == 'z');
    }
  }
  return rings;
}

/// Whether the even-odd rule fills the point.
bool fills(const std::vector<Corners>& rings, double x, double y) {
  bool inside = false;
  for (const Corners& ring : rings)
    for (std::size_t i = 0; i < ring.size(); ++i) {
      const auto [x0, y0] = ring[i];
      const auto [x1, y1] = ring[(i + 1) % ring.size()];
      CHECK((x0 == x1 || y0 == y1));
      if (x0 == x1 && (y0 > y) != (y1 > y) && x0 > x) inside = !inside;
    }
  return inside;
}

SiteCells cells_of(int cols, int rows, const std::vector<std::uint8_t>& codes) {
  SiteCells cells;
  cells.window = {0, 0, cols, rows};
  cells.cols = cols;
  cells.rows = rows;
  cells.codes = codes;
  return cells;
}

std::vector<double> edges(int count, double step) {
  std::vector<double> all;
  for (int i = 0; i <= count; ++i) all.push_back(24 + i * step);
  return all;
}

/// Every cell's middle is filled by its own code's path and by no other.
void check_filled(const SiteCells& cells) {
  const auto paths = cell_outlines(cells, edges(cells.cols, 3), edges(cells.rows, 5));
  for (const auto& [code, path] : paths) {
    CHECK(code != map_nothing);
    const auto rings = rings_in(path);
    for (int row = 0; row < cells.rows; ++row)
      for (int col = 0; col < cells.cols; ++col)
        CHECK(fills(rings, 24 + 3 * (col + 0.5), 24 + 5 * (row + 0.5)) ==
              (cells.codes[std::size_t(row * cells.cols + col)] == code));
  }
  for (const std::uint8_t code : cells.codes) CHECK((code == map_nothing || paths.count(code) == 1));
}

}  // namespace

TEST_CASE("a block of equal cells is one rectangle") {
  const auto paths = cell_outlines(cells_of(3, 2, {1, 1, 1, 1, 1, 1}), {0, 1, 2, 3.5}, {0, 10, 20.25});
  REQUIRE(paths.size() == 1);
  CHECK(paths.at(1) == "M0 0H3.5V20.3H0z");
}

TEST_CASE("holes, corners that touch, and rings within rings are filled as the cells are") {
  check_filled(cells_of(3, 3, {1, 1, 1, 1, 2, 1, 1, 1, 1}));
  check_filled(cells_of(2, 2, {1, 2, 2, 1}));
  check_filled(cells_of(4, 4, {1, 2, 1, 2, 2, 1, 2, 1, 1, 2, 1, 2, 2, 1, 2, 1}));
  check_filled(cells_of(5, 5, {1, 1, 1, 1, 1, 1, 3, 3, 3, 1, 1, 3, 1, 3, 1, 1, 3, 3, 3, 1, 1, 1, 1, 1, 1}));
  check_filled(
      cells_of(3, 3, {map_nothing, 1, map_nothing, 1, map_excluded, 1, map_nothing, 1, map_nothing}));
}

TEST_CASE("any cells at all are filled as they are") {
  RandomStream random(RandomKey(7, "cells"));
  for (int round = 0; round < 40; ++round) {
    const int cols = 1 + int(random.below(9)), rows = 1 + int(random.below(9));
    std::vector<std::uint8_t> codes;
    for (int i = 0; i < cols * rows; ++i)
      codes.push_back(std::array<std::uint8_t, 4>{0, 1, map_nothing, map_no_score}[random.below(4)]);
    check_filled(cells_of(cols, rows, codes));
  }
}

TEST_CASE("numbers are as short as they go") {
  const auto said = [](double value) {
    std::string out;
    add_short_number(out, value);
    return out;
  };
  CHECK(said(12) == "12");
  CHECK(said(3.46) == "3.5");
  CHECK(said(-0.04) == "0");
  CHECK(said(-0.36) == "-0.4");
}

}  // namespace cell_outlines_test
