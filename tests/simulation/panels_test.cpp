// Every panel of a revisit pattern is a fair and spread sample of its stratum.
#include "swardline/design/panels.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <vector>

#include "sites.hpp"
#include "swardline/design/drawing.hpp"
#include "wald.hpp"

namespace panels_test {

using namespace swardline;

namespace {

constexpr int seeds = 20000, columns = 5, rows = 4, parts = columns * rows;

/// The coordinate below which `share` of the area lies, by halving.
double cut_at(const Geometry& area, bool across_x, double share) {
  const Box box = area.box();
  double low = across_x ? box.x0 : box.y0, high = across_x ? box.x1 : box.y1;
  for (int step = 0; step < 50; ++step) {
    const double middle = (low + high) / 2;
    const Box below = across_x ? Box{box.x0, box.y0, middle, box.y1} : Box{box.x0, box.y0, box.x1, middle};
    (clipped(area, below).area() < share * area.area() ? low : high) = middle;
  }
  return low;
}

/// Twenty parts of equal area.
class Parts {
 public:
  explicit Parts(const Geometry& area) {
    const Box box = area.box();
    for (int c = 1; c <= columns; ++c)
      east_.push_back(c == columns ? box.x1 : cut_at(area, true, double(c) / columns));
    for (int c = 0; c < columns; ++c) {
      const Geometry column =
          clipped(area, {c == 0 ? box.x0 : east_[std::size_t(c) - 1], box.y0, east_[std::size_t(c)], box.y1});
      north_.emplace_back();
      for (int r = 1; r < rows; ++r) north_.back().push_back(cut_at(column, false, double(r) / rows));
    }
  }
  [[nodiscard]] int of(Point at) const {
    const auto c = std::min(std::size_t(columns) - 1,
                            std::size_t(std::upper_bound(east_.begin(), east_.end(), at.x) - east_.begin()));
    const std::vector<double>& up = north_[c];
    return int(c) * rows + int(std::upper_bound(up.begin(), up.end(), at.y) - up.begin());
  }

 private:
  std::vector<double> east_;
  std::vector<std::vector<double>> north_;
};

PanelScheme scheme_of(const std::string& pattern) {
  PanelsSpec spec;
  std::string problem;
  spec.pattern = pattern;
  spec.parts = read_pattern(pattern, problem);
  spec.start = spec.year = 2027;
  return PanelScheme(spec);
}

/// Counts by part, one row a draw, of one panel.
struct PanelCounts {
  explicit PanelCounts(int size) : plots(size), counts(Eigen::MatrixXd::Zero(seeds, parts)) {}
  int plots;
  Eigen::MatrixXd counts;
  [[nodiscard]] double probability() const {
    return wald_probability(counts.leftCols(parts - 1),
                            Eigen::VectorXd::Constant(parts - 1, double(plots) / parts));
  }
  [[nodiscard]] double largest_departure() const {
    const Eigen::VectorXd mean = counts.colwise().mean();
    return (mean.array() * parts / plots - 1).abs().maxCoeff();
  }
};

DrawRequest request_of(int seed, int planned) {
  DrawRequest request;
  request.describe = false;
  request.stratum = "CGL|all|v1";
  request.seed = std::uint64_t(seed);
  request.planned = planned;
  return request;
}

}  // namespace

TEST_CASE(
    "every panel has its stated chance in every part of an awkward site, and sorted panels are found out") {
  const Geometry area = wavy_site_with_pond();
  const PolygonFrame frame(area, Grid{});
  StratumDrawer drawer(frame);
  const Parts where(area);
  const PanelScheme scheme = scheme_of("[1-0,1-3]");
  const std::vector<int> sizes = scheme.sizes(6);
  const std::vector<std::size_t> of_rank = panels_of_ranks(sizes, 15);
  REQUIRE(of_rank.size() == 15);
  std::vector<PanelCounts> honest, sorted;
  for (const int size : sizes) {
    honest.emplace_back(size);
    sorted.emplace_back(size);
  }
  for (int d = 0; d < seeds; ++d) {
    StratumDraw draw = drawer.draw(request_of(d, 15));
    for (std::size_t i = 0; i < 15; ++i) honest[of_rank[i]].counts(d, where.of(draw.pins[i].at)) += 1;
    // The planted panels: the same plots, but neighbours together, from west to east in one draw of eight.
    if (d % 8 == 0) {
      std::sort(draw.pins.begin(), draw.pins.end(),
                [](const Pin& a, const Pin& b) { return a.at.x < b.at.x; });
    }
    for (std::size_t i = 0; i < 15; ++i) sorted[of_rank[i]].counts(d, where.of(draw.pins[i].at)) += 1;
  }
  for (std::size_t p = 0; p < sizes.size(); ++p) {
    MESSAGE("panel ", scheme.panels()[p].name, ": p ", honest[p].probability(), ", largest departure ",
            100 * honest[p].largest_departure(), " % of ", parts, " parts; planted: p ",
            sorted[p].probability());
    CHECK(honest[p].probability() > 0.001);
  }
  CHECK(sorted.front().probability() < 0.001);
  CHECK(sorted.back().probability() < 0.001);
}

TEST_CASE("every panel lies more evenly over its stratum than as many plots at random") {
  const Geometry area = wavy_site_with_pond();
  const PolygonFrame frame(area, Grid{});
  StratumDrawer drawer(frame);
  constexpr int draws = 300, a_season = 8;
  std::vector<Point> ground;
  for (const Candidate& c : drawer.candidates(800, RandomKey(1, "ground"))) ground.push_back(c.at);
  for (const char* pattern : {"[1-3]", "[1-0,1-3]", "[1-2]"}) {
    const PanelScheme scheme = scheme_of(pattern);
    const std::vector<int> sizes = scheme.sizes(a_season);
    int all = 0;
    for (const int size : sizes) all += size;
    const std::vector<std::size_t> of_rank = panels_of_ranks(sizes, all);
    std::vector<double> balance(sizes.size(), 0), random(sizes.size(), 0);
    for (int d = 0; d < draws; ++d) {
      const StratumDraw draw = drawer.draw(request_of(d, all));
      RandomStream stream(RandomKey(std::uint64_t(d), "at random"));
      for (std::size_t p = 0; p < sizes.size(); ++p) {
        std::vector<Point> panel, others;
        for (std::size_t i = 0; i < of_rank.size(); ++i) {
          if (of_rank[i] != p) continue;
          panel.push_back(draw.pins[i].at);
          others.push_back(ground[stream.below(ground.size())]);
        }
        balance[p] += balance_index(ground, panel) / draws;
        random[p] += balance_index(ground, others) / draws;
      }
    }
    for (std::size_t p = 0; p < sizes.size(); ++p) {
      MESSAGE(std::string(pattern), " panel ", scheme.panels()[p].name, " of ", sizes[p], ": balance ",
              balance[p], ", at random ", random[p], ", ratio ", balance[p] / random[p]);
      CHECK(balance[p] < 0.85 * random[p]);
    }
  }
}

}  // namespace panels_test
