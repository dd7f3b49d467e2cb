// Facts of site sheets: ways, notations, loops.
#include "swardline/field/site_sheet.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <filesystem>
#include <fstream>

#include "swardline/field/verge_words.hpp"
#include "swardline/geo/earth.hpp"
#include "swardline/geo/magnetic.hpp"

namespace site_sheet_test {

using namespace swardline;

namespace {

/// A plan in zone 14 with 1.5 degrees of west declination.
struct Sources {
  Sources() {
    plan.declination.given = true;
    plan.declination.degrees = -1.5;
    plan.declination.source = "illustrative";
    plan.declination.date = "2027-05-28";
    plan.returns.search_from = 0.4;
  }
  [[nodiscard]] Plot plot(const std::string& name, int walk, double lat, double lon) const {
    Plot made;
    made.name = name;
    made.site = "QPR";
    made.stratum = "QPR|all|v1";
    made.walk = walk;
    made.order = walk;
    made.lat = lat;
    made.lon = lon;
    const Point plane = to_wgs84.back({lon, lat});
    made.east = plane.x;
    made.north = plane.y;
    made.inside_m2 = 19.97;
    made.bearing_deg = 30;
    return made;
  }
  [[nodiscard]] SiteWalk walk(const std::vector<Plot>& plots, const std::optional<Point>& start = {},
                              const std::vector<std::string>& likely = {"PTUB", "PDIG"}) {
    const Declination declination(plan.declination);
    if (start) access.start["QPR"] = *start;
    const SiteWays ways = site_ways(access, site ? &*site : nullptr, {}, "QPR", plots, {});
    return site_walk({plan, to_wgs84, declination, nullptr, &slopes}, "QPR", "Quill Prairie", plots, {}, ways,
                     likely);
  }
  Plan plan;
  Access access;
  std::optional<Site> site;
  std::map<std::string, GroundSlope> slopes;
  Crs crs = Crs::from_text("EPSG:26914");
  Route to_wgs84{crs, Crs::wgs84()};
};

}  // namespace

TEST_CASE("The way between two places is given in metres, true and magnetic") {
  // A worked example: 296.2 m, true 050.7, magnetic 052.2 at 1.5 W; 039.7 at 11 E (geodesic on WGS84, worked
  // out with GeographicLib's GeodSolve; magnetic = true minus east declination).
  Sources sources;
  std::vector<Plot> plots = {sources.plot("QPR02N", 2, 38.00581, -96.01923),
                             sources.plot("QPR01K", 1, 38.00412, -96.02184)};
  SiteWalk walk = sources.walk(plots);
  REQUIRE(walk.plots.size() == 2);
  CHECK(walk.plots[0].plot->name == "QPR01K");
  CHECK(walk.plots[1].leg.metres == doctest::Approx(296.2).epsilon(0.0002));
  CHECK(bearing_text(walk.plots[1].leg.bearing) == "050.7");
  REQUIRE(walk.plots[1].leg.magnetic);
  CHECK(bearing_text(*walk.plots[1].leg.magnetic) == "052.2");
  CHECK(walk.plots[1].leg.stages.empty());
  CHECK(walk.plots[1].leg.line.size() == 2);
  REQUIRE(walk.plots[1].magnetic_along);
  CHECK(bearing_text(*walk.plots[1].magnetic_along) == "031.5");
  CHECK(walk.length_m == doctest::Approx(296.2).epsilon(0.0002));

  sources.plan.declination.degrees = 11;
  walk = sources.walk(plots);
  CHECK(bearing_text(*walk.plots[1].leg.magnetic) == "039.7");

  SUBCASE("from the parking to the first") {
    const Point parking = sources.to_wgs84.back({-96.02184, 38.00412});
    std::vector<Plot> one = {sources.plot("QPR02N", 1, 38.00581, -96.01923)};
    walk = sources.walk(one, parking);
    CHECK(bearing_text(walk.plots[0].leg.bearing) == "050.7");
    CHECK(bearing_text(walk.plots[0].from_start.bearing) == "050.7");
    CHECK(walk.parking);
  }
  SUBCASE("without a declination nothing is called magnetic") {
    sources.plan.declination = {};
    const SiteWalk none = sources.walk(plots);
    CHECK_FALSE(none.plots[1].leg.magnetic);
    CHECK_FALSE(none.plots[1].magnetic_along);
  }
}

TEST_CASE("A way past a fence is told part by part, and where there is none that is said") {
  Sources sources;
  const std::vector<Plot> plots = {sources.plot("A", 1, 38.004, -96.021),
                                   sources.plot("B", 2, 38.004, -96.019),
                                   sources.plot("C", 3, 38.005, -96.019)};
  const Point a{plots[0].east, plots[0].north}, b{plots[1].east, plots[1].north};
  const double middle = (a.x + b.x) / 2;
  sources.access.barriers = {
      {"fence (access.gpkg, feature 1)", {{{middle, a.y - 5000}, {middle, a.y + 5000}}}, "fence"}};
  const Point gate{middle, a.y + 120};
  sources.access.crossings = {{gate}};
  SiteWalk walk = sources.walk(plots, Point{a.x - 50, a.y});
  const SheetLeg& leg = walk.plots[1].leg;
  REQUIRE(leg.stages.size() == 2);
  CHECK(leg.stages[0].to_crossing);
  CHECK_FALSE(leg.stages[1].to_crossing);
  CHECK(leg.past == "fence");
  // The parts lead there: GeographicLib's geodesics to the gate and on, as the map's line is drawn.
  const Point on_earth = sources.to_wgs84.forward(gate);
  const Leg first = geodesic({plots[0].lon, plots[0].lat}, on_earth);
  const Leg second = geodesic(on_earth, {plots[1].lon, plots[1].lat});
  CHECK(leg.stages[0].metres == doctest::Approx(first.metres));
  CHECK(leg.stages[0].bearing == doctest::Approx(first.bearing_deg));
  CHECK(*leg.stages[1].magnetic == doctest::Approx(second.bearing_deg + 1.5));
  CHECK(leg.metres == doctest::Approx(first.metres + second.metres));
  REQUIRE(leg.line.size() == 3);
  CHECK(leg.line[1] == gate);
  CHECK(walk.plots[2].leg.stages.empty());
  CHECK_FALSE(walk.plots[2].from_start.stages.empty());  // a loop that began there would pass the gate
  CHECK(walk.plots[2].beyond.empty());

  sources.access.crossings.clear();
  walk = sources.walk(plots, Point{a.x - 50, a.y});
  CHECK(walk.plots[0].beyond.empty());
  CHECK_FALSE(walk.plots[1].leg.open);
  CHECK(walk.plots[1].leg.line.empty());
  CHECK(walk.plots[1].beyond == "fence");
  CHECK(walk.plots[2].leg.open);
  CHECK(walk.plots[2].beyond == "fence");
  std::vector<Plot> marked = plots;
  mark_reached(site_ways(sources.access, nullptr, {}, "QPR", plots, {}), "QPR", marked);
  CHECK(marked[0].beyond.empty());
  CHECK(marked[2].beyond == "fence");
}

TEST_CASE("Without parking the walk starts at the edge nearest to its first plot") {
  Sources sources;
  const std::vector<Plot> plots = {sources.plot("A", 1, 38.004, -96.021)};
  const Point a{plots[0].east, plots[0].north};
  const SiteWays ways =
      site_ways({}, nullptr, box_polygon({a.x - 300, a.y - 40, a.x + 500, a.y + 200}), "QPR", plots, {});
  CHECK_FALSE(ways.parking);
  CHECK(ways.start.x == doctest::Approx(a.x));
  CHECK(ways.start.y == doctest::Approx(a.y - 40));
  CHECK(site_ways({}, nullptr, {}, "ANL", plots, {}).legs.from_start.empty());
}

TEST_CASE("On a slope the tape is longer along the ground, by the slope along it") {
  // Slope distance = level distance / cos slope (surveying, common practice): 10 m at 30 degrees 11.547 m.
  CHECK(along_ground_m(10, 30.0) == doctest::Approx(11.547).epsilon(1e-4));
  CHECK(along_ground_m(10, {30, 180}, 0) == doctest::Approx(11.547).epsilon(1e-4));
  CHECK(along_ground_m(10, {30, 90}, 0) == doctest::Approx(10));  // along the contour
  // Half way between: tan 30 · cos 45 is the rise along the tape.
  CHECK(along_ground_m(10, {30, 45}, 90) == doctest::Approx(10 * std::sqrt(1 + 1.0 / 3 / 2)));
  Sources sources;
  sources.plan.sample.shape = UnitShape::belt;
  sources.plan.sample.size_m = {2, 10};
  std::vector<Plot> plots = {sources.plot("A", 1, 38.004, -96.021), sources.plot("B", 2, 38.005, -96.021),
                             sources.plot("C", 3, 38.005, -96.020)};
  sources.slopes = {{"A", {30, 0}}, {"B", {5, 0}}};
  const SiteWalk walk = sources.walk(plots);
  CHECK(walk.plots[0].tape_m == 10);
  REQUIRE(walk.plots[0].ground_tape_m);
  CHECK(*walk.plots[0].ground_tape_m == doctest::Approx(11.547).epsilon(1e-4));
  CHECK_FALSE(walk.plots[1].ground_tape_m);  // 4 cm
  CHECK_FALSE(walk.plots[2].ground_tape_m);
  CHECK(walk.steep());
}

TEST_CASE("A segment says its side, where it begins and ends, and how far from the line it lies") {
  Sources sources;
  const Point at = sources.to_wgs84.back({-96.021, 38.004});
  // Eastwards 200 m, then 20 m to the north.
  const Verge verge =
      make_verge({{{at, {at.x + 200, at.y}, {at.x + 200, at.y + 20}}, {{3.5, 3.5}, {2.1, 4}}}}, 20, {});
  Plot plot = sources.plot("PEL01A", 1, 38.004, -96.020);
  plot.side = "right";
  plot.from_m = 40;
  plot.to_m = 60;
  plot.bearing_deg = 91;
  const std::string words = segment_words(verge, plot);
  for (const char* said : {"RIGHT (south) side from 40 to 60 m",
                           "verge 4 m wide from the road's edge outward", "10 m each way", "segment 3"})
    CHECK_MESSAGE(words.find(said) != std::string::npos, words);
  plot.from_m = 41;
  CHECK(segment_words(verge, plot).empty());
  SiteWays ways;
  ways.start = {at.x - 30, at.y};
  ways.parking = true;
  const std::string line = line_words(verge, ways, sources.to_wgs84);
  for (const char* said : {"from 0 m at its west end, 38.00400 -96.02100 (30 m from P)",
                           "to 220 m at its east end", "LEFT and RIGHT"})
    CHECK_MESSAGE(line.find(said) != std::string::npos, line);
  CHECK(compass_point(-1) == "north");
  CHECK(compass_point(200) == "south");
  CHECK(compass_point(203) == "south-west");
}

TEST_CASE("A place is written in every notation, in both zones near the edge of one") {
  // GeographicLib's GeoConvert; truncated as FGDC-STD-011-2001 asks.
  Sources sources;
  const SiteWalk walk = sources.walk({sources.plot("QPR01K", 1, 38.00412, -96.02184)});
  const SheetPlot& at = walk.plots.at(0);
  CHECK(at.degrees == "38.00412 -96.02184");
  CHECK(at.minutes == "38 00.247 N 96 01.310 W");
  REQUIRE(at.usng.size() == 2);
  CHECK(at.usng[0] == "14S QH 61488 10458");
  CHECK(at.usng[1] == "15S TC 34675 10582");
  CHECK(walk.two_zones());
  CHECK(at.inside_m2 == doctest::Approx(19.9));
}

TEST_CASE("Plots go in walking order, then spares by stratum in draw order; resting plots stay away") {
  Sources sources;
  std::vector<Plot> plots;
  for (const auto& [name, walk] : {std::pair{"A", 3}, {"B", 1}, {"C", 2}})
    plots.push_back(sources.plot(name, walk, 38.004, -96.021));
  for (const auto& [name, order] : {std::pair{"S2", 2}, {"S1", 1}}) {
    plots.push_back(sources.plot(name, 0, 38.004, -96.021));
    plots.back().spare = true;
    plots.back().status = "spare";
    plots.back().order = order;
  }
  plots.push_back(sources.plot("R", 0, 38.004, -96.021));
  plots.back().status = "resting";
  plots.push_back(sources.plot("OTHER", 1, 38.004, -96.021));
  plots.back().site = "ANL";
  const SiteWalk walk = sources.walk(plots);
  std::string names;
  for (const SheetPlot& at : walk.plots) names += at.plot->name + " ";
  CHECK(names == "B C A S1 S2 ");
  CHECK(walk.plots[4].order == 5);
  CHECK(std::isnan(walk.plots[4].leg.metres));
}

TEST_CASE("A plot names what scores there, else all that is searched for") {
  Sources sources;
  std::vector<Plot> plots = {sources.plot("A", 1, 38.004, -96.021), sources.plot("B", 2, 38.004, -96.021)};
  plots[0].percent = {{"PTUB", 41}, {"PDIG", 39}, {"PGRA", 90}};
  const SiteWalk walk = sources.walk(plots);
  CHECK(walk.plots[0].likely == std::vector<std::string>{"PTUB"});
  CHECK(walk.plots[1].likely == std::vector<std::string>{"PTUB", "PDIG"});
}

TEST_CASE("Loops are contiguous, as few as can be, and even") {
  using Loops = std::vector<std::pair<std::size_t, std::size_t>>;
  CHECK(loops_of({}, 100).empty());
  CHECK(loops_of({10, 10, 10}, 100) == Loops{{0, 3}});
  CHECK(loops_of(std::vector<double>(31, 10), 120) == Loops{{0, 10}, {10, 21}, {21, 31}});
  // Plots of one height: no loop has two more than another, the last not the leavings.
  for (const std::size_t plots : {16U, 19U, 32U, 64U, 84U}) {
    const Loops equal = loops_of(std::vector<double>(plots, 10), 95);
    CHECK(equal.size() == (plots + 8) / 9);
    for (const auto& [begin, end] : equal) {
      CHECK(end - begin >= plots / equal.size());
      CHECK(end - begin <= plots / equal.size() + 1);
    }
  }
  CHECK(loops_of({10, 10, 10, 10}, 30) == Loops{{0, 2}, {2, 4}});
  // One that is higher than a page is alone, never dropped.
  CHECK(loops_of({10, 500, 10}, 100) == Loops{{0, 1}, {1, 2}, {2, 3}});
  // Against all ways to cut: no fewer loops hold the plots.
  const std::vector<double> heights = {7, 3, 12, 5, 5, 9, 14, 2, 2, 8, 6, 11};
  for (double room = 14; room < 100; room += 3) {
    const Loops loops = loops_of(heights, room);
    std::size_t fewest = heights.size();
    for (unsigned cuts = 0; cuts < (1U << (heights.size() - 1)); ++cuts) {
      double sum = 0;
      std::size_t number = 1;
      bool fits = true;
      for (std::size_t i = 0; i < heights.size(); ++i) {
        if (i > 0 && ((cuts >> (i - 1)) & 1U) != 0) {
          ++number;
          sum = 0;
        }
        sum += heights[i];
        fits = fits && sum <= room;
      }
      if (fits) fewest = std::min(fewest, number);
    }
    CHECK(loops.size() == fewest);
    std::size_t next = 0;
    for (const auto& [begin, end] : loops) {
      CHECK(begin == next);
      double sum = 0;
      for (std::size_t i = begin; i < end; ++i) sum += heights[i];
      CHECK(sum <= room);
      next = end;
    }
    CHECK(next == heights.size());
  }
}

TEST_CASE("The first of a loop may take more room than those after it") {
  using Loops = std::vector<std::pair<std::size_t, std::size_t>>;
  CHECK(loops_of({10, 10, 10, 10}, 40, {10, 10, 10, 10}) == Loops{{0, 4}});
  CHECK(loops_of({10, 10, 10, 10}, 40, {14, 14, 14, 14}) == Loops{{0, 2}, {2, 4}});
  const std::vector<double> heights(23, 10), firsts(23, 17);
  for (double room = 20; room < 120; room += 7) {
    const Loops loops = loops_of(heights, room, firsts);
    CHECK(loops.size() == std::size_t(std::ceil(23 / std::max(1.0, std::floor((room - 17) / 10) + 1))));
    for (const auto& [begin, end] : loops) CHECK(17 + 10 * double(end - begin - 1) <= room);
  }
}

TEST_CASE("Loops have letters, two past the alphabet") {
  SiteSheet sheet;
  const auto name = [&](std::size_t loop) {
    sheet.loop = loop;
    return sheet.loop_name();
  };
  CHECK(name(0) == "A");
  CHECK(name(25) == "Z");
  CHECK(name(26) == "AA");
  CHECK(name(27) == "AB");
  CHECK(name(52) == "BA");
}

TEST_CASE("Plants that nobody is certain of go under their genus") {
  Season season;
  for (const char* name : {"Penstemon digitalis", "Penstemon tenuis", "Liatris aspera", ""}) {
    Sheet sheet;
    sheet.name = name;
    season.sheets.push_back(sheet);
  }
  CHECK(not_certain_code(season, {0, 1}) == "PEN?");
  CHECK(not_certain_code(season, {0, 2}) == "?");
  CHECK(not_certain_code(season, {3}) == "?");
  CHECK(not_certain_code(season, {}) == "?");
}

}  // namespace site_sheet_test
