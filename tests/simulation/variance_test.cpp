// Variances of spread draws against what the draws themselves say, on populations whose truth is known.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <string>

#include "../design/cell_frame.hpp"
#include "stems.hpp"
#include "swardline/design/drawing.hpp"
#include "swardline/design/neighbourhood_variance.hpp"

namespace variance_test {

using namespace swardline;

namespace {

/// A square of 158 × 158.25 m (2.5 ha).
const Box site{1000, 1000, 1158, 1158.25};

struct Population {
  std::string name;
  std::vector<Point> stems;
  double refused = 0;
};

std::vector<Population> populations(const Geometry& area) {
  const RandomKey key(5, "populations");
  const auto to_edge = [](Point at) {
    return std::min({at.x - site.x0, site.x1 - at.x, at.y - site.y0, site.y1 - at.y});
  };
  const auto clumped = clustered_stems(area, key.under("clumped"), 400, 20, 3);
  return {
      {"trend", poisson_stems(area, key.under("trend"),
                              [](Point at) { return 0.4 * (at.x - site.x0) / (site.x1 - site.x0); })},
      {"clumped", clumped},
      {"rare", clustered_stems(area, key.under("rare"), 4000, 8, 2)},
      {"edge-loving", poisson_stems(area, key.under("edge-loving"),
                                    [&](Point at) { return 0.8 * std::exp(-to_edge(at) / 3); })},
      {"edge band",
       poisson_stems(area, key.under("edge band"), [&](Point at) { return to_edge(at) < 2 ? 0.5 : 0; })},
      {"unlike strata", poisson_stems(area, key.under("unlike"),
                                      [](Point at) { return at.x < (site.x0 + site.x1) / 2 ? 0.5 : 0.005; })},
      {"refusals", clumped, 0.2},
  };
}

/// Estimates of the density and of their variance.
struct Tally {
  Mean density, neighbourhood, stratified;
};

/// One stratum's part of them: the stratum is half of the ground.
struct Half {
  double mean = 0, neighbourhood = 0, stratified = 0;
};

Half half_of(const std::vector<Point>& pins, const std::vector<double>& counts) {
  const auto n = double(counts.size());
  std::vector<double> z;
  Mean density;
  for (const double y : counts) {
    density.add(y / Stems::plot_m2);
    z.push_back(y / Stems::plot_m2 / n);
  }
  return {density.mean(), neighbourhood_variance(neighbourhood_weights(pins), z), density.variance() / n};
}

/// `plots` in each of two strata, the west and the east half.
std::vector<Tally> tallies(const std::vector<Population>& all, const Geometry& area, int plots, int draws) {
  std::vector<Stems> stems;
  for (const Population& one : all) stems.emplace_back(area, one.stems);
  const double middle = (site.x0 + site.x1) / 2;
  const PolygonFrame west(box_polygon({site.x0, site.y0, middle, site.y1}), Grid{}),
      east(box_polygon({middle, site.y0, site.x1, site.y1}), Grid{});
  StratumDrawer drawers[2] = {StratumDrawer(west), StratumDrawer(east)};
  std::vector<Tally> found(all.size());
  for (int d = 0; d < draws; ++d) {
    std::vector<std::array<Half, 2>> halves(all.size());
    for (std::size_t half = 0; half < 2; ++half) {
      DrawRequest request;
      request.describe = false;
      request.stratum = half == 0 ? "west|v1" : "east|v1";
      request.seed = std::uint64_t(d);
      request.planned = plots;
      const StratumDraw draw = drawers[half].draw(request);
      for (std::size_t k = 0; k < all.size(); ++k) {
        RandomStream refuses(RandomKey(std::uint64_t(d), "refusals").under(half));
        std::vector<Point> pins;
        std::vector<double> counts;
        for (const Pin& pin : draw.pins) {
          if (all[k].refused > 0 && refuses.uniform() < all[k].refused) continue;
          pins.push_back(pin.at);
          counts.push_back(stems[k].count(pin.at));
        }
        halves[k][half] = half_of(pins, counts);
      }
    }
    for (std::size_t k = 0; k < all.size(); ++k) {
      const auto& [a, b] = halves[k];
      found[k].density.add((a.mean + b.mean) / 2);
      found[k].neighbourhood.add((a.neighbourhood + b.neighbourhood) / 4);
      found[k].stratified.add((a.stratified + b.stratified) / 4);
    }
  }
  return found;
}

}  // namespace

TEST_CASE("neighbourhood and stratified variances are near the true variance on every population") {
  const Geometry area = box_polygon(site);
  const std::vector<Population> all = populations(area);
  for (const int plots : {25, 10}) {
    const std::vector<Tally> found = tallies(all, area, plots, 3000);
    for (std::size_t k = 0; k < all.size(); ++k) {
      const Tally& t = found[k];
      const double truth = double(all[k].stems.size()) / area.area(), variance = t.density.variance();
      const double neighbourhood = t.neighbourhood.mean() / variance,
                   stratified = t.stratified.mean() / variance;
      MESSAGE(all[k].name, ", ", plots, " plots in each half: density ", t.density.mean() / truth, " ± ",
              t.density.error() / truth, " of the true one; of the true variance: neighbourhood ",
              neighbourhood, ", stratified ", stratified);
      CHECK(std::abs(t.density.mean() - truth) < 4 * t.density.error());
      CHECK(neighbourhood > 0.9);
      CHECK(neighbourhood < 2.2);
      CHECK(stratified > 0.9);
    }
  }
}

TEST_CASE("on a trend the mean of fifty plots varies at most 0.06 of what simple random plots do") {
  // The trend population's density on the middles of 50 × 50 cells, which rises along x alone.
  constexpr int side = 50, plots = 50, draws = 1000;
  const CellFrame frame = square_of_cells(0, 0, side, 10);
  StratumDrawer drawer(frame);
  const auto density = [](double col) { return 0.4 * (col + 0.5) / side; };
  double squares = 0;
  for (int col = 0; col < side; ++col) squares += std::pow(density(col) - 0.2, 2) * side;
  const double cells = side * side;
  const double simple_random = squares / (cells - 1) * (1 - plots / cells) / plots;
  Mean mean;
  for (int d = 0; d < draws; ++d) {
    DrawRequest request;
    request.describe = false;
    request.stratum = "square|v1";
    request.seed = std::uint64_t(d);
    request.planned = plots;
    double sum = 0;
    for (const Pin& pin : drawer.draw(request).pins) sum += density(double(pin.col));
    mean.add(sum / plots);
  }
  MESSAGE("variance ", mean.variance() / simple_random, " of simple random plots'");
  CHECK(mean.variance() / simple_random < 0.06);
  CHECK(std::abs(mean.mean() - 0.2) < 4 * mean.error());
}

}  // namespace variance_test
