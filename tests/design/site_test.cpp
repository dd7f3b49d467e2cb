#include "swardline/design/site.hpp"

#include <doctest/doctest.h>

#include <cmath>

#include "made_inputs.hpp"
#include "swardline/geo/earth.hpp"

namespace site_test {

using namespace swardline;

namespace {

constexpr const char* zone14 = "EPSG:26914";

struct Register {
  TestFolder folder;
  Plan plan;
  Flags flags;

  Register() {
    plan.file = folder / "plan.toml";
    plan.folder = folder.path();
    plan.crs = zone14;
    plan.crs_place = {"plan.toml", 4, ""};
    plan.sites.private_attributes = {"owner"};
    plan.sites.place = {"plan.toml", 10, "[sites]"};
  }
  void add_sites(const std::vector<MadeFeature>& features, const std::string& crs = zone14) {
    const std::string name = "sites" + std::to_string(plan.sites.sources.size()) + ".gpkg";
    make_vectors(folder / name, crs, features);
    plan.sites.sources.push_back({folder / name, "", "", {"plan.toml", 11, ""}});
  }
  void exclude(const std::string& reason, double buffer_m, const std::vector<std::string>& wkts) {
    const std::string name = "out" + std::to_string(plan.sites.exclusions.size()) + ".gpkg";
    std::vector<MadeFeature> features;
    for (const std::string& wkt : wkts) features.push_back({wkt, {}});
    make_vectors(folder / name, zone14, features);
    plan.sites.exclusions.push_back({{folder / name, "", "", {"plan.toml", 20, ""}}, buffer_m, reason});
  }
  Sites read() { return read_sites(plan, Crs::from_text(plan.crs), flags); }
  Flag only(const std::string& check) {
    const std::vector<Flag> found = flags_of(flags, check);
    REQUIRE_MESSAGE(found.size() == 1, check);
    return found.front();
  }
};

MadeFeature site(const std::string& code, const std::string& name, const std::string& wkt) {
  return {wkt, {{"code", code}, {"name", name}, {"owner", "A. Landowner"}, {"habitat", "glade"}}};
}

constexpr double x = 760000, y = 4210000;

}  // namespace

TEST_CASE("a site's survey area is what was drawn less each excluded area, counted for its first reason") {
  Register r;
  r.add_sites({site("CND", "Candlerock", rectangle(x, y, x + 310, y + 100))});
  r.exclude("water", 0, {rectangle(x - 20, y - 20, x + 40, y + 120)});
  // 30 m wide, of which 10 m are water already.
  r.exclude("no entry", 0, {rectangle(x + 30, y, x + 60, y + 100)});
  const Sites sites = r.read();
  REQUIRE(sites.sites.size() == 1);
  const Site& s = sites.sites[0];
  CHECK(s.drawn_m2 == doctest::Approx(31000));
  REQUIRE(s.excluded.size() == 2);
  CHECK(s.excluded[0].reason == "water");
  CHECK(s.excluded[0].area.area() == doctest::Approx(4000));
  CHECK(s.excluded[1].area.area() == doctest::Approx(2000));
  CHECK(s.excluded_m2 == doctest::Approx(6000));
  CHECK(s.survey_m2 == doctest::Approx(25000));
  CHECK(intersection(s.survey, s.excluded[0].area).area() == doctest::Approx(0));
  CHECK(intersection(s.excluded[0].area, s.excluded[1].area).area() == doctest::Approx(0));
  CHECK(in_words(s) == "Candlerock: 3.1 ha drawn, 0.4 ha water, 0.2 ha no entry; 2.5 ha will be surveyed.");
  CHECK_FALSE(r.flags.stopped());
  // EPSG:26914 at 95.97 W, 3 degrees off its meridian: k = 1.00045 at 38 N, so areas are 0.09 % too large.
  CHECK(s.geodesic_ratio == doctest::Approx(1 - 0.0009).epsilon(2e-4));
  CHECK(flags_of(r.flags, "areas stretched").empty());
}

TEST_CASE("private attributes never enter, others do") {
  Register r;
  r.add_sites({site("TNY", "Tanyard Field", rectangle(x, y, x + 100, y + 100))});
  const Sites sites = r.read();
  REQUIRE(sites.sites.size() == 1);
  CHECK(sites.sites[0].attributes == std::map<std::string, std::string>{{"habitat", "glade"}});
}

TEST_CASE("lines and points are excluded by their buffer, and are a mistake without one") {
  Register r;
  r.add_sites({site("ANL", "Arnley Meadow", rectangle(x, y, x + 200, y + 100))});
  const std::string ditch = "LINESTRING (760050 4209900, 760050 4210200)";
  r.exclude("ditch", 3, {ditch});
  r.exclude("well", 5, {"POINT (760150 4210050)"});
  const Sites sites = r.read();
  REQUIRE(sites.sites[0].excluded.size() == 2);
  CHECK(sites.sites[0].excluded[0].area.area() == doctest::Approx(600));
  // A circle of 16 segments a quarter holds 64/2·sin(2π/64)/π = 0.9984 of the disc.
  CHECK(sites.sites[0].excluded[1].area.area() == doctest::Approx(25 * 3.14159265 * 0.9984).epsilon(1e-3));
  CHECK_FALSE(r.flags.stopped());

  Register bare;
  bare.add_sites({site("ANL", "Arnley Meadow", rectangle(x, y, x + 200, y + 100))});
  bare.exclude("ditch", 0, {ditch});
  (void)bare.read();
  CHECK(bare.only("exclusion without an area").severity == Severity::stop);
  CHECK(says(bare.only("exclusion without an area").remedy, "buffer_m"));
}

TEST_CASE("an exclusion that meets no site is said") {
  Register r;
  r.add_sites({site("ANL", "Arnley Meadow", rectangle(x, y, x + 200, y + 100))});
  r.exclude("water", 0, {rectangle(x + 5000, y, x + 5100, y + 100)});
  CHECK(r.read().sites[0].excluded.empty());
  CHECK(r.only("exclusion outside the sites").severity == Severity::note);
}

TEST_CASE("two sites on the same ground stop the season, with hectares and both codes") {
  Register r;
  r.add_sites({site("HDR", "Hadrel Bottoms", rectangle(x, y, x + 300, y + 300)),
               site("GRV", "Gravel Slough", rectangle(x + 280, y, x + 500, y + 300))});
  (void)r.read();
  const Flag flag = r.only("overlapping sites");
  CHECK(flag.severity == Severity::stop);
  CHECK(says(flag.meaning, "GRV and HDR overlap by 0.6 ha"));
  CHECK_FALSE(flag.remedy.empty());
}

TEST_CASE("touching sites, slivers and overlaps that are excluded do not stop it") {
  Register r;
  r.add_sites({site("HDR", "Hadrel Bottoms", rectangle(x, y, x + 300, y + 300)),
               site("GRV", "Gravel Slough", rectangle(x + 300, y, x + 500, y + 300))});
  (void)r.read();
  CHECK(flags_of(r.flags, "overlapping sites").empty());

  Register sliver;
  sliver.add_sites({site("HDR", "Hadrel Bottoms", rectangle(x, y, x + 300, y + 300)),
                    site("GRV", "Gravel Slough", rectangle(x + 299.998, y, x + 500, y + 300))});
  (void)sliver.read();
  CHECK(sliver.only("overlapping sites").severity == Severity::note);

  Register excluded;
  excluded.add_sites({site("HDR", "Hadrel Bottoms", rectangle(x, y, x + 300, y + 300)),
                      site("GRV", "Gravel Slough", rectangle(x + 280, y, x + 500, y + 300))});
  excluded.exclude("claimed twice", 0, {rectangle(x + 280, y, x + 300, y + 300)});
  (void)excluded.read();
  CHECK(excluded.only("overlapping sites").severity == Severity::note);
  CHECK_FALSE(excluded.flags.stopped());
}

TEST_CASE("a ring that crosses itself is mended, and what changed is said") {
  Register r;
  // A bow tie of two triangles of 5,000 m² each: the plain signed area is zero.
  r.add_sites(
      {site("GRV", "Gravel Slough",
            "POLYGON ((760000 4210000, 760200 4210100, 760200 4210000, 760000 4210100, 760000 4210000))")});
  const Sites sites = r.read();
  REQUIRE(sites.sites.size() == 1);
  CHECK(sites.sites[0].drawn_m2 == doctest::Approx(10000));
  const Flag flag = r.only("mended");
  CHECK(flag.severity == Severity::note);
  CHECK(says(flag.meaning, "self-crossing ring at 760100.0 4210050.0"));
  CHECK(says(flag.meaning, "area changed by"));
  CHECK(says(flag.place.text(), "feature 1"));
}

TEST_CASE("parts of one code are joined over features and files, and it is said") {
  Register r;
  r.add_sites({site("SKP", "Skep Sand Prairie", rectangle(x, y, x + 100, y + 100)),
               site("SKP", "Skep Sand Prairie", rectangle(x + 100, y, x + 200, y + 100))});
  r.add_sites({site("SKP", "Skep Sand Prairie", rectangle(x + 500, y, x + 600, y + 100))});
  const Sites sites = r.read();
  REQUIRE(sites.sites.size() == 1);
  CHECK(sites.sites[0].drawn_m2 == doctest::Approx(30000));
  const std::vector<Flag> joined = flags_of(r.flags, "parts joined");
  REQUIRE(joined.size() == 2);
  CHECK(says(joined[1].meaning, "300.0 m apart"));
  CHECK_FALSE(r.flags.stopped());
}

TEST_CASE("halves of a site drawn to the zone edge in two zones become one area without a crack") {
  // The edge between zones 14 and 15 at 96 W, straight in each zone's own plane.
  const Crs plane14 = Crs::from_text(zone14), plane15 = Crs::from_text("EPSG:26915");
  const Route degrees14(plane14, Crs::wgs84()), degrees15(plane15, Crs::wgs84());
  const auto half = [](const Route& degrees, double lon0, double lon1) {
    std::vector<Point> ring;
    for (const Point p : {Point{lon0, 37.99}, Point{lon1, 37.99}, Point{lon1, 38.0}, Point{lon0, 38.0}}) {
      ring.push_back(degrees.back(p));
    }
    return to_wkt(polygon(ring), 3);
  };
  Register r;
  r.add_sites({site("SKP", "Skep Sand Prairie", half(degrees14, -96.003, -96.0))});
  r.add_sites({site("SKP", "Skep Sand Prairie", half(degrees15, -96.0, -95.997))}, "EPSG:26915");
  const Sites sites = r.read();
  REQUIRE(sites.sites.size() == 1);
  CHECK(rings_of(sites.sites[0].drawn).rings.size() == 1);
  const Geometry whole = polygon({degrees14.back({-96.003, 37.99}), degrees14.back({-95.997, 37.99}),
                                  degrees14.back({-95.997, 38.0}), degrees14.back({-96.003, 38.0})});
  CHECK(sites.sites[0].drawn_m2 == doctest::Approx(whole.area()).epsilon(2e-5));
  CHECK(sites.routes.size() == 1);
}

TEST_CASE("a site read in another order of parts and files is the same site") {
  const MadeFeature a = site("SKP", "Skep", rectangle(x, y, x + 100, y + 100));
  const MadeFeature b = site("SKP", "Skep", rectangle(x + 100, y, x + 200, y + 130));
  const MadeFeature c = site("ANL", "Arnley Meadow", rectangle(x + 900, y, x + 950, y + 50));
  Register one, other;
  one.add_sites({a, b, c});
  other.add_sites({c, b});
  other.add_sites({a});
  const Sites first = one.read(), second = other.read();
  REQUIRE(first.sites.size() == 2);
  REQUIRE(second.sites.size() == 2);
  for (std::size_t i = 0; i < 2; ++i) {
    CHECK(first.sites[i].code == second.sites[i].code);
    CHECK(first.sites[i].survey_m2 == second.sites[i].survey_m2);
    CHECK(difference(first.sites[i].survey, second.sites[i].survey).area() == 0);
  }
}

TEST_CASE("codes that cannot be used are all found in one reading") {
  Register r;
  r.add_sites({site("", "Nameless", rectangle(x, y, x + 100, y + 100)),
               site("MAR", "Marl Bluff", rectangle(x, y + 200, x + 100, y + 300)),
               site("1E", "First East", rectangle(x, y + 400, x + 100, y + 500)),
               site("QO1", "Quill Prairie", rectangle(x, y + 600, x + 100, y + 700)),
               site("Q0I", "Quil Prairie", rectangle(x, y + 800, x + 100, y + 900)),
               site(" FLG ", "Flintlatch Glade", rectangle(x, y + 1000, x + 100, y + 1100))});
  const Sites sites = r.read();
  CHECK(r.only("site without a code").severity == Severity::stop);
  const std::vector<Flag> changed = flags_of(r.flags, "code that spreadsheets change");
  REQUIRE(changed.size() == 2);
  CHECK(says(changed[0].meaning, "1E becomes a number in spreadsheets (as 1E05)"));
  CHECK(says(changed[1].meaning, "MAR becomes a date in spreadsheets"));
  CHECK(changed[1].severity == Severity::stop);
  CHECK(says(changed[1].remedy, "Choose another"));
  CHECK(r.only("codes that look alike").severity == Severity::ask);
  CHECK(says(r.only("codes that look alike").meaning, "Q0I and QO1"));
  CHECK(says(r.only("names nearly alike").meaning, "Quil Prairie"));
  CHECK(r.only("blanks round a code").severity == Severity::note);
  CHECK(sites.sites.size() == 5);
}

TEST_CASE("names told apart by a number or by several letters are no duplicates") {
  Register r;
  r.add_sites({site("NFA", "North Field 1", rectangle(x, y, x + 100, y + 100)),
               site("NFB", "North Field 2", rectangle(x, y + 200, x + 100, y + 300)),
               site("EST", "East Meadow", rectangle(x, y + 400, x + 100, y + 500)),
               site("WST", "West Meadow", rectangle(x, y + 600, x + 100, y + 700))});
  (void)r.read();
  CHECK(flags_of(r.flags, "names nearly alike").empty());
}

TEST_CASE("one code for two names is one site misspelt or two sites") {
  Register spelling;
  spelling.add_sites({site("QPR", "Quill Prairie", rectangle(x, y, x + 100, y + 100)),
                      site("QPR", "Quil Prairie", rectangle(x + 100, y, x + 200, y + 100))});
  (void)spelling.read();
  CHECK(spelling.only("one code, two names").severity == Severity::ask);
  Register two;
  two.add_sites({site("QPR", "Quill Prairie", rectangle(x, y, x + 100, y + 100)),
                 site("QPR", "Dusk Hollow", rectangle(x + 1000, y, x + 1200, y + 100))});
  (void)two.read();
  CHECK(two.only("one code, two names").severity == Severity::stop);
}

TEST_CASE("a code attribute that is not there is named, with the nearest that is") {
  Register r;
  r.plan.sites.code = "cod";
  r.add_sites({site("QPR", "Quill Prairie", rectangle(x, y, x + 100, y + 100))});
  CHECK(r.read().sites.empty());
  const Flag flag = r.only("no code attribute");
  CHECK(flag.severity == Severity::stop);
  CHECK(says(flag.remedy, "\"code\""));
}

TEST_CASE("only some sites are read when the plan says so, and an unknown code is not passed over") {
  Register r;
  r.plan.sites.only = {"QPR", "ANX"};
  r.add_sites({site("QPR", "Quill Prairie", rectangle(x, y, x + 100, y + 100)),
               site("ANL", "Arnley Meadow", rectangle(x, y + 200, x + 100, y + 300))});
  const Sites sites = r.read();
  REQUIRE(sites.sites.size() == 1);
  CHECK(sites.sites[0].code == "QPR");
  CHECK(r.only("unknown site").severity == Severity::stop);
  CHECK(says(r.only("unknown site").remedy, "ANL"));
}

TEST_CASE("sites too small for a plot are asked about, and sites wholly excluded stop the season") {
  Register r;
  r.add_sites(
      {site("BIT", "Sliver", rectangle(x, y, x + 3, y + 5)),
       site("PND", "Pond", rectangle(x, y + 100, x + 50, y + 150)),
       {"LINESTRING (760000 4211000, 760500 4211000)", {{"code", "PEL"}, {"name", "Pell Road verge"}}}});
  r.exclude("water", 5, {rectangle(x, y + 100, x + 50, y + 150)});
  (void)r.read();
  CHECK(r.only("holds less than one plot").severity == Severity::ask);
  CHECK(says(r.only("holds less than one plot").meaning, "BIT: 15.0 m²"));
  CHECK(r.only("nothing left to survey").severity == Severity::stop);
  CHECK(r.only("site without an area").severity == Severity::stop);
}

TEST_CASE("a geographic plan system is refused with the UTM zone of the data") {
  Register r;
  r.plan.crs = "EPSG:4326";
  r.add_sites({site("QPR", "Quill Prairie", rectangle(x, y, x + 100, y + 100))});
  CHECK(r.read().sites.empty());
  const Flag flag = r.only("plan system is geographic");
  CHECK(flag.severity == Severity::stop);
  CHECK(flag.place.text() == "plan.toml:4");
  CHECK(flag.meaning == "EPSG:4326 is geographic: distances and areas need metres.");
  // 760000 E in zone 14 at 38 N is 96.04 W: still zone 14.
  CHECK(says(flag.remedy, "EPSG:32614"));
}

TEST_CASE("a plan system in feet is refused") {
  Register r;
  r.plan.crs = "EPSG:2227";
  r.add_sites({site("QPR", "Quill Prairie", rectangle(x, y, x + 100, y + 100))});
  CHECK(r.read().sites.empty());
  CHECK(r.only("plan system is not in metres").severity == Severity::stop);
}

TEST_CASE("areas stretched by the plan's system are said") {
  Register r;
  // World Mercator stretches areas by about 1/cos² of the latitude.
  r.plan.crs = "EPSG:3395";
  r.add_sites({site("QPR", "Quill Prairie", rectangle(x, y, x + 100, y + 100))});
  const Sites sites = r.read();
  const double latitude = 38.0 * 3.14159265358979 / 180;
  CHECK(sites.sites[0].geodesic_ratio ==
        doctest::Approx(std::cos(latitude) * std::cos(latitude)).epsilon(0.01));
  const Flag stretched = r.only("lengths stretched");
  CHECK(stretched.severity == Severity::stop);
  // Snyder 1987 (USGS Professional Paper 1395), Mercator: the scale at a latitude is sec φ on a sphere (0.3 %
  // off on the ellipsoid at 38°), so 10 m of the plane are 10 cos 38° = 7.88 m of ground.
  CHECK(says(stretched.meaning, "a plot length of 10 m in WGS 84 / World Mercator is 7.8"));
  CHECK(says(stretched.meaning, "QPR"));
  CHECK(says(stretched.remedy, "EPSG:326"));
}

TEST_CASE("lengths stretched by less than 1 % are asked about, equal areas or not") {
  Register r;
  // An equal-area cone: areas are exact, lengths are stretched one way and shrunk the other.
  r.plan.crs = "EPSG:5070";
  r.add_sites({site("QPR", "Quill Prairie", rectangle(0, 900000, 100, 900100))}, "EPSG:5070");
  (void)r.read();
  CHECK(r.only("areas stretched").severity == Severity::ask);
  CHECK(says(r.only("areas stretched").meaning, "by up to 0.00 % (QPR), lengths by 0."));
}

TEST_CASE("walks start at the site's own access point, else the nearest unnamed one, else it is said") {
  Register r;
  r.add_sites({site("QPR", "Quill Prairie", rectangle(x, y, x + 100, y + 100)),
               site("ANL", "Arnley Meadow", rectangle(x, y + 200, x + 100, y + 300))});
  make_vectors(r.folder / "parking.gpkg", zone14,
               {{"POINT (760500 4210050)", {{"site", "QPR"}}},
                {"POINT (760050 4210150)", {{"site", ""}}},
                {"POINT (760000 4210000)", {{"site", "QPX"}}}});
  r.plan.sites.access.start = SourceSpec{r.folder / "parking.gpkg", "", "", {"plan.toml", 30, ""}};
  const Sites sites = r.read();
  const Crs crs = Crs::from_text(r.plan.crs);
  const Access access = read_access(r.plan, crs, sites, r.flags);
  CHECK(access.start.at("QPR") == Point{760500, 4210050});
  CHECK(access.start.at("ANL") == Point{760050, 4210150});
  CHECK(r.only("access point of no site").severity == Severity::ask);
  CHECK(says(r.only("access point of no site").remedy, "QPR"));

  Register none;
  none.add_sites({site("QPR", "Quill Prairie", rectangle(x, y, x + 100, y + 100))});
  const Sites unaided = none.read();
  CHECK(read_access(none.plan, crs, unaided, none.flags).start.empty());
  CHECK(says(none.only("no access point").meaning, "QPR"));
}

}  // namespace site_test
