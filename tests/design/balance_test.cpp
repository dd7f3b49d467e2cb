// Values for the balance index (Stevens & Olsen 2004, JASA 99:262-278; Grafström, Lundström & Schelin
// 2012, Biometrics 68:514-520), recomputed from the stated inputs by full enumeration.
#include <doctest/doctest.h>

#include <algorithm>

#include "swardline/design/drawing.hpp"

namespace balance_test {

using namespace swardline;

namespace {

std::vector<Point> four_by_four() {
  std::vector<Point> points;
  for (int row = 0; row < 4; ++row) {
    for (int col = 0; col < 4; ++col) points.push_back({double(col), double(row)});
  }
  return points;
}

}  // namespace

TEST_CASE("balance of three units on a line of ten is 0.005") {
  std::vector<Point> line;
  for (int i = 1; i <= 10; ++i) line.push_back({double(i), 0});
  CHECK(balance_index(line, std::vector<std::size_t>{1, 4, 8}) == doctest::Approx(0.005).epsilon(1e-10));
}

TEST_CASE("balance of samples from a four by four grid, ties split equally") {
  const std::vector<Point> points = four_by_four();
  const auto at = [](int row, int col) { return std::size_t(4 * row + col); };
  using Sample = std::vector<std::size_t>;
  CHECK(balance_index(points, Sample{at(0, 0), at(0, 3), at(3, 0), at(3, 3)}) ==
        doctest::Approx(0).epsilon(1e-10));
  CHECK(balance_index(points, Sample{at(0, 0), at(0, 1), at(1, 0), at(1, 1)}) ==
        doctest::Approx(0.5625).epsilon(1e-10));
  CHECK(balance_index(points, Sample{at(0, 0), at(1, 1), at(2, 2), at(3, 3)}) ==
        doctest::Approx(0.25).epsilon(1e-10));
  CHECK(balance_index(points, Sample{at(0, 1), at(1, 3), at(2, 0), at(3, 2)}) ==
        doctest::Approx(0).epsilon(1e-10));
}

TEST_CASE("balance over all 1,820 samples of four from sixteen") {
  const std::vector<Point> points = four_by_four();
  double sum = 0, most = 0;
  int count = 0, perfect = 0;
  for (std::size_t a = 0; a < 16; ++a) {
    for (std::size_t b = a + 1; b < 16; ++b) {
      for (std::size_t c = b + 1; c < 16; ++c) {
        for (std::size_t d = c + 1; d < 16; ++d) {
          const double index = balance_index(points, std::vector<std::size_t>{a, b, c, d});
          sum += index;
          most = std::max(most, index);
          perfect += index < 1e-12;
          ++count;
        }
      }
    }
  }
  CHECK(count == 1820);
  CHECK(sum / count == doctest::Approx(0.1617244734).epsilon(1e-9));
  CHECK(most == doctest::Approx(0.7109375).epsilon(1e-10));
  CHECK(perfect == 44);
}

TEST_CASE("a sample need not be among the points") {
  const std::vector<Point> points = four_by_four();
  const std::vector<Point> quarters = {{0.5, 0.5}, {2.5, 0.5}, {0.5, 2.5}, {2.5, 2.5}};
  CHECK(balance_index(points, quarters) == doctest::Approx(0));
  CHECK(balance_index({}, quarters) == 0);
}

}  // namespace balance_test
