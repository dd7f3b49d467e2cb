// Ways round ground that is cut out of a site.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "made_inputs.hpp"
#include "small_season.hpp"
#include "swardline/base/random.hpp"
#include "swardline/design/walked_legs.hpp"
#include "swardline/design/walking_order.hpp"
#include "swardline/design/walking_ways.hpp"

namespace keep_out_test {

using namespace swardline;

namespace {

/// A site of 400 m square about (0, 0), with ground to keep out of as drawn.
Site site_of(const std::vector<Geometry>& grounds) {
  Site site;
  site.code = "CND";
  site.drawn = box_polygon({-200, -200, 200, 200});
  for (const Geometry& ground : grounds) site.keep_out.push_back({"no entry", ground});
  return site;
}

double length_of(const std::vector<Point>& points) {
  double metres = 0;
  for (std::size_t i = 1; i < points.size(); ++i) metres += metres_between(points[i - 1], points[i]);
  return metres;
}

/// Metres of a way within ground that nobody walks on.
double within(const std::vector<Point>& points, const Geometry& ground) {
  return intersection(line(points), ground).length();
}

}  // namespace

TEST_CASE("A way goes round ground to keep out of, by its corners") {
  const Geometry strip = box_polygon({-10, -60, 10, 80});
  const Site site = site_of({strip});
  const Access access;
  const WalkedLegs legs = walked_legs(access, &site, {-50, 0}, {{50, 0}, {50, 50}});
  const WalkedLeg& round = legs.from_last[0];
  REQUIRE(round.open);
  CHECK_FALSE(round.straight());
  CHECK_FALSE(round.outside);
  CHECK(round.past == "ground to keep out of (no entry)");
  CHECK(round.beyond.empty());
  CHECK(round.points.front() == Point{-50, 0});
  CHECK(round.points.back() == Point{50, 0});
  CHECK(within(round.points, strip) == 0);
  // The south corners are nearer: twice the way to a corner, and along the strip's end; some metres of berth.
  const double taut = 2 * std::hypot(40, 60) + 20;
  CHECK(length_of(round.points) > taut);
  CHECK(length_of(round.points) < taut + 8);
  CHECK(legs.from_last[1].straight());
  CHECK(legs.from_last[1].past.empty());
  CHECK(within(legs.from_start[1].points, strip) == 0);
  // The same metres as the walk of a draw.
  const auto ways = ways_past({access, &site}, {-50, 0}, {{50, 0}, {50, 50}});
  REQUIRE(ways);
  CHECK(ways->between(0, 1) == doctest::Approx(length_of(round.points)));
  CHECK(ways->between(0, 2) == doctest::Approx(length_of(legs.from_start[1].points)));
}

TEST_CASE("Round a pond the way is two tangents and an arc") {
  // Plane geometry: from both sides at distance d of a circle of radius r, the taut way is
  // 2 sqrt(d² - r²) + r (pi - 2 acos(r / d)).
  for (const double r : {8.0, 30.0, 90.0}) {
    const Geometry pond = buffered(point_geometry({0, 0}), r);
    const Site site = site_of({pond});
    const double d = 1.6 * r;
    const WalkedLegs legs = walked_legs({}, &site, {-d, 0}, {{d, 0}});
    const WalkedLeg& leg = legs.from_last[0];
    const double taut = 2 * std::sqrt(d * d - r * r) + r * (std::numbers::pi - 2 * std::acos(r / d));
    CHECK(within(leg.points, pond) == 0);
    CHECK(length_of(leg.points) >= taut * 0.999);
    // Berth of 3 m at most makes the arc longer by 3 m times its angle, and chords to corners a little.
    CHECK(length_of(leg.points) < taut * 1.03 + 3 * std::numbers::pi);
    CHECK(leg.points.size() < 8);  // few enough to be written down
  }
}

TEST_CASE("A plot on an island has no way, and it is said what lies between; a crossing opens it") {
  const Geometry moat = difference(box_polygon({0, -40, 80, 40}), box_polygon({20, -20, 60, 20}));
  const Site site = site_of({moat});
  Access access;
  const std::vector<Point> places{{-50, 0}, {40, 0}, {40, 10}};
  const WalkedLegs none = walked_legs(access, &site, {-100, 0}, places);
  CHECK(none.from_start[0].open);
  CHECK_FALSE(none.from_last[1].open);
  CHECK(none.from_last[1].beyond == "ground to keep out of (no entry)");
  CHECK(none.from_last[1].points.size() == 2);
  CHECK(none.from_last[2].open);  // from plot to plot of the island
  CHECK(none.from_last[2].straight());
  CHECK_FALSE(none.from_start[2].open);
  const auto ways = ways_past({access, &site}, {-100, 0}, places);
  REQUIRE(ways);
  CHECK(ways->beyond[0].empty());
  CHECK(ways->beyond[1] == "ground to keep out of (no entry)");

  access.crossings.push_back({{0, 5}, {20, 5}});
  const WalkedLegs bridged = walked_legs(access, &site, {-100, 0}, places);
  const WalkedLeg& leg = bridged.from_last[1];
  REQUIRE(leg.open);
  CHECK(std::count(leg.crossing.begin(), leg.crossing.end(), true) == 2);
  CHECK(length_of(leg.points) == doctest::Approx(std::hypot(50, 5) + 20 + std::hypot(20, 5)));
}

TEST_CASE("Ground across the whole site is gone round outside only where nothing else is, and it is marked") {
  const Geometry strip = box_polygon({-240, -20, 240, 20});
  const Site site = site_of({strip});
  Access access;
  const std::vector<Point> places{{0, -100}, {50, -100}, {0, 100}, {50, 100}};
  const WalkedLegs legs = walked_legs(access, &site, {0, -150}, places);
  REQUIRE(legs.from_last[2].open);
  CHECK(legs.from_last[2].outside);
  CHECK(within(legs.from_last[2].points, strip) == 0);
  CHECK_FALSE(legs.from_last[1].outside);
  CHECK_FALSE(legs.from_last[3].outside);
  const auto ways = ways_past({access, &site}, {0, -150}, places);
  REQUIRE(ways);
  CHECK(ways->round_outside == std::vector<std::string>{"", "", "ground to keep out of (no entry)",
                                                        "ground to keep out of (no entry)"});
  // Once over is enough: first the plots of the start's side.
  const Walk walk = walking_order(*ways);
  CHECK(std::max(walk.order[0], walk.order[1]) == 1);

  SUBCASE("a way inside is taken though it is longer") {
    // A gap far off in the east, while the west end lies 40 m out of the site.
    const Site gapped = site_of({box_polygon({-240, -20, 150, 20})});
    const WalkedLegs inside = walked_legs(access, &gapped, {-180, -150}, {{-180, -100}, {-180, 100}});
    CHECK_FALSE(inside.from_last[1].outside);
    CHECK(length_of(inside.from_last[1].points) > 650);
  }
  SUBCASE("a start outside the site comes in where it will") {
    const WalkedLegs from_out = walked_legs(access, &site, {-260, 0}, {{-100, 100}, {-100, -100}});
    CHECK_FALSE(from_out.from_start[0].outside);
    CHECK_FALSE(from_out.from_start[1].outside);
  }
  SUBCASE("a crossing amid it does away with it") {
    access.crossings.push_back({{30, -20}, {30, 20}});
    const WalkedLegs over = walked_legs(access, &site, {0, -150}, places);
    CHECK_FALSE(over.from_last[2].outside);
    CHECK(length_of(over.from_last[2].points) < 210);
  }
  SUBCASE("the draw asks") {
    std::vector<Plot> plots(2);
    plots[0].site = plots[1].site = "CND";
    plots[0].name = "CND01A";
    plots[1].name = "CND02B";
    plots[1].round_outside = ways->round_outside[2];
    Flags flags;
    check_reached(plots, access, flags);
    REQUIRE(flags.all().size() == 1);
    CHECK(flags.all()[0].severity == Severity::ask);
    CHECK(flags.all()[0].check == "way outside the site");
    CHECK(flags.all()[0].meaning ==
          "CND: plot CND02B can be reached only by a way that leaves the site to get round ground to keep "
          "out of "
          "(no entry).");
  }
}

TEST_CASE("A pin a step inside the ground is reached over its near edge, not across") {
  const Geometry pond = box_polygon({0, -100, 60, 100});
  const Site site = site_of({pond});
  const WalkedLegs legs = walked_legs({}, &site, {-50, 0}, {{1, 0}, {100, 0}});
  REQUIRE(legs.from_last[0].open);
  CHECK(within(legs.from_last[0].points, pond) == doctest::Approx(1));
  REQUIRE(legs.from_last[1].open);
  CHECK(within(legs.from_last[1].points, pond) == doctest::Approx(1));
  CHECK(length_of(legs.from_last[1].points) > 200);
}

TEST_CASE("Ground that the car stands on is left anywhere, and still not walked over from plot to plot") {
  const Geometry track = box_polygon({-1000, -6, 1000, 6});
  const Site site = site_of({track});
  const WalkedLegs legs = walked_legs({}, &site, {0, 2}, {{-90, 60}, {-100, -70}});
  CHECK(legs.from_start[0].straight());
  CHECK(legs.from_start[1].straight());
  CHECK(legs.from_start[1].past.empty());
  // From one side to the other by way of the car.
  REQUIRE(legs.from_last[1].open);
  CHECK(legs.from_last[1].points == std::vector<Point>{{-90, 60}, {0, 2}, {-100, -70}});
}

TEST_CASE("No leg of many plots crosses ponds, whatever they are like; the order is the same each time") {
  RandomStream random(RandomKey(11, "ponds"));
  for (int trial = 0; trial < 5; ++trial) {
    std::vector<Geometry> grounds;
    for (int i = 0; i < 6; ++i) {
      const Point at{300 * random.uniform() - 150, 300 * random.uniform() - 150};
      std::vector<Point> ring;
      for (int k = 0; k < 9; ++k) {
        const double turn = 2 * std::numbers::pi * k / 9, reach = 10 + 30 * random.uniform();
        ring.push_back({at.x + reach * std::cos(turn), at.y + reach * std::sin(turn)});
      }
      grounds.push_back(polygon(ring));
    }
    const Site site = site_of(grounds);
    const Geometry all = united(grounds);
    std::vector<Point> points;
    while (points.size() < 14) {
      const Point at{380 * random.uniform() - 190, 380 * random.uniform() - 190};
      if (!all.contains(at)) points.push_back(at);
    }
    const auto ways = ways_past({Access{}, &site}, {-210, 0}, points);
    REQUIRE(ways);
    const Walk walk = walking_order(*ways);
    CHECK(walking_order(*ways_past({Access{}, &site}, {-210, 0}, points)).order == walk.order);
    std::vector<Point> ordered;
    for (const std::size_t i : walk.order) ordered.push_back(points[i]);
    const WalkedLegs legs = walked_legs({}, &site, {-210, 0}, ordered);
    for (std::size_t i = 0; i < ordered.size(); ++i) {
      const WalkedLeg& leg = legs.from_last[i];
      if (!leg.open) continue;
      CHECK(within(leg.points, all) < 0.05);
      CHECK(length_of(leg.points) == doctest::Approx(walk.leg_m[i]));
    }
  }
}

TEST_CASE("Sites keep out of exclusions whole, beyond their own edge; a draw's walk goes round them") {
  SmallSeason season;
  season.add_site("QPR", rectangle(760050, 4209700, 760450, 4210000));
  season.season.plan.sample.each = 10;
  season.exclude("cliff", rectangle(760240, 4209760, 760260, 4210100));
  season.access.start["QPR"] = {760040, 4209850};
  const SeasonDraw draw = season.draw();
  const Site& site = season.site("QPR");
  REQUIRE(site.keep_out.size() == 1);
  CHECK(site.keep_out[0].reason == "cliff");
  CHECK(site.keep_out[0].area.area() == doctest::Approx(20 * 340));
  CHECK(site.excluded[0].area.area() == doctest::Approx(20 * 240));
  std::vector<const Plot*> walk;
  for (const Plot& plot : draw.plots)
    if (plot.walk > 0) walk.push_back(&plot);
  std::sort(walk.begin(), walk.end(), [](const Plot* a, const Plot* b) { return a->walk < b->walk; });
  Point from = season.access.start["QPR"];
  bool round = false;
  for (const Plot* plot : walk) {
    const Point at{plot->east, plot->north};
    const bool crosses = intersects(line({from, at}), site.keep_out[0].area);
    round = round || crosses;
    if (crosses)
      CHECK(plot->metres_from_last > metres_between(from, at) + 0.1);
    else
      CHECK(plot->metres_from_last == doctest::Approx(metres_between(from, at)));
    CHECK(plot->beyond.empty());
    from = at;
  }
  CHECK(round);
}

TEST_CASE("A crossing amid ground that is cut out leads from edge to edge") {
  SmallSeason season;
  season.add_site("QPR", rectangle(760050, 4209700, 760450, 4210000));
  season.exclude("power line", rectangle(760000, 4209800, 760500, 4209830));
  (void)season.draw();
  Plan& plan = season.season.plan;
  make_vectors(season.folder() / "crossings.gpkg", plan.crs,
               {{to_wkt(point_geometry({760200, 4209812})), {{"what", "gravel track"}}}});
  plan.sites.access.crossings = SourceSpec{season.folder() / "crossings.gpkg", "", "", {"plan.toml", 32, ""}};
  Flags flags;
  const Access access = read_access(plan, season.crs(), *season.sites, flags);
  REQUIRE(access.crossings.size() == 1);
  REQUIRE(access.crossings[0].size() == 2);
  CHECK(access.crossings[0][0].y + access.crossings[0][1].y == doctest::Approx(4209800 + 4209830));
  const WalkedLegs legs = walked_legs(access, &season.site("QPR"), {760200, 4209750}, {{760200, 4209900}});
  CHECK(legs.from_last[0].open);
  CHECK_FALSE(legs.from_last[0].outside);
  CHECK(length_of(legs.from_last[0].points) == doctest::Approx(150));
}

TEST_CASE("Along a verge the way follows the line, to either side and back") {
  const std::vector<DrawnLine> road = {{{{0, 0}, {200, 0}, {200, 200}}, {{3, 3}, {2, 4}}}};
  const Verge verge = make_verge(road, 20, {});
  REQUIRE(verge.ends.size() == 1);
  CHECK(verge.ends[0].begin == Point{0, 0});
  CHECK(verge.ends[0].end == Point{200, 200});
  CHECK(verge.ends[0].to_m == doctest::Approx(400));
  CHECK(verge.segments.front().width_m == 2);  // left
  CHECK(verge.segments.front().inner_m == 3);
  const auto segment = [&](int number, VergeSide side) {
    for (const VergeSegment& one : verge.segments)
      if (one.number == number && one.side == side)
        return VergePlace{one.middle, (one.from_m + one.to_m) / 2, word(side)};
    return VergePlace{};
  };
  const WalkedLegs legs =
      legs_along(verge, {0, -20},
                 {segment(2, VergeSide::right), segment(18, VergeSide::left), segment(3, VergeSide::right)});
  CHECK(legs.from_last[0].along);
  // 30 m to 350 m along the line, from the right side to the left.
  CHECK(length_of(legs.from_last[1].points) == doctest::Approx(320).epsilon(0.05));
  CHECK(length_of(legs.from_last[1].points) >
        1.2 * metres_between(legs.from_last[1].points.front(), legs.from_last[1].points.back()));
  CHECK(length_of(legs.from_last[2].points) == doctest::Approx(300).epsilon(0.05));
  CHECK(length_of(legs.from_start[2].points) < 100);
}

}  // namespace keep_out_test
