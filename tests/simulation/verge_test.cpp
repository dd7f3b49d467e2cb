// Segments of a verge: equal chances over 50,000 seeds, and counts that come back right.
#include <doctest/doctest.h>

#include <Eigen/Dense>
#include <cmath>
#include <set>
#include <string>

#include "chi_square.hpp"
#include "swardline/base/random.hpp"
#include "swardline/design/drawing.hpp"
#include "swardline/lines/verge_segments.hpp"

namespace verge_test {

using namespace swardline;

namespace {

constexpr int seeds = 50000, planned = 30, spares = 10;

/// 1.2 km of a winding road whose verges differ in width, with a bridge cut out: segments of unlike areas.
Verge winding_verge() {
  std::vector<DrawnLine> lines;
  const auto at = [](int i) {
    const double t = i / 60.0;
    return Point{1000 + 1150 * t, 1000 + 60 * std::sin(9 * t) + 10 * std::sin(31 * t)};
  };
  for (int first = 0; first < 60; first += 10) {
    DrawnLine line;
    for (int i = first; i <= first + 10; ++i) line.points.push_back(at(i));
    line.strip = {{3.5, 3.5}, {2 + first * 0.05, 5 - first * 0.04}};
    lines.push_back(std::move(line));
  }
  Verge verge = make_verge(lines, 20, {});
  const Point bridge = at(33);
  const Box span{bridge.x - 25, bridge.y - 60, bridge.x + 25, bridge.y + 60};
  keep_ground(verge, difference(ground_of(verge), box_polygon(span)));
  return verge;
}

std::vector<Point> middles(const Verge& verge) {
  std::vector<Point> points;
  for (const VergeSegment& segment : verge.segments) points.push_back(segment.middle);
  return points;
}

/// How often segments were drawn, alone and in pairs; the draws themselves need not be kept.
class Inclusion {
 public:
  explicit Inclusion(std::size_t units)
      : sums_(Eigen::VectorXd::Zero(Eigen::Index(units))),
        pairs_(Eigen::MatrixXd::Zero(Eigen::Index(units), Eigen::Index(units))) {}

  void add(const std::vector<std::int64_t>& drawn) {
    for (const std::int64_t a : drawn) {
      sums_(a) += 1;
      for (const std::int64_t b : drawn) pairs_(a, b) += 1;
    }
  }
  [[nodiscard]] double stated() const { return double(planned) / double(sums_.size()); }
  /// As a share of the stated chance.
  [[nodiscard]] double largest_departure() const {
    return (sums_.array() / seeds / stated() - 1).abs().maxCoeff();
  }
  /// With the covariance between segments, because a spread draw varies less than an independent one.
  [[nodiscard]] double wald_probability() const {
    const Eigen::Index free = sums_.size() - 1;  // the last count is what the others leave
    const Eigen::VectorXd departure = sums_.head(free) / seeds - Eigen::VectorXd::Constant(free, stated());
    const Eigen::MatrixXd covariance = of_means().topLeftCorner(free, free);
    return chi_square_upper(departure.dot(covariance.ldlt().solve(departure)), double(free));
  }
  /// Σ (realised chance / stated chance) y / Σ y - 1, and its simulation error.
  struct Bias {
    double value = 0, error = 0;
  };
  [[nodiscard]] Bias bias(const Eigen::VectorXd& counts) const {
    const double truth = counts.sum();
    return {sums_.dot(counts) / seeds / stated() / truth - 1,
            std::sqrt(counts.dot(of_means() * counts)) / stated() / truth};
  }

 private:
  [[nodiscard]] Eigen::MatrixXd of_means() const {
    const Eigen::VectorXd mean = sums_ / seeds;
    return (pairs_ / seeds - mean * mean.transpose()) / (seeds - 1.0);
  }
  Eigen::VectorXd sums_;
  Eigen::MatrixXd pairs_;
};

/// Stems on every segment: a trend along the line, clumps, an unlike pair of sides, and few plants.
std::vector<std::pair<const char*, Eigen::VectorXd>> populations(const Verge& verge) {
  const auto units = Eigen::Index(verge.segments.size());
  Eigen::VectorXd trend(units), clumped(units), sides(units), rare = Eigen::VectorXd::Zero(units);
  for (Eigen::Index i = 0; i < units; ++i) {
    const VergeSegment& segment = verge.segments[std::size_t(i)];
    const double area = segment.ground.area(), along = segment.from_m / verge.length_m;
    RandomStream random(RandomKey(7, "stems").under(std::uint64_t(i)));
    trend(i) = std::floor(0.4 * along * area + random.uniform());
    clumped(i) = random.uniform() < 0.2 ? 5 + 40 * random.uniform() : 0;
    sides(i) = segment.side == VergeSide::left ? 0.5 * area : 0.005 * area;
    if (random.uniform() < 0.1) rare(i) = 1 + double(random.below(8));
  }
  return {{"trend", trend}, {"clumped", clumped}, {"unlike sides", sides}, {"rare", rare}};
}

}  // namespace

TEST_CASE(
    "every segment of a verge has the stated chance, totals are unbiased, and a draw that shuns the far end "
    "is found out") {
  const Verge verge = winding_verge();
  const std::vector<Point> points = middles(verge);
  REQUIRE(points.size() > 100);
  Inclusion honest(points.size()), planted(points.size());
  for (int d = 0; d < seeds; ++d) {
    DrawRequest request;
    request.describe = false;
    request.stratum = "PEL|segments|v1";
    request.seed = std::uint64_t(d);
    request.planned = planned;
    request.spares = spares;
    const StratumDraw draw = draw_units(points, request);
    REQUIRE(draw.pins.size() == planned + spares);
    // The planted draw gives up 5 % of what fell in the last quarter for the first spare elsewhere.
    RandomStream shuns(RandomKey(std::uint64_t(d), "planted"));
    std::size_t next = planned;
    const std::int64_t far = std::int64_t(points.size()) * 3 / 4;
    std::vector<std::int64_t> drawn, shunning;
    for (std::size_t i = 0; i < planned; ++i) {
      drawn.push_back(draw.pins[i].col);
      std::int64_t kept = draw.pins[i].col;
      if (kept >= far && shuns.uniform() < 0.05) {
        while (next < draw.pins.size() && draw.pins[next].col >= far) ++next;
        if (next < draw.pins.size()) kept = draw.pins[next++].col;
      }
      shunning.push_back(kept);
    }
    REQUIRE(std::set(drawn.begin(), drawn.end()).size() == planned);
    honest.add(drawn);
    planted.add(shunning);
  }
  MESSAGE(points.size(), " segments; honest draw: p ", honest.wald_probability(), ", largest departure ",
          honest.largest_departure(), " of the stated chance; planted: p ", planted.wald_probability());
  CHECK(honest.wald_probability() > 0.001);
  CHECK(planted.wald_probability() < 0.001);
  for (const auto& [name, counts] : populations(verge)) {
    const Inclusion::Bias bias = honest.bias(counts);
    MESSAGE(std::string(name), ": bias ", 100 * bias.value, " %, simulation error ", 100 * bias.error, " %");
    CHECK(std::abs(bias.value) < 0.01);
    CHECK(std::abs(bias.value) < 4 * bias.error);
    CHECK(bias.error < 0.003);
  }
}

TEST_CASE(
    "segments are spread along the line: a trend's mean varies far less than under simple random draws") {
  const Verge verge = winding_verge();
  const std::vector<Point> points = middles(verge);
  constexpr int draws = 2000, few = 12;
  double spread = 0, balance = 0, random_balance = 0;
  double mean_of_all = 0, variance_of_all = 0;
  for (const VergeSegment& s : verge.segments) mean_of_all += s.from_m / double(points.size());
  for (const VergeSegment& s : verge.segments)
    variance_of_all += (s.from_m - mean_of_all) * (s.from_m - mean_of_all) / double(points.size() - 1);
  for (int d = 0; d < draws; ++d) {
    DrawRequest request;
    request.stratum = "PEL|segments|v1";
    request.seed = std::uint64_t(d);
    request.planned = few;
    const StratumDraw draw = draw_units(points, request);
    double mean = 0;
    for (const Pin& pin : draw.pins) mean += verge.segments[std::size_t(pin.col)].from_m / few;
    spread += (mean - mean_of_all) * (mean - mean_of_all) / draws;
    balance += draw.balance / draws;
    random_balance += draw.balance_of_random / draws;
  }
  // Cochran 1977, 2.6: variance of the mean of n of N drawn at random.
  const double simple = variance_of_all / few * (1 - double(few) / double(points.size()));
  MESSAGE("variance of the mean on a trend ", spread / simple, " of simple random's; balance ", balance,
          ", simple random ", random_balance);
  CHECK(spread / simple < 0.1);
  CHECK(balance < random_balance / 3);
}

}  // namespace verge_test
