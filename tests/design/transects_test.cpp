// Transects drawn for a season: chances, repeatability, bearings, tape, reference lines.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "small_season.hpp"
#include "swardline/geo/magnetic.hpp"

namespace transects_test {

using namespace swardline;

namespace {

/// Two sites on ground that rises by 0.3 m a metre eastwards.
class LineSeason : public SmallSeason {
 public:
  explicit LineSeason(TransectSpec::Boundary boundary = TransectSpec::Boundary::clip) {
    Plan& plan = season.plan;
    plan.sample.unit = SampleUnit::transect;
    plan.sample.each = 6;
    plan.strata.by = {"site"};
    plan.transect.length_m = 25;
    plan.transect.width_m = 2;
    plan.transect.boundary = boundary;
    plan.transect.place = {"plan.toml", 50, "[transect]"};
    plan.sample.size_m = {2, 25};
    LayerSpec elevation;
    elevation.name = "elevation";
    elevation.source = folder() / "elevation.tif";
    elevation.unit = "m";
    plan.layers.push_back(elevation);
    make_raster(folder() / "elevation.tif", plan.crs, {west, north}, cell, 160, 160,
                [](int col, int) { return 100 + 3 * (col % 50); });
    add_site("QPR", rectangle(760100, 4209700, 760420, 4210100));
    add_site("CND", rectangle(760000, 4210500, 760300, 4210640));
  }
  [[nodiscard]] const std::filesystem::path& folder() const { return season.plan.folder; }
};

double clock_difference(double a, double b) { return std::abs(std::remainder(a - b, 360.0)); }

void check_same(const SeasonDraw& a, const SeasonDraw& b, const std::string& site) {
  std::vector<const Transect*> in_b;
  for (const Transect& t : b.transects)
    if (t.unit.site == site) in_b.push_back(&t);
  std::size_t i = 0;
  for (const Transect& t : a.transects) {
    if (t.unit.site != site) continue;
    REQUIRE(i < in_b.size());
    CHECK(t.unit.east == in_b[i]->unit.east);
    CHECK(t.unit.north == in_b[i]->unit.north);
    CHECK(t.stake_out == in_b[i]->stake_out);
    CHECK(to_wkt(t.line) == to_wkt(in_b[i]->line));
    ++i;
  }
  CHECK(i == in_b.size());
}

}  // namespace

TEST_CASE("transects: numbers, chances and ground of both rules and both ways to lay them") {
  for (const auto boundary : {TransectSpec::Boundary::clip, TransectSpec::Boundary::reflect})
    for (const auto lay : {TransectSpec::Lay::point, TransectSpec::Lay::baseline}) {
      LineSeason s(boundary);
      s.season.plan.transect.lay = lay;
      s.season.plan.transect.baseline_deg = 10;
      s.season.plan.transect.bearing_deg = 100;
      const SeasonDraw draw = s.draw(2);
      CHECK(draw.plots.empty());
      REQUIRE(draw.transects.size() == 2 * (6 + 3));
      for (const Transect& t : draw.transects) {
        const Site& site = s.site(t.unit.site);
        const double ground = t.start_ground_m2;
        if (boundary == TransectSpec::Boundary::reflect) {
          CHECK(ground == doctest::Approx(site.survey_m2));
          CHECK(t.length_m == doctest::Approx(25));
          // Only a belt whose side is cut off by the boundary holds less.
          CHECK(t.unit.inside_m2 + t.unit.twice_m2 <= 50 + 1e-6);
        } else {
          CHECK(ground > site.survey_m2);
          CHECK(ground < site.survey_m2 + 27 * (320 + 400));
          CHECK(t.unit.inside_m2 > 0);
          CHECK(t.unit.twice_m2 == 0);
        }
        CHECK(t.unit.chance_per_m2 == doctest::Approx(6 / ground));
        CHECK((t.unit.spare ? t.unit.weight_m2 == 0 : t.unit.weight_m2 == doctest::Approx(ground / 6)));
        const double off = clock_difference(t.unit.bearing_deg, 100);
        CHECK((off < 0.1 || std::abs(off - 180) < 0.1));
        if (boundary == TransectSpec::Boundary::clip) CHECK(off < 0.1);
        // Folded lines stay inside; of a clipped one what is kept has some of its belt there.
        const double beside = boundary == TransectSpec::Boundary::clip ? 1.001 : 0.001;
        CHECK(difference(t.line, buffered(site.survey, beside)).length() < 1e-3);
      }
      for (const StratumCertificate& c : draw.certificate.strata) {
        CHECK(c.stratum.drawn == 6);
        CHECK(c.stratum.spares_drawn == 3);
        CHECK_FALSE(c.draw.notes.empty());
      }
      CHECK(draw.certificate.unit == "transect, belt of 2 m × 25 m");
    }
}

TEST_CASE("transects do not depend on threads or on other sites") {
  for (const bool random_bearing : {false, true}) {
    LineSeason one, two;
    for (LineSeason* s : {&one, &two}) {
      if (!random_bearing) s->season.plan.transect.bearing_deg = 30;
      s->season.plan.transect.frames = FrameSpec{5, {0.5, 1}};
      s->season.plan.transect.width_m = 0.5;
    }
    two.add_site("ZZZ", rectangle(761000, 4209700, 761200, 4210100));
    const SeasonDraw a = one.draw(1), b = two.draw(3);
    check_same(a, b, "QPR");
    check_same(a, b, "CND");
    CHECK(b.transects.size() == 27);
    for (const Transect& t : a.transects) {
      CHECK(t.stations.size() <= 5);
      double inside = 0;
      for (const TransectStation& station : t.stations) inside += station.inside_m2;
      CHECK(inside == doctest::Approx(t.unit.inside_m2));
    }
  }
}

TEST_CASE("lines along the slope take more tape, and a baseline along the contours makes them run uphill") {
  LineSeason s;
  s.season.plan.transect.lay = TransectSpec::Lay::baseline;
  s.season.plan.transect.baseline = TransectSpec::Baseline::contour;
  const SeasonDraw draw = s.draw();
  for (const Transect& t : draw.transects) {
    // Uphill is grid east; true bearings differ from it by the convergence, here nearly 2 degrees.
    CHECK(clock_difference(t.unit.grid_bearing_deg, 90) < 0.6);
    CHECK(clock_difference(t.unit.bearing_deg, t.unit.grid_bearing_deg) > 1);
    // The raster repeats every 500 m; both sites lie on one ramp. By hand: 25 m at 0.3 m a metre.
    const double level = t.line.empty() ? 0 : t.length_m;
    CHECK(t.tape_m == doctest::Approx(level * std::sqrt(1 + 0.09)).epsilon(1e-3));
    CHECK(t.stake_out.find("of tape along the ground") != std::string::npos);
  }
  LineSeason flat;
  flat.season.plan.transect = s.season.plan.transect;
  make_raster(flat.folder() / "elevation.tif", flat.season.plan.crs, {SmallSeason::west, SmallSeason::north},
              10, 160, 160, [](int, int) { return 100; });
  CHECK_THROWS_WITH_AS((void)flat.draw(), doctest::Contains("plan.toml:50 [transect]: CND is flat"),
                       InputError);
}

TEST_CASE("a baseline along the longest axis makes lines run across it") {
  LineSeason s;
  s.season.plan.transect.lay = TransectSpec::Lay::baseline;
  s.season.plan.transect.baseline = TransectSpec::Baseline::longest_axis;
  for (const Transect& t : s.draw().transects) {
    // QPR is longest northwards, CND eastwards; the sense is free.
    const double across = t.unit.site == "QPR" ? 90 : 0;
    const double off = clock_difference(t.unit.grid_bearing_deg, across);
    CHECK((off < 0.6 || std::abs(off - 180) < 0.6));
  }
}

TEST_CASE("bearings are said as true and magnetic, never the grid's") {
  LineSeason s;
  s.season.plan.transect.bearing_deg = 50;
  s.season.plan.declination = {true, -1.5, {}, "2027-05-28", "survey sheet 14", {}};
  for (const Transect& t : s.draw().transects) {
    REQUIRE(t.magnetic_bearing_deg);
    CHECK(clock_difference(*t.magnetic_bearing_deg, t.unit.bearing_deg + 1.5) < 1e-9);
    CHECK(t.stake_out.find("Bearing true " + bearing_text(t.unit.bearing_deg) + ", magnetic " +
                           bearing_text(*t.magnetic_bearing_deg)) != std::string::npos);
    CHECK(t.stake_out.find(bearing_text(t.unit.grid_bearing_deg)) == std::string::npos);
  }
}

TEST_CASE("a transect longer than a site is refused with the site's size") {
  LineSeason s;
  s.season.plan.transect.length_m = 400;
  CHECK_THROWS_WITH_AS(
      (void)s.draw(),
      doctest::Contains("transects of 400 m are longer than CND, which is 331 m at its longest. "
                        "Write length_m = 165 (331 at most; shorter lines leave room for a random start), "
                        "or leave CND out with [sites] only."),
      InputError);
}

TEST_CASE("reference lines are kept with their site and without a chance") {
  LineSeason s;
  const auto file = s.folder() / "lines.gpkg";
  make_vectors(file, s.season.plan.crs,
               {{"LINESTRING(760150 4209800,760190 4209800,760190 4209830)", {{"name", "old line"}}},
                {"LINESTRING(700000 4209800,700010 4209800)", {{"name", "far off"}}}});
  s.season.plan.transect.reference_lines = SourceSpec{file, "", "", {}};
  const SeasonDraw draw = s.draw();
  REQUIRE(draw.reference_lines.size() == 2);
  CHECK(draw.reference_lines[0].name == "old line");
  CHECK(draw.reference_lines[0].site == "QPR");
  CHECK(draw.reference_lines[0].length_m == doctest::Approx(70));
  REQUIRE(draw.reference_lines[0].tape_m);
  CHECK(*draw.reference_lines[0].tape_m == doctest::Approx(40 * std::sqrt(1.09) + 30).epsilon(1e-3));
  CHECK(draw.reference_lines[1].site.empty());
  CHECK(std::any_of(s.flags.all().begin(), s.flags.all().end(),
                    [](const Flag& f) { return f.check == "reference line outside"; }));
  CHECK(draw.transects.size() == 18);
}

}  // namespace transects_test
