#include "swardline/geo/crs.hpp"

#include <cpl_conv.h>
#include <doctest/doctest.h>
#include <ogr_spatialref.h>

#include <cmath>
#include <memory>

#include "swardline/base/error.hpp"

namespace crs_test {

using namespace swardline;

namespace {

std::string refusal(const std::string& definition) {
  try {
    (void)Crs::from_text(definition, {"plan.toml", 3, ""});
  } catch (const InputError& error) {
    return error.what();
  }
  return {};
}

/// What GDAL gives for a point when the route's pipeline overrides its own choice.
Point through_gdal(const Crs& from, const Crs& to, const Route& route, Point p) {
  OGRSpatialReference source;
  OGRSpatialReference target;
  REQUIRE(source.importFromWkt(from.wkt().c_str()) == OGRERR_NONE);
  REQUIRE(target.importFromWkt(to.wkt().c_str()) == OGRERR_NONE);
  source.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
  target.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
  OGRCoordinateTransformationOptions options;
  REQUIRE(options.SetCoordinateOperation(route.pipeline().c_str(), false));
  const std::unique_ptr<OGRCoordinateTransformation> transform(
      OGRCreateCoordinateTransformation(&source, &target, options));
  REQUIRE(transform != nullptr);
  REQUIRE(transform->Transform(1, &p.x, &p.y) != 0);
  return p;
}

const Point kQuillPrairie{761688.07, 4209802.98};

}  // namespace

TEST_CASE("a coordinate system says what it is") {
  const Crs utm = Crs::from_text("EPSG:26914");
  CHECK(utm.name() == "NAD83 / UTM zone 14N");
  CHECK(utm.datum() == "North American Datum 1983");
  CHECK(utm.projected());
  CHECK(utm.in_metres());
  CHECK(utm.utm_zone() == 14);
  CHECK(utm.code() == "EPSG:26914");
  REQUIRE(utm.area_of_use());
  CHECK(utm.area_of_use()->x0 == doctest::Approx(-102));
  CHECK(utm.area_of_use()->x1 == doctest::Approx(-96));
  CHECK(Crs::from_text("EPSG:32733").utm_zone() == -33);
  CHECK(Crs::from_text("EPSG:26714").datum() == "North American Datum 1927");

  const Crs world = Crs::wgs84();
  CHECK_FALSE(world.projected());
  CHECK_FALSE(world.in_metres());
  CHECK(world.datum() == "World Geodetic System 1984 ensemble");
  CHECK_FALSE(world.utm_zone());
  CHECK_FALSE(Crs::from_text("EPSG:2264").in_metres());  // US survey feet
  CHECK_FALSE(Crs::from_text("EPSG:3857").utm_zone());
}

TEST_CASE("the same system by code, name, WKT or PROJ string is the same") {
  const Crs utm = Crs::from_text("EPSG:26914");
  CHECK(utm.same_as(Crs::from_text("NAD83 / UTM zone 14N")));
  CHECK(utm.same_as(Crs::from_text(utm.wkt())));
  CHECK(Crs::from_text(utm.wkt()).code() == "EPSG:26914");
  CHECK(utm.same_as(Crs::from_text("+proj=utm +zone=14 +datum=NAD83 +units=m +no_defs")));
  CHECK(Crs::wgs84().same_as(Crs::from_text("OGC:CRS84")));  // only the axis order differs
  CHECK_FALSE(utm.same_as(Crs::from_text("EPSG:26714")));
  CHECK_FALSE(utm.same_as(Crs::from_text("EPSG:26915")));
  CHECK_FALSE(utm.same_as(Crs::from_text("EPSG:32614")));  // WGS 84 is not NAD83
}

TEST_CASE("heights are left out of a compound or three-dimensional system") {
  CHECK(Crs::from_text("EPSG:26914+5703").same_as(Crs::from_text("EPSG:26914")));
  CHECK(Crs::from_text("EPSG:4979").same_as(Crs::wgs84()));
}

TEST_CASE("nonsense, an operation, a height system and a name that is only near are refused") {
  CHECK(refusal("EPSG:26914").empty());
  CHECK(refusal("EPSG:999999").find("plan.toml:3") == 0);
  CHECK(refusal("soup").find("\"soup\"") != std::string::npos);
  CHECK_FALSE(refusal("").empty());
  CHECK_FALSE(refusal("EPSG:5703").empty());
  CHECK_FALSE(refusal("EPSG:4978").empty());  // geocentric
  const std::string near = refusal("NAD83 UTM 14");
  CHECK_FALSE(near.empty());
  CHECK_FALSE(refusal("ENGCRS[\"local\",EDATUM[\"\"],CS[Cartesian,2],AXIS[\"x\",east],AXIS[\"y\",north],"
                      "LENGTHUNIT[\"metre\",1]]")
                  .empty());
}

TEST_CASE(
    "NAD27 numbers brought to NAD83 land where the datum change puts them, and the route says how well") {
  // The expected point is a grid-based value of a planner's worked example; without the
  // grid a route of some metres is all there is, so 10 m are allowed.
  const Crs nad27 = Crs::from_text("EPSG:26714");
  const Crs nad83 = Crs::from_text("EPSG:26914");
  const Box near{kQuillPrairie.x - 500, kQuillPrairie.y - 500, kQuillPrairie.x + 500, kQuillPrairie.y + 500};
  const Route route(nad27, nad83, near);
  const Point p = route.forward(kQuillPrairie);
  CHECK(std::hypot(p.x - 761656.8, p.y - 4210011.8) < 10);
  const Point back = route.back(p);
  CHECK(std::hypot(back.x - kQuillPrairie.x, back.y - kQuillPrairie.y) <
        1e-3);  // a datum shift's inverse is iterated
  CHECK(route.accuracy_m() > 0);
  CHECK(route.accuracy_m() < 20);
  CHECK(route.operation().find("NAD27") != std::string::npos);
  if (route.accuracy_m() > 1) {  // no datum grid on this machine
    REQUIRE_FALSE(route.missing_grids().empty());
    CHECK(route.in_words().find(route.missing_grids().front()) != std::string::npos);
    CHECK(route.in_words().find("not installed") != std::string::npos);
  }
}

TEST_CASE("the same datum in another zone is exact, and both ways agree") {
  const Route route(Crs::from_text("EPSG:26914"), Crs::from_text("EPSG:26915"));
  CHECK(route.accuracy_m() == 0);
  CHECK(route.missing_grids().empty());
  CHECK(route.in_words() == "NAD83 / UTM zone 14N to NAD83 / UTM zone 15N: same datum, exact");
  const Point p{761488, 4210459};
  const Point back = route.back(route.forward(p));
  CHECK(std::hypot(back.x - p.x, back.y - p.y) < 1e-6);
}

TEST_CASE("the same system needs no route") {
  const Route route(Crs::from_text("EPSG:26914"), Crs::from_text("NAD83 / UTM zone 14N"));
  CHECK(route.accuracy_m() == 0);
  const Point p{761488.123, 4210459.456};
  CHECK(route.forward(p) == p);
  CHECK(route.back(p) == p);
}

TEST_CASE("an unknown datum gives a ballpark route that says so") {
  const Crs unknown = Crs::from_text("+proj=utm +zone=14 +ellps=clrk66 +units=m");
  const Route route(unknown, Crs::from_text("EPSG:26914"));
  CHECK(route.accuracy_m() == -1);
  CHECK(route.in_words().find("ballpark") != std::string::npos);
}

TEST_CASE("longitude comes first whatever order an authority gives") {
  const Point p = Route(Crs::from_text("EPSG:26914"), Crs::wgs84()).forward(Point{761488, 4210459});
  CHECK(p.x == doctest::Approx(-96.02184).epsilon(1e-7));
  CHECK(p.y == doctest::Approx(38.00412).epsilon(1e-7));
}

TEST_CASE("GDAL given the pipeline moves points as the route does") {
  const std::pair<const char*, const char*> pairs[] = {
      {"EPSG:26914", "EPSG:4326"}, {"EPSG:4326", "EPSG:26914"}, {"EPSG:26714", "EPSG:26914"},
      {"EPSG:4267", "OGC:CRS84"},  {"OGC:CRS84", "EPSG:4326"},  {"EPSG:4326", "EPSG:4326"}};
  for (const auto& [from_code, to_code] : pairs) {
    CAPTURE(from_code);
    CAPTURE(to_code);
    const Crs from = Crs::from_text(from_code);
    const Crs to = Crs::from_text(to_code);
    const Route route(from, to);
    const Point p = from.projected() ? Point{761488, 4210459} : Point{-96.02184, 38.00412};
    const Point ours = route.forward(p);
    const Point theirs = through_gdal(from, to, route, p);
    const double unit = to.projected() ? 1 : 111000;
    CHECK(std::hypot(ours.x - theirs.x, ours.y - theirs.y) * unit < 1e-6);
  }
}

TEST_CASE("geometry takes the same route as its points") {
  const Route route(Crs::from_text("EPSG:26714"), Crs::from_text("EPSG:26914"));
  const Geometry a =
      box_polygon({kQuillPrairie.x, kQuillPrairie.y, kQuillPrairie.x + 100, kQuillPrairie.y + 50});
  const Geometry there = route.forward(a);
  const Point corner = route.forward(kQuillPrairie);
  CHECK(points_of(there).front() == corner);
  CHECK(there.area() == doctest::Approx(a.area()).epsilon(1e-4));
  CHECK(there.box().y0 > kQuillPrairie.y + 150);
  CHECK(route.back(there).area() == doctest::Approx(a.area()).epsilon(1e-9));
}

TEST_CASE("a copy of a route may be used apart from the original") {
  auto route = std::make_unique<Route>(Crs::from_text("EPSG:26714"), Crs::from_text("EPSG:26914"));
  const Point p = route->forward(kQuillPrairie);
  const Route copy = *route;
  const std::string words = route->in_words();
  route.reset();
  CHECK(copy.forward(kQuillPrairie) == p);
  CHECK(copy.in_words() == words);
}

TEST_CASE("a point the operation cannot carry is an error with its coordinates") {
  const Route route(Crs::wgs84(), Crs::from_text("EPSG:26914"));
  CHECK_THROWS_AS((void)route.forward(Point{38.00412, -96.02184}), InputError);  // swapped
  CHECK_THROWS_AS((void)route.forward(line({{-96, 38}, {38, -96}})), InputError);
  CHECK_THROWS_AS((void)route.forward(Point{std::nan(""), 38}), InputError);
}

}  // namespace crs_test
