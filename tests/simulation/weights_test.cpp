// Chances in proportion to a weight over 20,000 seeds, on ground with waves and a pond; and the totals that
// come of them (Horvitz & Thompson 1952, Journal of the American Statistical Association 47:663-685).
#include <doctest/doctest.h>

#include <Eigen/Dense>
#include <algorithm>
#include <map>

#include "chi_square.hpp"
#include "sites.hpp"
#include "stems.hpp"
#include "swardline/design/drawing.hpp"

namespace weights_test {

using namespace swardline;

namespace {

constexpr int seeds = 20000, parts = 40, planned = 12, spares = 4;

/// Forty groups of whole cells, column by column, of about equal sums of weight × area.
struct Parts {
  std::map<std::pair<std::int64_t, std::int64_t>, int> part_of;
  std::vector<double> share;  ///< of the weighted area

  explicit Parts(const Frame& frame) : share(parts, 0) {
    std::map<std::pair<std::int64_t, std::int64_t>, double> cells;
    double total = 0;
    for (const BlockArea& block : frame.blocks()) {
      for (const CellArea& cell : frame.cells(block.block)) {
        cells[{cell.col, cell.row}] = double(cell.mm2) * cell.weight;
        total += double(cell.mm2) * cell.weight;
      }
    }
    double before = 0;
    for (const auto& [cell, mass] : cells) {
      const int part = std::min(parts - 1, int((before + mass / 2) / total * parts));
      part_of[cell] = part;
      share[std::size_t(part)] += mass / total;
      before += mass;
    }
  }
};

/// As for equal chances (inclusion_test.cpp), with each part's own expectation.
double wald_probability(const Eigen::MatrixXd& counts, const Parts& expected) {
  const Eigen::Index free = parts - 1;
  const Eigen::MatrixXd used = counts.leftCols(free);
  const Eigen::VectorXd mean = used.colwise().mean();
  const Eigen::MatrixXd centred = used.rowwise() - mean.transpose();
  const auto draws = double(counts.rows());
  const Eigen::MatrixXd covariance = centred.transpose() * centred / (draws - 1) / draws;
  Eigen::VectorXd departure = mean;
  for (Eigen::Index p = 0; p < free; ++p) departure(p) -= planned * expected.share[std::size_t(p)];
  return chi_square_upper(departure.dot(covariance.ldlt().solve(departure)), double(free));
}

double largest_departure(const Eigen::MatrixXd& counts, const Parts& expected) {
  double largest = 0;
  for (Eigen::Index p = 0; p < parts; ++p) {
    largest =
        std::max(largest, std::abs(counts.col(p).mean() / (planned * expected.share[std::size_t(p)]) - 1));
  }
  return largest;
}

}  // namespace

TEST_CASE(
    "weighted draws give every part its stated chance and totals without bias, and a draw that favours light "
    "ground "
    "is found out") {
  const Geometry area = wavy_site_with_pond();
  const Box box = area.box();
  // Whole percents from 5 in the west to 95 in the east, by cells of 10 m.
  const PolygonFrame frame(area, Grid{}, [&](std::int64_t col, std::int64_t) {
    return std::int32_t(5 + 90 * std::clamp((10.0 * double(col) + 5 - box.x0) / (box.x1 - box.x0), 0.0, 1.0));
  });
  StratumDrawer drawer(frame);
  const Parts expected(frame);
  const Stems stems(area, poisson_stems(area, RandomKey(3, "trend"),
                                        [&](Point at) { return 0.4 * (at.x - box.x0) / (box.x1 - box.x0); }));
  Eigen::MatrixXd honest = Eigen::MatrixXd::Zero(seeds, parts), planted = honest;
  Mean total, weightless;
  for (int d = 0; d < seeds; ++d) {
    DrawRequest request;
    request.describe = false;
    request.stratum = "CGL|all|v1";
    request.seed = std::uint64_t(d);
    request.planned = planned;
    request.spares = spares;
    const StratumDraw draw = drawer.draw(request);
    REQUIRE(draw.pins.size() == planned + spares);
    // The planted draw gives up 6 % of its pins on heavy ground for a spare on light ground.
    RandomStream loses(RandomKey(std::uint64_t(d), "planted"));
    std::size_t next = planned;
    double sum = 0, plain = 0;
    for (std::size_t i = 0; i < planned; ++i) {
      const Pin& pin = draw.pins[i];
      honest(d, expected.part_of.at({pin.col, pin.row})) += 1;
      const double chance = planned * double(pin.weight) / (double(draw.weighted_mm2) * 1e-6);
      const double y = stems.count(pin.at) / Stems::plot_m2;
      sum += y / chance;
      plain += y * double(draw.area_mm2) * 1e-6 / planned;
      const Pin* kept = &pin;
      if (pin.weight > 50 && loses.uniform() < 0.06) {
        while (next < draw.pins.size() && draw.pins[next].weight > 50) ++next;
        if (next < draw.pins.size()) kept = &draw.pins[next++];
      }
      planted(d, expected.part_of.at({kept->col, kept->row})) += 1;
    }
    total.add(sum);
    weightless.add(plain);
  }
  const double p = wald_probability(honest, expected), p_planted = wald_probability(planted, expected);
  MESSAGE("weighted chances: p ", p, ", largest departure ", 100 * largest_departure(honest, expected),
          " %; planted: p ", p_planted, "; total ", total.mean() / stems.total(), " ± ",
          total.error() / stems.total(), " of the true one, without the chances ",
          weightless.mean() / stems.total());
  CHECK(p > 0.001);
  CHECK(p_planted < 0.001);
  CHECK(total.error() < 0.003 * stems.total());
  CHECK(std::abs(total.mean() - stems.total()) < 4 * total.error());
  CHECK(weightless.mean() > 1.1 * stems.total());
}

}  // namespace weights_test
