#include <fmt/format.h>

#include "made_season.hpp"
#include "swardline/geo/crs.hpp"

namespace positions_test {

using namespace check_test;
using swardline::Crs;
using swardline::Point;
using swardline::Route;

namespace {

/// Narrows PROJ's choice of an operation to the ones made for this ground.
const swardline::Box around{760000, 4209400, 761600, 4211000};

/// A square of 300 m in the season's system as its corners read in another one.
std::string square_in(const std::string& crs, double x, double y,
                      const std::function<Point(Point)>& spoil = {}) {
  const Route route(Crs::from_text("EPSG:26914"), Crs::from_text(crs), around);
  const Point corners[] = {{x, y}, {x + 300, y}, {x + 300, y + 300}, {x, y + 300}, {x, y}};
  std::string text;
  for (const Point& corner : corners) {
    Point there = route.forward(corner);
    if (spoil) there = spoil(there);
    text += fmt::format("{}{:.9f} {:.9f}", text.empty() ? "" : ",", there.x, there.y);
  }
  return "POLYGON((" + text + "))";
}

double metres_of(const std::string& text, const std::string& before) {
  const auto at = text.find(before);
  return at == std::string::npos ? 0 : std::stod(text.substr(at + before.size()));
}

Point swapped(Point p) { return {p.y, p.x}; }
Point without_minus(Point p) { return {-p.x, p.y}; }

/// Both sites as they read in `crs`, spoilt, in a file that names `crs_named`.
void put_sites(MadeSeason& season, const std::string& crs, const std::string& crs_named,
               const std::function<Point(Point)>& spoil = {}) {
  MadeVectors& sites = season.vectors["sites.gpkg"];
  sites.crs = crs_named;
  sites.features[0].wkt = square_in(crs, 760200, 4210000, spoil);
  sites.features[1].wkt = square_in(crs, 760900, 4210300, spoil);
}

}  // namespace

TEST_CASE("sites without a coordinate system stop, and no datum is guessed") {
  MadeSeason season;
  season.vectors["sites.gpkg"].crs = "";
  const auto result = season.check();
  CHECK_FOUND(result, stop, "no coordinate system",
              "sites.gpkg has no coordinate system. Nothing was guessed");
  CHECK_FOUND(result, stop, "no coordinate system", "crs = \"EPSG:");
  CHECK(result.sites.empty());
  CHECK(result.verdict == "not usable");
}

TEST_CASE("a file that names a system is not overruled by the plan") {
  MadeSeason season;
  season.change_plan("source = \"sites.gpkg\"", "source = { file = \"sites.gpkg\", crs = \"EPSG:26714\" }");
  CHECK_FOUND(season.check(), stop, "coordinate system declared twice",
              "sites.gpkg says it is in NAD83 / UTM zone 14N");
}

TEST_CASE("the route taken and its stated accuracy are printed, and a coarse one is asked about") {
  MadeSeason season;
  put_sites(season, "EPSG:26714", "EPSG:26714");
  const auto result = season.check();
  REQUIRE_MESSAGE(result.routes.size() == 1, all(result));
  CHECK(has(result.routes[0], "sites.gpkg: "));
  CHECK(has(result.routes[0], "NAD27"));
  CHECK(has(result.routes[0], "accuracy"));
  if (!has(result.routes[0], "not installed")) return;
  CHECK_FOUND(result, ask, "coarse datum route", "points may be off by about");
  CHECK_FOUND(result, ask, "coarse datum route",
              "Install the datum grid it names, or accept it and write down why.");
}

TEST_CASE("an exact route is printed and not asked about") {
  MadeSeason season;
  put_sites(season, "EPSG:26915", "EPSG:26915");
  const auto result = season.check();
  REQUIRE(result.routes.size() == 1);
  CHECK(has(result.routes[0], "exact"));
  CHECK(of(result, "coarse datum route").empty());
}

TEST_CASE("numbers that were swapped, lost a sign or belong to another zone are found, and said which") {
  struct Slip {
    const char* crs;
    const char* named;
    std::function<Point(Point)> spoil;
    const char* words;
  };
  const Slip slips[] = {
      {"EPSG:26914", "EPSG:26914", swapped,
       "2 of 2 features lie far from the ground the layers cover; it would fit if "
       "its coordinates were swapped"},
      {"EPSG:4269", "EPSG:4269", swapped, "coordinates were swapped (north before east)"},
      {"EPSG:4269", "EPSG:4269", without_minus, "the minus sign of its longitude was lost"},
      {"EPSG:4269", "EPSG:4269",
       [](Point p) {
         return Point{p.y, -p.x};
       },
       "swapped and a minus sign was lost"},
      {"EPSG:26915", "EPSG:26914", {}, "its numbers belonged to NAD83 / UTM zone 15N"},
      {"EPSG:26913", "EPSG:26914", {}, "its numbers belonged to NAD83 / UTM zone 13N"},
      {"EPSG:26914", "EPSG:4269", {}, "its numbers were metres of NAD83 / UTM zone 14N"},
      {"EPSG:4326", "EPSG:26914", {}, "its numbers were degrees of longitude and latitude"},
  };
  for (const Slip& slip : slips) {
    CAPTURE(slip.words);
    MadeSeason season;
    put_sites(season, slip.crs, slip.named, slip.spoil);
    const auto result = season.check();
    const auto found = of(result, "far outside the valley");
    REQUIRE_MESSAGE(found.size() == 1, all(result));
    CHECK(found[0].severity == swardline::Severity::stop);
    CHECK_MESSAGE(has(found[0].meaning, slip.words), found[0].meaning);
    CHECK(has(found[0].remedy, "Nothing was changed."));
    CHECK(found[0].place.text() == "sites.gpkg, feature 1");
  }
}

TEST_CASE("one wrong row among many is the one that is named") {
  MadeSeason season;
  MadeVectors& parking = season.vectors["parking.gpkg"];
  parking.crs = "EPSG:4269";
  const Point at =
      Route(Crs::from_text("EPSG:26914"), Crs::from_text("EPSG:4269")).forward(Point{760190, 4210100});
  parking.features = {{point(at.x, at.y), {{"site", "QPR"}}}, {point(-at.x, at.y), {{"site", "SKP"}}}};
  const auto result = season.check();
  const auto found = of(result, "far outside the valley");
  REQUIRE_MESSAGE(found.size() == 1, all(result));
  CHECK(found[0].place.text() == "parking.gpkg, feature 2");
  CHECK(has(found[0].meaning, "1 of 2 features lies far"));
  CHECK(has(found[0].meaning, "minus sign"));
}

TEST_CASE("features that lie nowhere sensible are said without a guess") {
  MadeSeason season;
  season.vectors["sites.gpkg"].features[0].wkt = square(300000, 4500000, 300);
  const auto result = season.check();
  CHECK_FOUND(result, stop, "far outside the valley", "1 of 2 features lies far");
  CHECK_FOUND(result, stop, "far outside the valley", "Check its coordinate system and the numbers.");
}

// The datum shift of this place, about 31 m east and 209 m south when NAD27 numbers are read as NAD83: from
// PROJ's own operation between EPSG:26714 and EPSG:26914 (a well-known size here; common practice to test
// for).
TEST_CASE("a boundary in NAD27 read as NAD83 is found by its known patches, with metres and compass words") {
  MadeSeason season;
  season.change_plan("seed = 2027", "seed = 2027\nknown = \"known.gpkg\"");
  put_sites(season, "EPSG:26714", "EPSG:26914");
  season.vectors["known.gpkg"].features = {
      {point(760210, 4210290), {{"species", "PTUB"}, {"here", "yes"}, {"site", "QPR"}}},
      {point(760300, 4210280), {{"species", "PTUB"}, {"here", "no"}, {"site", "QPR"}}}};
  const auto result = season.check();
  const auto found = of(result, "looks like another datum");
  REQUIRE_MESSAGE(found.size() == 1, all(result));
  CHECK(found[0].severity == swardline::Severity::ask);
  CHECK_MESSAGE(metres_of(found[0].meaning, "sits ") == doctest::Approx(211).epsilon(0.05), found[0].meaning);
  CHECK(has(found[0].meaning, " m east, "));
  CHECK(has(found[0].meaning, " m south) from where its 2 known points would put it"));
  CHECK(has(found[0].meaning, "looks like NAD27 read as NAD83 / UTM zone 14N."));
  CHECK(has(found[0].remedy, "EPSG:26714"));
  CHECK(found[0].place.text() == "sites.gpkg, feature 1");
}

TEST_CASE(
    "points in NAD27 read as NAD83 fall south of their sites, and the points are named, not the sites") {
  MadeSeason season;
  season.change_plan("seed = 2027", "seed = 2027\nknown = \"known.gpkg\"");
  const Route route(Crs::from_text("EPSG:26914"), Crs::from_text("EPSG:26714"), around);
  MadeVectors& known = season.vectors["known.gpkg"];
  for (const double x : {760210.0, 760350.0, 760490.0}) {
    const Point there = route.forward(Point{x, 4210050});
    known.features.push_back(
        {point(there.x, there.y), {{"species", "PTUB"}, {"here", "yes"}, {"site", "QPR"}}});
  }
  const auto result = season.check();
  const auto found = of(result, "looks like another datum");
  REQUIRE_MESSAGE(found.size() == 1, all(result));
  CHECK_MESSAGE(metres_of(found[0].meaning, "3 points fall ") == doctest::Approx(211).epsilon(0.05),
                found[0].meaning);
  CHECK(has(found[0].meaning, " m south) off their sites: looks like NAD27 read as NAD83 / UTM zone 14N."));
  CHECK(found[0].place.text() == "known.gpkg, feature 1");
}

TEST_CASE("points that lie in their sites raise nothing about datums") {
  MadeSeason season;
  season.change_plan("seed = 2027", "seed = 2027\nknown = \"known.gpkg\"");
  season.vectors["known.gpkg"].features = {{point(760300, 4210100), {{"species", "PTUB"}, {"here", "yes"}}},
                                           {point(761000, 4210400), {{"species", "PTUB"}, {"here", "yes"}}}};
  const auto result = season.check();
  CHECK_MESSAGE(result.flags.all().empty(), all(result));
}

TEST_CASE("sources no other stage reads early are opened all the same") {
  MadeSeason season;
  season.change_plan("seed = 2027", "seed = 2027\nknown = \"known.gpkg\"");
  season.change_plan("start =", "crossings = \"crossings.gpkg\"\nbarriers = \"barriers.gpkg\"\nstart =");
  const auto result = season.check();
  const std::string text = all(result);
  for (const char* name : {"known.gpkg", "crossings.gpkg", "barriers.gpkg"})
    CHECK_MESSAGE(has(text, std::string(name) + " cannot be opened"), text);
}

TEST_CASE("a known patch of no species of the season stops") {
  MadeSeason season;
  season.change_plan("seed = 2027", "seed = 2027\nknown = \"known.gpkg\"");
  season.vectors["known.gpkg"].features = {{point(760300, 4210100), {{"species", "PTUV"}, {"here", "yes"}}}};
  CHECK_FOUND(season.check(), stop, "patch of an unknown species", "Did you mean PTUB?");
}

TEST_CASE("a site that the plan leaves out stops nothing where it lies") {
  MadeSeason season;
  season.vectors["sites.gpkg"].features.push_back(
      {square(400000, 4210000, 300), {{"code", "FAR"}, {"name", "Far Field"}}});
  REQUIRE(of(season.check(), "far outside the valley").size() == 1);
  season.change_plan("source = \"sites.gpkg\"", "source = \"sites.gpkg\"\nonly = [\"QPR\", \"SKP\"]");
  const auto kept = season.check();
  CHECK_MESSAGE(of(kept, "far outside the valley").empty(), all(kept));
}

}  // namespace positions_test
