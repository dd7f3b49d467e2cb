// Facts of site sheets: ways, notations, loops.
#include "swardline/field/site_sheet.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <filesystem>
#include <fstream>

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
                              const std::vector<std::string>& likely = {"PTUB", "PDIG"}) const {
    const Declination declination(plan.declination);
    return site_walk({plan, to_wgs84, declination}, "QPR", "Quill Prairie", plots, {}, start, likely);
  }
  Plan plan;
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
  plots[0].metres_from_last = 296.1;  // on the plane
  SiteWalk walk = sources.walk(plots);
  REQUIRE(walk.plots.size() == 2);
  CHECK(walk.plots[0].plot->name == "QPR01K");
  CHECK(std::isnan(walk.plots[0].bearing_to));
  CHECK(walk.plots[1].metres_from_last == doctest::Approx(296.2).epsilon(0.0002));
  CHECK(bearing_text(walk.plots[1].bearing_to) == "050.7");
  REQUIRE(walk.plots[1].magnetic_to);
  CHECK(bearing_text(*walk.plots[1].magnetic_to) == "052.2");
  CHECK_FALSE(walk.plots[1].way_round);
  REQUIRE(walk.plots[1].magnetic_along);
  CHECK(bearing_text(*walk.plots[1].magnetic_along) == "031.5");

  sources.plan.declination.degrees = 11;
  walk = sources.walk(plots);
  CHECK(bearing_text(*walk.plots[1].magnetic_to) == "039.7");

  SUBCASE("from the parking to the first") {
    const Point parking = sources.to_wgs84.back({-96.02184, 38.00412});
    std::vector<Plot> one = {sources.plot("QPR02N", 1, 38.00581, -96.01923)};
    one[0].metres_from_last = 296.1;
    CHECK(bearing_text(sources.walk(one, parking).plots[0].bearing_to) == "050.7");
  }
  SUBCASE("a way round a fence keeps its own length, and says so") {
    plots[0].metres_from_last = 410;
    const SiteWalk round = sources.walk(plots);
    CHECK(round.plots[1].way_round);
    CHECK(round.plots[1].metres_from_last == doctest::Approx(410));
    CHECK(bearing_text(round.plots[1].bearing_to) == "050.7");
  }
  SUBCASE("without a declination nothing is called magnetic") {
    sources.plan.declination = {};
    const SiteWalk none = sources.walk(plots);
    CHECK_FALSE(none.plots[1].magnetic_to);
    CHECK_FALSE(none.plots[1].magnetic_along);
  }
}

TEST_CASE("A place is written in every notation, in both zones near the edge of one") {
  // GeographicLib's GeoConvert; truncated as FGDC-STD-011-2001 asks.
  const Sources sources;
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
  const Sources sources;
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
  CHECK(std::isnan(walk.plots[4].metres_from_last));
}

TEST_CASE("A plot names what scores there, else all that is searched for") {
  const Sources sources;
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
