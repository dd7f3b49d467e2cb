#include "swardline/design/walking_ways.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <ctime>
#include <limits>
#include <numeric>
#include <queue>
#include <tuple>

#include "made_inputs.hpp"
#include "small_season.hpp"
#include "swardline/base/random.hpp"
#include "swardline/design/walking_order.hpp"

namespace walking_ways_test {

using namespace swardline;

namespace {

double metres(Point a, Point b) { return std::sqrt((a.x - b.x) * (a.x - b.x) + (a.y - b.y) * (a.y - b.y)); }

Access fenced(std::vector<Point> line, std::vector<std::vector<Point>> crossings = {}) {
  Access access;
  access.barriers.push_back({"fence", {std::move(line)}});
  access.crossings = std::move(crossings);
  return access;
}

const std::vector<Point> long_fence{{0, -1000}, {0, 1000}};

/// An access read from made files; `r` keeps what was found.
struct ReadAccess {
  TestFolder folder;
  Plan plan;
  Flags flags;
  ReadAccess() { plan.crs = "EPSG:26914"; }
  Access read(const std::vector<MadeFeature>& barriers, const std::vector<MadeFeature>& crossings) {
    make_vectors(folder / "barriers.gpkg", plan.crs, barriers);
    plan.sites.access.barriers = SourceSpec{folder / "barriers.gpkg", "", "", {"plan.toml", 31, ""}};
    if (!crossings.empty()) {
      make_vectors(folder / "crossings.gpkg", plan.crs, crossings);
      plan.sites.access.crossings = SourceSpec{folder / "crossings.gpkg", "", "", {"plan.toml", 32, ""}};
    }
    return read_access(plan, Crs::from_text(plan.crs), {}, flags);
  }
};

std::string at(double x, double y) { return to_wkt(point_geometry({760000 + x, 4210000 + y})); }

/// The shortest way from (x0, y0) over a net of cells of one metre whose eight neighbours are one step off,
/// as another method sees it: at most 1.0824 times (1/cos 22.5°, eight directions) as long as the shortest
/// way, and never shorter.
class Net {
 public:
  static constexpr int half = 70, side = 2 * half + 1;
  Net(const std::vector<Point>& fence, Point gate) : gate_(gate), fence_(line(fence)) {}

  double between(Point from, Point to) {
    std::vector<double> away(std::size_t(side * side), std::numeric_limits<double>::infinity());
    using Entry = std::pair<double, int>;
    std::priority_queue<Entry, std::vector<Entry>, std::greater<>> queue;
    queue.push({0, cell(from)});
    away[std::size_t(cell(from))] = 0;
    while (!queue.empty()) {
      const auto [so_far, here] = queue.top();
      queue.pop();
      if (so_far > away[std::size_t(here)]) continue;
      for (int dx = -1; dx <= 1; ++dx)
        for (int dy = -1; dy <= 1; ++dy) {
          const int x = here % side + dx, y = here / side + dy;
          if (x < 0 || y < 0 || x >= side || y >= side || (dx == 0 && dy == 0)) continue;
          const double total = so_far + std::sqrt(double(dx * dx + dy * dy));
          const int next = y * side + x;
          if (total >= away[std::size_t(next)] || stopped(here, next)) continue;
          away[std::size_t(next)] = total;
          queue.push({total, next});
        }
    }
    return away[std::size_t(cell(to))];
  }

 private:
  static Point middle(int cell) { return {double(cell % side - half), double(cell / side - half)}; }
  static int cell(Point p) { return (int(std::lround(p.y)) + half) * side + int(std::lround(p.x)) + half; }
  bool stopped(int a, int b) const {
    const Point p = middle(a), q = middle(b);
    if (metres(p, gate_) < 1.6 && metres(q, gate_) < 1.6) return false;
    return fence_.intersects(line({p, q}));
  }
  Point gate_;
  PreparedArea fence_;
};

}  // namespace

TEST_CASE("a fence with one gate is passed at the gate") {
  const Access access = fenced(long_fence, {{{0, 30}}});
  const std::vector<Point> points{{40, 0}, {-40, 60}, {40, 60}};
  const std::optional<Ways> ways = ways_past({access}, {-40, 0}, points);
  REQUIRE(ways);
  CHECK(ways->between(0, 1) == doctest::Approx(100));  // twice the hypotenuse of 40 and 30
  CHECK(ways->between(1, 0) == ways->between(0, 1));
  CHECK(ways->between(2, 3) == doctest::Approx(100));
  CHECK(ways->between(0, 2) == 60);  // one side of the fence: straight
  CHECK(std::count(ways->open.begin(), ways->open.end(), false) == 0);
  for (const std::string& beyond : ways->beyond) CHECK(beyond.empty());
  const Walk walk = walking_order(*ways);
  CHECK(walk.order == std::vector<std::size_t>{1, 2, 0});
  CHECK(walk.leg_m[0] == 60);
  CHECK(walk.leg_m[1] == doctest::Approx(100));
  CHECK(walk.leg_m[2] == 60);
  CHECK(walk.total_m == doctest::Approx(220));
}

TEST_CASE("a creek without a crossing leaves plots beyond it, and is crossed once") {
  Access access = fenced(long_fence);
  access.barriers.front().name = "creek";
  const std::vector<Point> points{{10, 0}, {-10, 40}, {10, 40}, {-10, -40}, {10, -40}};
  const std::optional<Ways> ways = ways_past({access}, {-10, 0}, points);
  REQUIRE(ways);
  CHECK(ways->beyond == std::vector<std::string>{"creek", "", "creek", "", "creek"});
  CHECK_FALSE(ways->is_open(0, 1));
  CHECK(ways->is_open(1, 3));
  CHECK(ways->between(0, 1) == 20);  // straight
  const Walk walk = walking_order(*ways);
  int over = 0;
  Point from{-10, 0};
  for (std::size_t i = 0; i < walk.order.size(); ++i) {
    const Point to = points[walk.order[i]];
    over += (from.x < 0) != (to.x < 0);
    CHECK(walk.leg_m[i] == doctest::Approx(metres(from, to)));
    from = to;
  }
  CHECK(over == 1);
  CHECK(points[walk.order[0]].x < 0);  // what can be reached comes first
  CHECK(points[walk.order[1]].x < 0);
}

TEST_CASE("of two barriers the one without a crossing is named") {
  Access access = fenced(long_fence, {{{0, 30}}});
  access.barriers.push_back({"creek", {{{50, -1000}, {50, 1000}}}});
  const std::optional<Ways> ways = ways_past({access}, {-40, 0}, {{40, 0}, {100, 0}});
  REQUIRE(ways);
  CHECK(ways->beyond == std::vector<std::string>{"", "creek"});
  access.crossings.clear();
  CHECK(ways_past({access}, {-40, 0}, {{40, 0}, {100, 0}})->beyond ==
        std::vector<std::string>{"fence", "fence and creek"});
  // One gate opens one fence: a second fence two metres on needs its own.
  Access twice = fenced(long_fence, {{{0, 30}}});
  twice.barriers.push_back({"second fence", {{{2, -1000}, {2, 1000}}}});
  CHECK(ways_past({twice}, {-40, 0}, {{40, 0}})->beyond.front() == "second fence");
  twice.crossings.push_back({{2, 30}});
  CHECK(ways_past({twice}, {-40, 0}, {{40, 0}})->between(0, 1) ==
        doctest::Approx(50 + 2 + std::hypot(38, 30)));
}

TEST_CASE("a bend between two places of one side is walked round, an open end is not") {
  // A spur of fence whose arms go on: over its tip the taut way is twice the hypotenuse of 60 and 50.
  const Access spur = fenced({{-30, -1000}, {0, 50}, {30, -1000}});
  const std::optional<Ways> ways = ways_past({spur}, {-60, 0}, {{60, 0}});
  REQUIRE(ways);
  CHECK(ways->is_open(0, 1));
  CHECK(ways->between(0, 1) >= 2 * std::hypot(60, 50));
  CHECK(ways->between(0, 1) < 2 * std::hypot(60, 50) + 2);
  // What ends in the drawing may go on in the field.
  CHECK_FALSE(ways_past({fenced({{0, -1000}, {0, 50}})}, {-60, 0}, {{60, 0}})->is_open(0, 1));
}

TEST_CASE("a bridge drawn as a line leads over all it crosses") {
  Access access = fenced({{-10, -1000}, {-10, 1000}}, {{{-15, 0}, {15, 0}}});
  access.barriers.push_back({"other bank", {{{10, -1000}, {10, 1000}}}});
  const std::optional<Ways> ways = ways_past({access}, {-100, 0}, {{100, 0}});
  REQUIRE(ways);
  CHECK(ways->between(0, 1) == doctest::Approx(200));
  CHECK(ways->is_open(0, 1));
}

TEST_CASE("without a barrier between places nothing changes") {
  RandomStream random(RandomKey(6, "walk"));
  std::vector<Point> points;
  for (int i = 0; i < 30; ++i) points.push_back({500 * random.uniform(), 300 * random.uniform()});
  CHECK_FALSE(ways_past({Access{}}, {0, 0}, points));
  CHECK_FALSE(ways_past({fenced({{-50, -500}, {-50, 800}})}, {0, 0}, points));
  CHECK_FALSE(ways_past({fenced({{1e6, 0}, {1e6, 10}})}, {0, 0}, points));
}

TEST_CASE("ways past crooked fences agree with a search over a net of cells") {
  RandomStream random(RandomKey(7, "ways"));
  for (int trial = 0; trial < 6; ++trial) {
    std::vector<Point> fence{{0, -1000}};
    for (int y = -50; y <= 50; y += 20) fence.push_back({60 * random.uniform() - 30, double(y) + 0.3});
    fence.push_back({0.2, 1000});
    const std::size_t leg = 2 + random.below(4);
    const Point gate{(fence[leg].x + fence[leg + 1].x) / 2, (fence[leg].y + fence[leg + 1].y) / 2};
    std::vector<Point> places;
    for (const double sign : {-1.0, 1.0})
      for (int i = 0; i < 3; ++i)
        places.push_back(
            {std::round(sign * (35 + 25 * random.uniform())), std::round(100 * random.uniform() - 50)});
    const Access access = fenced(fence, {{gate}});
    const std::optional<Ways> ways = ways_past({access}, places.front(), {places.begin() + 1, places.end()});
    REQUIRE(ways);
    Net net(fence, gate);
    for (std::size_t b = 1; b < places.size(); ++b) {
      REQUIRE(ways->is_open(0, b));
      const double by_net = net.between(places.front(), places[b]);
      // The net steps over the gate on its own cells, and bends are given a berth: some 3 m of play.
      CHECK(ways->between(0, b) <= by_net + 3);
      CHECK(ways->between(0, b) >= by_net / 1.0824 - 3);
    }
  }
}

TEST_CASE("up to seven plots no other order past the fence is shorter") {
  RandomStream random(RandomKey(8, "ways"));
  for (int trial = 0; trial < 10; ++trial) {
    std::vector<Point> points;
    for (int i = 0; i < 7; ++i) points.push_back({200 * random.uniform() - 100, 200 * random.uniform()});
    const std::optional<Ways> ways =
        ways_past({fenced({{0, -900}, {15, 60}, {-15, 140}, {0, 900}}, {{{0, 100}}})}, {-120, 0}, points);
    if (!ways) continue;
    const Walk walk = walking_order(*ways);
    std::vector<std::size_t> order(points.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    double best = std::numeric_limits<double>::infinity();
    do {
      double sum = 0;
      std::size_t from = 0;
      for (const std::size_t i : order) {
        sum += ways->between(from, i + 1);
        from = i + 1;
      }
      best = std::min(best, sum);
    } while (std::next_permutation(order.begin(), order.end()));
    CHECK(walk.exact);
    CHECK(walk.total_m == doctest::Approx(best));
  }
}

TEST_CASE("ways of three hundred plots along a winding creek are never shorter than straight lines") {
  RandomStream random(RandomKey(9, "ways"));
  std::vector<Point> creek;
  for (int i = 0; i <= 2000; ++i)
    creek.push_back({i - 500.0, 300 + 60 * std::sin(i / 40.0) + 2 * random.uniform()});
  const Access access = fenced(creek, {{creek[700]}, {creek[1300]}});
  std::vector<Point> points;
  for (int i = 0; i < 300; ++i) points.push_back({1000 * random.uniform(), 600 * random.uniform()});
  const std::clock_t began = std::clock();
  const std::optional<Ways> ways = ways_past({access}, {0, 0}, points);
  REQUIRE(ways);
  const Walk walk = walking_order(*ways);
  const double seconds = double(std::clock() - began) / CLOCKS_PER_SEC;
  MESSAGE("300 plots past 2,000 edges: " << seconds << " s of processor time");
  CHECK(std::count(ways->open.begin(), ways->open.end(), false) == 0);
  for (std::size_t a = 0; a <= points.size(); ++a)
    for (std::size_t b = 1; b <= points.size(); ++b) {
      const Point from = a == 0 ? Point{0, 0} : points[a - 1];
      REQUIRE(ways->between(a, b) >= metres(from, points[b - 1]) - 1e-6);
    }
  CHECK(walking_order(*ways_past({access}, {0, 0}, points)).order == walk.order);
}

TEST_CASE("crossings are read onto their barriers, and one too far off is asked about") {
  ReadAccess r;
  const Access access = r.read(
      {{"LINESTRING (760000 4209000, 760000 4211000)", {{"what", "fence"}}},
       {at(500, 500), {{"what", "stile"}}}},
      {{at(3, 20), {{"what", "gate"}}}, {at(14, 60), {{"what", "plank"}}}, {at(80, 0), {{"what", ""}}}});
  REQUIRE(access.barriers.size() == 1);
  CHECK(access.barriers[0].name == "fence (barriers.gpkg, feature 1)");
  REQUIRE(access.crossings.size() == 1);
  CHECK(access.crossings[0] == std::vector<Point>{{760000, 4210020}});
  CHECK(access.barriers_place.line == 31);
  const std::vector<Flag> beside = flags_of(r.flags, "crossing beside its barrier");
  REQUIRE(beside.size() == 1);
  CHECK(beside[0].severity == Severity::ask);
  CHECK(beside[0].meaning ==
        "plank lies 14 m from the nearest barrier, fence (barriers.gpkg, feature 1): not used.");
  CHECK(flags_of(r.flags, "barrier that is a point").size() == 1);
}

TEST_CASE("a bridge amid a river leads from bank to bank, a gate inside a paddock's fence does not") {
  ReadAccess r;
  const Access access = r.read({{rectangle(759000, 4210000, 761000, 4210030), {{"what", "river"}}},
                                {rectangle(760000, 4210100, 760200, 4210300), {{"what", "paddock"}}},
                                {rectangle(759000, 4210400, 761000, 4210408), {{"what", "brook"}}}},
                               {{at(100, 12), {}}, {at(100, 102), {}}, {at(100, 403), {}}});
  REQUIRE(access.crossings.size() == 3);
  CHECK(access.crossings[0] == std::vector<Point>{{760100, 4210000}, {760100, 4210030}});
  CHECK(access.crossings[1] == std::vector<Point>{{760100, 4210100}});
  CHECK(access.crossings[2] == std::vector<Point>{{760100, 4210400}, {760100, 4210408}});
  const std::optional<Ways> ways =
      ways_past({access}, {760100, 4209950}, {{760100, 4210050}, {760100, 4210200}, {760100, 4210450}});
  REQUIRE(ways);
  CHECK(ways->between(0, 1) == doctest::Approx(100));
  CHECK(ways->between(0, 2) == doctest::Approx(250));
  CHECK(ways->is_open(0, 3));
}

TEST_CASE("a draw walks past barriers, marks plots beyond them and asks for a crossing") {
  const auto set_up = [](SmallSeason& s, std::vector<std::vector<Point>> crossings) {
    s.add_site("QPR", rectangle(760050, 4209700, 760450, 4210000));
    s.season.plan.sample.each = 8;
    s.access = fenced({{760250, 4209000}, {760250, 4211000}}, std::move(crossings));
    s.access.barriers_place = {"plan.toml", 31, ""};
    s.access.start["QPR"] = {760040, 4209850};
  };
  const auto walked = [](const SeasonDraw& draw) {
    std::vector<std::tuple<double, double, int, double, std::string>> list;
    for (const Plot& p : draw.plots) list.emplace_back(p.east, p.north, p.walk, p.metres_from_last, p.why);
    return list;
  };
  SmallSeason gated;
  set_up(gated, {{{760250, 4209850}}});
  SeasonDraw open = gated.draw();
  for (const Plot& plot : open.plots) CHECK(plot.why.empty());

  SmallSeason closed;
  set_up(closed, {});
  SeasonDraw draw = closed.draw();
  int beyond = 0, last_near = 0, first_beyond = 1000;
  for (Plot& plot : draw.plots) {
    plot.name = plot.site + std::to_string(plot.walk);
    if (plot.spare) continue;
    if (plot.east > 760250) {
      ++beyond;
      first_beyond = std::min(first_beyond, plot.walk);
      CHECK(plot.why == "needs a crossing: beyond fence");
    } else {
      last_near = std::max(last_near, plot.walk);
      CHECK(plot.why.empty());
    }
  }
  REQUIRE(beyond > 2);
  CHECK(last_near < first_beyond);
  Flags flags;
  check_reached(draw.plots, closed.access, flags);
  REQUIRE(flags.all().size() == 1);
  CHECK(flags.all()[0].severity == Severity::ask);
  CHECK(flags.all()[0].place.line == 31);
  CHECK(flags.all()[0].meaning.rfind("QPR: plots ", 0) == 0);
  CHECK(says(flags.all()[0].meaning, "cannot be reached without crossing fence: needs a crossing."));
  Flags none;
  check_reached(open.plots, gated.access, none);
  CHECK(none.all().empty());

  // Any number of threads gives the same walk.
  SmallSeason again;
  set_up(again, {{{760250, 4209850}}});
  CHECK(walked(again.draw(4)) == walked(open));
}

}  // namespace walking_ways_test
