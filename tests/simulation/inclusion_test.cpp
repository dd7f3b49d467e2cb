// Equal chances over 20,000 seeds on ground with waves and a pond.
#include <doctest/doctest.h>

#include <Eigen/Dense>
#include <algorithm>
#include <vector>

#include "sites.hpp"
#include "swardline/design/drawing.hpp"
#include "wald.hpp"

namespace inclusion_test {

using namespace swardline;

namespace {

constexpr int seeds = 20000, columns = 8, rows = 5, parts = columns * rows;
constexpr int planned = 12, spares = 4;
constexpr double half_length = 5;  // of a belt of 2 × 10 m

/// The x or y up to which `share` of the area lies, by halving.
double cut_at(const Geometry& area, bool across_x, double share) {
  const Box box = area.box();
  double low = across_x ? box.x0 : box.y0, high = across_x ? box.x1 : box.y1;
  for (int step = 0; step < 60; ++step) {
    const double middle = (low + high) / 2;
    const Box below = across_x ? Box{box.x0, box.y0, middle, box.y1} : Box{box.x0, box.y0, box.x1, middle};
    (clipped(area, below).area() < share * area.area() ? low : high) = middle;
  }
  return low;
}

/// Forty parts of equal area: columns, and in each column rows.
struct EqualParts {
  std::vector<double> x;
  std::vector<std::vector<double>> y;

  explicit EqualParts(const Geometry& area) {
    const Box box = area.box();
    double from = box.x0;
    for (int c = 1; c <= columns; ++c) {
      const double to = c == columns ? box.x1 : cut_at(area, true, double(c) / columns);
      const Geometry column = clipped(area, {from, box.y0, to, box.y1});
      y.emplace_back();
      for (int r = 1; r < rows; ++r) y.back().push_back(cut_at(column, false, double(r) / rows));
      if (c < columns) x.push_back(to);
      from = to;
    }
  }
  [[nodiscard]] int part(Point at) const {
    const auto c = std::upper_bound(x.begin(), x.end(), at.x) - x.begin();
    const auto& in = y[std::size_t(c)];
    return int(c * rows + (std::upper_bound(in.begin(), in.end(), at.y) - in.begin()));
  }
};

struct Verdict {
  double probability = 0;  ///< of so uneven parts under equal chances
  double edge_errors = 0;  ///< standard errors between the share of edge pins and the edge's share of area
  [[nodiscard]] bool equal_chances() const { return probability > 0.001 && std::abs(edge_errors) < 4; }
};

class Tally {
 public:
  explicit Tally(const Geometry& area)
      : parts_(area),
        inner_(buffered(area, -half_length)),
        inner_area_(buffered(area, -half_length).area()),
        edge_share_(1 - inner_area_ / area.area()),
        counts_(Eigen::MatrixXd::Zero(seeds, parts)),
        edge_(Eigen::VectorXd::Zero(seeds)) {}
  [[nodiscard]] bool at_edge(Point at) const { return !inner_.contains(at); }
  void add(int draw, Point at) {
    counts_(draw, parts_.part(at)) += 1;
    if (at_edge(at)) edge_(draw) += 1.0 / planned;
  }
  [[nodiscard]] Verdict verdict() const {
    const double mean = edge_.mean();
    const double error = std::sqrt((edge_.array() - mean).square().sum() / (seeds - 1.0) / seeds);
    // The last count is what the others leave.
    const Eigen::VectorXd expected = Eigen::VectorXd::Constant(parts - 1, double(planned) / parts);
    return {wald_probability(counts_.leftCols(parts - 1), expected), (mean - edge_share_) / error};
  }
  [[nodiscard]] double edge_share() const { return edge_share_; }

 private:
  EqualParts parts_;
  PreparedArea inner_;
  double inner_area_, edge_share_;
  Eigen::MatrixXd counts_;
  Eigen::VectorXd edge_;
};

}  // namespace

// Upper points of the chi-square distribution from any printed table.
TEST_CASE("the chi-square tail has its tabulated values") {
  CHECK(chi_square_upper(3.841, 1) == doctest::Approx(0.05).epsilon(1e-3));
  CHECK(chi_square_upper(18.307, 10) == doctest::Approx(0.05).epsilon(1e-4));
  CHECK(chi_square_upper(2.558, 10) == doctest::Approx(0.99).epsilon(1e-4));
  CHECK(chi_square_upper(73.402, 40) == doctest::Approx(0.001).epsilon(1e-3));
  CHECK(chi_square_upper(4, 2) == doctest::Approx(std::exp(-2.0)).epsilon(1e-12));
}

TEST_CASE(
    "every part of an awkward site has the same chance, its edge too, and a draw that loses edge pins is "
    "found out") {
  const Geometry area = wavy_site_with_pond();
  REQUIRE(area.area() == doctest::Approx(25000 - 707).epsilon(1e-3));
  const PolygonFrame frame(area, Grid{});
  StratumDrawer drawer(frame);
  const PreparedArea inside(area);
  Tally honest(area), planted(area);
  for (int d = 0; d < seeds; ++d) {
    DrawRequest request;
    request.describe = false;
    request.stratum = "CGL|all|v1";
    request.seed = std::uint64_t(d);
    request.planned = planned;
    request.spares = spares;
    const StratumDraw draw = drawer.draw(request);
    REQUIRE(draw.pins.size() == planned + spares);
    // The planted draw drops 8 % of its edge pins and takes the first spare that is not at the edge.
    RandomStream loses(RandomKey(std::uint64_t(d), "planted"));
    std::size_t next = planned;
    for (std::size_t i = 0; i < planned; ++i) {
      const Point at = draw.pins[i].at;
      if (d < 1000) REQUIRE(inside.contains(at));
      honest.add(d, at);
      Point kept = at;
      if (honest.at_edge(at) && loses.uniform() < 0.08) {
        while (next < draw.pins.size() && honest.at_edge(draw.pins[next].at)) ++next;
        if (next < draw.pins.size()) kept = draw.pins[next++].at;
      }
      planted.add(d, kept);
    }
  }
  const Verdict found = honest.verdict(), of_planted = planted.verdict();
  MESSAGE("edge share ", honest.edge_share(), "; honest draw: p ", found.probability, ", edge ",
          found.edge_errors, " standard errors; planted: p ", of_planted.probability, ", edge ",
          of_planted.edge_errors);
  CHECK(found.equal_chances());
  CHECK_FALSE(of_planted.equal_chances());
  CHECK(of_planted.edge_errors < -4);
}

}  // namespace inclusion_test
