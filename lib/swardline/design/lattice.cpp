#include <algorithm>
#include <cmath>

#include "swardline/design/closeness.hpp"
#include "swardline/design/plot_area.hpp"

namespace swardline {
namespace {

/// Rounding to whole millimetres moves two points together by at most √2 mm.
constexpr double rounding_m = 0.0015;
const double half_root_3 = std::sqrt(3.0) / 2;

struct Lattice {
  Point start;  ///< one of its points
  Point along;  ///< unit vector of its rows
  double step = 0;

  Lattice(double apart_m, RandomStream random) : step(apart_m + rounding_m) {
    // A random start alone gives every spot the same chance; the turn, in whole degrees from a
    // table, keeps rows from following the edges of a site.
    along = direction(double(random.below(360)));
    const double i = random.uniform(), j = random.uniform();
    start = at({0, 0}, i, j);
  }
  [[nodiscard]] Point at(Point from, double i, double j) const {
    const double a = (i + j / 2) * step, b = j * half_root_3 * step;
    return {from.x + a * along.x - b * along.y, from.y + a * along.y + b * along.x};
  }
  /// Calls visit(point) for every lattice point in the box and some around it.
  template <typename Visit>
  void each_near(const Box& box, Visit&& visit) const {
    double along_low = 0, along_high = 0, across_low = 0, across_high = 0;
    for (int corner = 0; corner < 4; ++corner) {
      const double x = (corner % 2 == 0 ? box.x0 : box.x1) - start.x;
      const double y = (corner < 2 ? box.y0 : box.y1) - start.y;
      const double a = (x * along.x + y * along.y) / step,
                   b = (y * along.x - x * along.y) / (half_root_3 * step);
      along_low = corner == 0 ? a : std::min(along_low, a);
      along_high = corner == 0 ? a : std::max(along_high, a);
      across_low = corner == 0 ? b : std::min(across_low, b);
      across_high = corner == 0 ? b : std::max(across_high, b);
    }
    const double slack = 0.001 / step;  // for the rounding of points
    for (double j = std::ceil(across_low - slack); j <= across_high + slack; ++j) {
      for (double i = std::ceil(along_low - j / 2 - slack); i <= along_high - j / 2 + slack; ++i) {
        visit(at(start, i, j));
      }
    }
  }
};

/// Where the frame is weighted a point is kept with chance weight / largest weight, so that its chance
/// stays in proportion to the weight.
template <typename Visit>
void each_point(Ground& ground, double apart_m, const RandomKey& key, Visit&& visit) {
  const Grid& grid = ground.frame().grid();
  const Lattice lattice(apart_m, RandomStream(key));
  const auto largest = std::uint64_t(ground.largest_weight());
  RandomStream keeps(key.under("weight"));
  ground.each_cell([&](const Ground::Cell& cell) {
    lattice.each_near(grid.cell_box(cell.col, cell.row), [&](Point exact) {
      const Point at{std::round(exact.x * 1000) / 1000, std::round(exact.y * 1000) / 1000};
      if (grid.col_of(at.x) != cell.col || grid.row_of(at.y) != cell.row) return;
      if (!ground.holds(cell, at)) return;
      if (largest > 1 && keeps.below(largest) >= std::uint64_t(cell.weight)) return;
      visit(Candidate{at, cell.col, cell.row, cell.weight});
    });
  });
}

/// Over very much ground the number of points hardly varies, and walks over it are slow.
int lattices_to_try(Ground& ground) {
  if (!ground.kept_whole()) return 8;
  return int(std::clamp<std::size_t>(4'000'000 / std::max<std::size_t>(ground.cells(), 1), 8, 64));
}

}  // namespace

std::vector<Candidate> lattice_points(Ground& ground, double apart_m, const RandomKey& key) {
  std::vector<Candidate> found;
  each_point(ground, apart_m, key, [&](const Candidate& point) { found.push_back(point); });
  return found;
}

std::vector<Candidate> lattice_to_thin(Ground& ground, double apart_m, int planned, const RandomKey& key) {
  std::vector<std::uint64_t> up_to;
  const int lattices = lattices_to_try(ground);
  for (std::uint64_t k = 0; k < std::uint64_t(lattices); ++k) {
    std::uint64_t count = 0;
    each_point(ground, apart_m, key.under(k), [&](const Candidate&) { ++count; });
    up_to.push_back((up_to.empty() ? 0 : up_to.back()) +
                    std::max<std::uint64_t>(count, std::uint64_t(planned)));
  }
  const std::uint64_t chosen = RandomStream(key.under("which")).below(up_to.back());
  const auto which = std::upper_bound(up_to.begin(), up_to.end(), chosen) - up_to.begin();
  return lattice_points(ground, apart_m, key.under(std::uint64_t(which)));
}

std::optional<double> apart_that_fits(Ground& ground, int planned, double below_m, const RandomKey& key) {
  constexpr int steps = 14;
  const int starts = lattices_to_try(ground);
  const double even = std::sqrt(double(ground.weighted_mm2()) * 1e-6 /
                                (half_root_3 * planned * double(ground.largest_weight())));
  double too_far = std::min(below_m, even), fits = too_far / 8;
  const auto rounded_down = [](double metres) {
    return metres >= 1 ? std::floor(metres * 10) / 10 : std::floor(metres * 100) / 100;
  };
  // A lattice over very many cells is walked too slowly to search, and there edges hardly matter.
  if (!ground.kept_whole()) return rounded_down(0.9 * too_far);
  const auto all_fit = [&](double apart_m) {
    for (int start = 0; start < starts; ++start) {
      int count = 0;
      each_point(ground, apart_m, key.under(std::uint64_t(start)), [&](const Candidate&) { ++count; });
      if (count < planned) return false;
    }
    return true;
  };
  if (rounded_down(fits) <= 0 || !all_fit(fits)) return std::nullopt;
  for (int step = 0; step < steps; ++step) {
    const double middle = (fits + too_far) / 2;
    (all_fit(middle) ? fits : too_far) = middle;
  }
  // Rounding down can meet a lattice that happens to be worse, so what is said is tried itself.
  double said = rounded_down(fits);
  for (int step = 0; step < 10 && said > 0 && !all_fit(said); ++step) said = rounded_down(said * 0.97);
  return said > 0 ? std::optional<double>(said) : std::nullopt;
}

}  // namespace swardline
