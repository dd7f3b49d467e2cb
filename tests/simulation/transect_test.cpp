// Equal chances of transects over 20,000 draws on ground with waves and a pond, and what belts count of
// plants that trend, clump or keep to edges.
#include <doctest/doctest.h>
#include <geos_c.h>

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <limits>
#include <map>
#include <string>
#include <vector>

#include "chi_square.hpp"
#include "sites.hpp"
#include "swardline/design/drawing.hpp"
#include "swardline/design/plot_area.hpp"
#include "swardline/lines/transect.hpp"

namespace transect_test {

using namespace swardline;

namespace {

constexpr int draws = 20000, lines = 20, columns = 8, rows = 5, parts = columns * rows;
constexpr double length = 25, width = 2;

/// The wavy site with its pond, with as few corners as keep its outline to 3 cm: time goes with the corners.
Geometry site() {
  const Geometry whole = wavy_site_with_pond();
  return snapped_mm(Geometry(GEOSTopologyPreserveSimplify_r(geos(), whole.get(), 0.03)));
}

struct Line {
  Point start, along;
};
using Draw = std::function<std::vector<Line>(int)>;

TransectSpec bare_line(TransectSpec::Boundary boundary) {
  TransectSpec spec;
  spec.length_m = length;
  spec.boundary = boundary;
  return spec;
}

/// Forty parts of equal area: columns, and in each column rows.
class EqualParts {
 public:
  explicit EqualParts(const Geometry& area) {
    const Box box = area.box();
    east_ = edges(area, {1, 0}, box.x0, box.x1, columns);
    for (std::size_t c = 0; c < columns; ++c) {
      const Geometry column = clipped(area, {east_[c], box.y0, east_[c + 1], box.y1});
      north_.push_back(edges(column, {0, 1}, box.y0, box.y1, rows));
    }
  }
  [[nodiscard]] int part(Point at) const {
    const int c = place(east_, at.x);
    return c * rows + place(north_[std::size_t(c)], at.y);
  }

 private:
  /// Where lines across `along` cut the ground into so many parts of one area.
  static std::vector<double> edges(const Geometry& ground, Point along, double first, double last,
                                   int count) {
    const Chords chords(ground);
    const double area = ground.area();
    std::vector<double> at = {first};
    for (int k = 1; k < count; ++k) {
      double low = at.back(), high = last;
      for (int i = 0; i < 50; ++i) {
        const double middle = (low + high) / 2;
        (chords.area_before({}, along, middle) < area * k / count ? low : high) = middle;
      }
      at.push_back(low);
    }
    at.push_back(last);
    return at;
  }
  static int place(const std::vector<double>& edges, double at) {
    const auto above = std::upper_bound(edges.begin() + 1, edges.end() - 1, at);
    return int(above - edges.begin()) - 1;
  }
  std::vector<double> east_;
  std::vector<std::vector<double>> north_;
};

/// Stems by squares of 5 m.
class Stems {
 public:
  explicit Stems(const std::vector<Point>& stems) : count_(stems.size()) {
    int right = 0, top = 0;
    for (const Point p : stems) {
      left_ = std::min(left_, square(p.x));
      bottom_ = std::min(bottom_, square(p.y));
      right = std::max(right, square(p.x) + 1);
      top = std::max(top, square(p.y) + 1);
    }
    columns_ = std::max(0, right - left_);
    rows_ = std::max(0, top - bottom_);
    squares_.resize(std::size_t(columns_) * std::size_t(rows_));
    for (const Point p : stems) squares_[number(square(p.x), square(p.y))].push_back(p);
  }
  [[nodiscard]] std::size_t count() const { return count_; }
  /// Stems between two marks of a line, in a belt about it.
  [[nodiscard]] int in_belt(Point start, Point along, Stretch mark) const {
    const auto at = [&](double t) { return Point{start.x + t * along.x, start.y + t * along.y}; };
    const Point a = at(mark.from), b = at(mark.to);
    int found = 0;
    for (int i = square(std::min(a.x, b.x) - 1); i <= square(std::max(a.x, b.x) + 1); ++i)
      for (int j = square(std::min(a.y, b.y) - 1); j <= square(std::max(a.y, b.y) + 1); ++j) {
        if (i < left_ || j < bottom_ || i - left_ >= columns_ || j - bottom_ >= rows_) continue;
        for (const Point p : squares_[number(i, j)]) {
          const double ahead = (p.x - start.x) * along.x + (p.y - start.y) * along.y;
          const double aside = (p.y - start.y) * along.x - (p.x - start.x) * along.y;
          found += ahead >= mark.from && ahead < mark.to && std::abs(aside) <= width / 2 ? 1 : 0;
        }
      }
    return found;
  }

 private:
  static int square(double metres) { return int(std::floor(metres / 5)); }
  [[nodiscard]] std::size_t number(int i, int j) const {
    return std::size_t(j - bottom_) * std::size_t(columns_) + std::size_t(i - left_);
  }
  int left_ = std::numeric_limits<int>::max(), bottom_ = left_, columns_ = 0, rows_ = 0;
  std::vector<std::vector<Point>> squares_;
  std::size_t count_;
};

/// A Poisson process by squares of 0.2 m, of the density given at a place; a stem in a square at most.
std::vector<Point> poisson(const Geometry& area, const std::string& name,
                           const std::function<double(Point)>& density) {
  const PreparedArea inside(area);
  RandomStream random(RandomKey(7, name));
  std::vector<Point> stems;
  const Box box = area.box();
  for (double x = box.x0; x < box.x1; x += 0.2)
    for (double y = box.y0; y < box.y1; y += 0.2) {
      const Point at{x + 0.2 * random.uniform(), y + 0.2 * random.uniform()};
      const double chance = random.uniform();
      if (chance < 0.04 * 0.8 && inside.contains(at) && chance < 0.04 * density(at)) stems.push_back(at);
    }
  return stems;
}

/// Parents one for 400 m², twenty offspring each on average, spread 3 m.
std::vector<Point> clumped(const Geometry& area) {
  const PreparedArea inside(area);
  RandomStream random(RandomKey(7, "clumped"));
  const Box box = area.box();
  std::vector<Point> stems;
  for (double x = box.x0 - 20; x < box.x1 + 20; x += 1)
    for (double y = box.y0 - 20; y < box.y1 + 20; y += 1) {
      if (random.uniform() >= 1.0 / 400) continue;
      for (int i = 0; i < 2000; ++i) {
        if (random.uniform() >= 0.01) continue;
        double a = -6, b = -6;  // normal deviates as sums of twelve uniforms
        for (int k = 0; k < 12; ++k) {
          a += random.uniform();
          b += random.uniform();
        }
        const Point at{x + 3 * a, y + 3 * b};
        if (inside.contains(at)) stems.push_back(at);
      }
    }
  return stems;
}

double chance_of_equal_parts(const Eigen::MatrixXd& counts, double expected, Eigen::Index free) {
  const Eigen::MatrixXd used = counts.leftCols(free);
  const Eigen::VectorXd mean = used.colwise().mean();
  const Eigen::MatrixXd centred = used.rowwise() - mean.transpose();
  const auto n = double(counts.rows());
  const Eigen::MatrixXd covariance = centred.transpose() * centred / (n - 1) / n;
  const Eigen::VectorXd departure = mean - Eigen::VectorXd::Constant(free, expected);
  return chi_square_upper(departure.dot(covariance.ldlt().solve(departure)), double(free));
}

struct Population {
  std::string name;
  Stems stems;
};

const std::vector<Population>& populations(const Geometry& area) {
  static const std::vector<Population> all = [&area] {
    const Box box = area.box();
    const Geometry edge = boundary(area);
    const auto distance_in = [&](Point p) { return distance(edge, point_geometry(p)); };
    const double middle = (box.x0 + box.x1) / 2;
    std::vector<Population> made;
    made.push_back({"trend", Stems(poisson(area, "trend", [&](Point p) {
                      return 0.4 * (p.x - box.x0) / (box.x1 - box.x0);
                    }))});
    made.push_back({"clumped", Stems(clumped(area))});
    made.push_back({"unlike halves",
                    Stems(poisson(area, "unlike", [&](Point p) { return p.x < middle ? 0.5 : 0.005; }))});
    made.push_back({"edge-loving", Stems(poisson(area, "edge-loving", [&](Point p) {
                      return 0.8 * std::exp(-distance_in(p) / 3);
                    }))});
    made.push_back({"edge band", Stems(poisson(area, "edge band",
                                               [&](Point p) { return distance_in(p) < 2 ? 0.5 : 0.0; }))});
    return made;
  }();
  return all;
}

struct Verdict {
  double probability = 0, largest_departure = 0;
  std::map<std::string, std::array<double, 2>> bias;  ///< and its simulation error
};

/// `ground_m2`: what starts are drawn from. Parts are judged by one random point of every line, belts by
/// their stems; `planted` leaves out lines that begin in the west.
Verdict judge(const Geometry& area, TransectSpec::Boundary boundary, double ground_m2, const Draw& draw,
              bool planted = false) {
  const int times = planted ? 4000 : draws;
  const bool reflect = boundary == TransectSpec::Boundary::reflect;
  const TransectSpec spec = bare_line(boundary);
  const Chords chords(area);
  const PreparedArea inside(area);
  const EqualParts equal(area);
  const double west = area.box().x0 + 30;
  Eigen::MatrixXd counts = Eigen::MatrixXd::Zero(times, parts);
  const auto& plants = populations(area);
  std::vector<std::array<double, 2>> sums(plants.size());
  for (int d = 0; d < times; ++d) {
    std::vector<int> found(plants.size());
    RandomStream marks(RandomKey(std::uint64_t(d), "mark on the tape"));
    for (const Line& line : draw(d)) {
      double mark = length * marks.uniform();
      if (planted && line.start.x < west && marks.uniform() < 0.2) continue;
      std::vector<Counted> counted{{{0, length}, 1}};
      Point start = line.start;
      if (reflect) {
        const LaidTransect laid = lay_transect(area, chords, line.start, line.along, spec);
        counted = laid.counted;
        start = laid.start;
        // A random metre of the walk: the stretches as often as they are counted.
        for (const Counted& c : counted) {
          const double walked = c.times * c.mark.length();
          if (mark < walked || &c == &counted.back()) {
            mark = c.mark.from + std::fmod(std::min(mark, walked), c.mark.length());
            break;
          }
          mark -= walked;
        }
      }
      const Point at{start.x + mark * line.along.x, start.y + mark * line.along.y};
      if (inside.contains(at)) counts(d, equal.part(at)) += 1;
      for (const Counted& c : counted)
        for (std::size_t i = 0; i < plants.size(); ++i)
          found[i] += c.times * plants[i].stems.in_belt(start, line.along, c.mark);
    }
    for (std::size_t i = 0; i < plants.size(); ++i) {
      sums[i][0] += found[i];
      sums[i][1] += double(found[i]) * found[i];
    }
  }
  Verdict verdict;
  const double expected = lines * area.area() / ground_m2 / parts;
  // Folded lines lie inside with all their points, so that one part's count is what the others leave.
  verdict.probability = chance_of_equal_parts(counts, expected, reflect ? parts - 1 : parts);
  verdict.largest_departure = (counts.colwise().mean().array() / expected - 1).abs().maxCoeff();
  for (std::size_t i = 0; i < plants.size(); ++i) {
    const double stated = lines * length * width / ground_m2 * double(plants[i].stems.count());
    const double mean = sums[i][0] / times, variance = sums[i][1] / times - mean * mean;
    verdict.bias[plants[i].name] = {mean / stated - 1, std::sqrt(variance / times) / stated};
  }
  return verdict;
}

void show(const std::string& what, const Verdict& verdict) {
  MESSAGE(what, ": p ", verdict.probability, ", largest departure of forty parts ",
          100 * verdict.largest_departure, " %");
  for (const auto& [name, bias] : verdict.bias)
    MESSAGE("  ", name, ": ", 100 * bias[0], " % (simulation error ", 100 * bias[1], " %)");
}

/// Lines from a baseline, as a season's draw spreads them.
Draw baseline(const Geometry& ground, Point along, bool either_sense) {
  const Box box = ground.box();
  const Point middle{(box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2};
  return [chords = Chords(ground), along, either_sense, middle](int d) {
    RandomStream random(RandomKey(std::uint64_t(d), "baseline"));
    const double share = random.uniform();
    std::vector<double> across;
    for (int i = 0; i < lines; ++i) across.push_back(random.uniform());
    std::vector<Line> drawn;
    for (const Point start : spread_starts(chords, middle, {along.y, -along.x}, share, across))
      drawn.push_back(either_sense && random.below(2) == 1 ? Line{start, {-along.x, -along.y}}
                                                           : Line{start, along});
    return drawn;
  };
}

}  // namespace

TEST_CASE("clipped belts from a baseline: every part, every plant and the edges have the stated chance") {
  const Geometry area = site();
  TransectSpec spec = bare_line(TransectSpec::Boundary::clip);
  spec.width_m = width;
  const Point along = direction(37);
  const Geometry ground = start_ground(area, along, spec);
  const Draw draw = baseline(ground, along, false);
  const Verdict found = judge(area, spec.boundary, ground.area(), draw);
  show("baseline, clipped", found);
  CHECK(found.probability > 0.001);
  for (const auto& [name, bias] : found.bias)
    CHECK(std::abs(bias[0]) < 0.01 + (name == "edge band" ? 0.01 : 0));
}

TEST_CASE(
    "folded lines from a baseline: every part has one expected length, and a planted loss is found out") {
  const Geometry area = site();
  const Draw draw = baseline(area, direction(37), true);
  const auto reflect = TransectSpec::Boundary::reflect;
  const Verdict found = judge(area, reflect, area.area(), draw);
  show("baseline, folded", found);
  CHECK(found.probability > 0.001);
  for (const char* name : {"trend", "clumped", "unlike halves"})
    CHECK(std::abs(found.bias.at(name)[0]) < 0.01);
  // Belts lie a little short beside edges that run along them; the figure is published, and must not grow.
  for (const char* name : {"edge-loving", "edge band"}) {
    CHECK(found.bias.at(name)[0] < 0.01);
    CHECK(found.bias.at(name)[0] > -0.2);
  }
  const Verdict planted = judge(area, reflect, area.area(), draw, true);
  show("the same with a planted loss in the west", planted);
  CHECK(planted.probability < 1e-6);
}

TEST_CASE("folded lines from spread random points with random bearings") {
  const Geometry area = site();
  const PolygonFrame frame(area, Grid{});
  StratumDrawer drawer(frame);
  const Draw draw = [&](int d) {
    DrawRequest request;
    request.describe = false;
    request.stratum = "CGL|v1";
    request.seed = std::uint64_t(d);
    request.planned = lines;
    std::vector<Line> drawn;
    for (const Pin& pin : drawer.draw(request).pins)
      drawn.push_back(
          {pin.at, direction(double(
                       RandomStream(RandomKey(std::uint64_t(d), "bearing").under(std::uint64_t(pin.order)))
                           .below(360)))});
    return drawn;
  };
  const Verdict found = judge(area, TransectSpec::Boundary::reflect, area.area(), draw);
  show("random points, folded", found);
  CHECK(found.probability > 0.001);
  for (const char* name : {"trend", "clumped", "unlike halves"})
    CHECK(std::abs(found.bias.at(name)[0]) < 0.01);
}

}  // namespace transect_test
