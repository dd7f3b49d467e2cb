// Linear sites from files to plots.
#include <doctest/doctest.h>

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <tuple>

#include "small_season.hpp"
#include "swardline/geo/earth.hpp"

namespace linear_site_test {

using namespace swardline;

namespace {

/// A road of 1,000 m from west to east in two features, its verges 3 m off the middle.
const char* west_half = "LINESTRING (760050 4210950, 760550 4210950)";
const char* east_half = "LINESTRING (760550 4210950, 760800 4210950, 760800 4210700)";

std::map<std::string, std::string> road(const std::string& left, const std::string& right) {
  return {{"code", "PEL"}, {"name", "Pell Road"}, {"left_m", left}, {"right_m", right}};
}

void add_verges(SmallSeason& s, const std::vector<MadeFeature>& features) {
  const auto file = s.season.plan.folder / "verges.gpkg";
  make_vectors(file, s.season.plan.crs, features);
  LinearSpec& linear = s.season.plan.sites.linear;
  linear.sources = {{file, "", "", {}}};
  linear.width.attributes = {"left_m", "right_m"};
  linear.offset.metres = {3, 3};
  linear.place = {"plan.toml", 20, "[sites.linear]"};
}

void add_road(SmallSeason& s) { add_verges(s, {{west_half, road("2", "4")}, {east_half, road("3", "5")}}); }

void add_gap(SmallSeason& s, const std::string& wkt) {
  s.exclude("bridge", wkt);
  s.season.plan.sites.exclusions.back().verges_only = true;
}

std::vector<const Plot*> segments_of(const SeasonDraw& draw) {
  std::vector<const Plot*> plots;
  for (const Plot& plot : draw.plots) {
    if (plot.site == "PEL") plots.push_back(&plot);
  }
  return plots;
}

auto place_of(const Plot& p) {
  return std::tuple(p.site, p.order, p.spare, p.east, p.north, p.bearing_deg, p.inside_m2, p.chance_per_m2,
                    p.weight_m2, p.tape, p.walk, p.metres_from_last, p.score);
}

Flags flags_of_reading(SmallSeason& s) {
  Flags flags;
  make_vectors(s.season.plan.folder / "areas.gpkg", s.season.plan.crs,
               {{rectangle(761000, 4209500, 761400, 4210900), {{"code", "ANL"}, {"name", "Arnley"}}}});
  s.season.plan.sites.sources = {{s.season.plan.folder / "areas.gpkg", "", "", {}}};
  (void)read_sites(s.season.plan, s.crs(), flags);
  return flags;
}

void check_stops(const std::vector<MadeFeature>& features, const std::string& check,
                 const std::vector<std::string>& parts) {
  SmallSeason s;
  add_verges(s, features);
  const std::vector<Flag> found = flags_of(flags_of_reading(s), check);
  REQUIRE_MESSAGE(found.size() == 1, check);
  CHECK(found[0].severity == Severity::stop);
  for (const std::string& part : parts) CHECK_MESSAGE(says(found[0].meaning, part), found[0].meaning);
}

}  // namespace

TEST_CASE("a road becomes one stratum of segments beside site polygons, with every number by hand") {
  SmallSeason s;
  s.add_site("ANL", rectangle(761000, 4209500, 761400, 4210900));
  add_road(s);
  add_gap(s, rectangle(760090, 4210900, 760126, 4211000));  // from 40 m to 76 m along the line
  s.season.plan.sites.linear.each = 12;
  const SeasonDraw draw = s.draw();
  const Site& site = s.site("PEL");
  REQUIRE(site.verge);
  CHECK(site.verge->length_m == doctest::Approx(1000));
  CHECK(site.verge->stretches == 50);
  // Segment 3 lies on the bridge whole, segment 4 keeps 4 m; of each both sides.
  CHECK(site.verge->count(VergeSide::left) == 49);
  CHECK(site.verge->count(VergeSide::right) == 49);
  CHECK(says(in_words(site), "20 m segments along 1 km, both sides; 98 possible (49 left, 49 right)."));
  // Left: 500 × 2 and 500 × 3 m with a rounded outside; right: 500 × 4 and 500 × 5 less its inside; bridge
  // 36 × 6. The turn is to the right.
  const double left = 500 * 2 + 500 * 3 + std::acos(-1.0) / 4 * (36 - 9);
  const double right = 500 * 4 + 500 * 5 - 2 * 3 * 5 - 25;
  CHECK(site.survey_m2 == doctest::Approx(left + right - 36 * 6).epsilon(1e-4));

  const auto stratum =
      std::find_if(draw.strata.begin(), draw.strata.end(), [](const Stratum& t) { return t.site == "PEL"; });
  REQUIRE(stratum != draw.strata.end());
  CHECK(stratum->id == "PEL|segments|v1");
  CHECK(stratum->kind == StratumKind::line);
  CHECK(stratum->area_m2() == doctest::Approx(site.survey_m2).epsilon(1e-9));
  CHECK(stratum->planned == 12);
  CHECK(stratum->drawn == 12);
  CHECK(stratum->spares_drawn == 6);
  CHECK(std::count_if(draw.strata.begin(), draw.strata.end(),
                      [](const Stratum& t) { return t.site == "PEL"; }) == 1);

  std::set<std::tuple<std::string, double>> places;
  for (const Plot* plot : segments_of(draw)) {
    CHECK(places.insert({plot->side, plot->from_m}).second);
    CHECK(site.survey.contains({plot->east, plot->north}));
    REQUIRE(plot->outline);
    CHECK(plot->outline->contains({plot->east, plot->north}));
    CHECK(plot->inside_m2 == doctest::Approx(plot->outline->area()));
    CHECK(plot->twice_m2 == 0);
    CHECK(plot->chance_per_m2 * plot->inside_m2 == doctest::Approx(12.0 / 98));
    CHECK(plot->weight_m2 == doctest::Approx(plot->spare ? 0 : plot->inside_m2 * 98 / 12));
    CHECK_FALSE((plot->from_m >= 40 && plot->to_m <= 60));
    CHECK(says(plot->tape, fmt::format("{}, from ", plot->side)));
    CHECK(says(plot->tape, "along the line"));
    const double along = plot->from_m < 740 ? 90 : 180;
    if (plot->to_m <= 740 || plot->from_m >= 760) CHECK(plot->grid_bearing_deg == along);
    const Route route(s.crs(), Crs::wgs84());
    CHECK(plot->bearing_deg ==
          doctest::Approx(plot->grid_bearing_deg + convergence_deg({plot->east, plot->north}, route))
              .epsilon(1e-5));
  }
  CHECK(places.size() == 18);
  CHECK(flags_of(s.flags, "work beside a road").size() == 1);
  CHECK(draw.certificate.shortfalls.empty());
  CHECK(std::find(draw.certificate.allocation.begin(), draw.certificate.allocation.end(),
                  "PEL: 12 of 98 segments, the chance of each 12/98.") != draw.certificate.allocation.end());
  const std::string json = to_json(draw.certificate);
  CHECK(says(json, "\"segments\": 98"));
  CHECK(says(json, "\"method\": \"local pivotal over the segments of a line\""));
}

TEST_CASE("segments are walked along the line, from the end nearer to the start") {
  for (const bool from_east : {false, true}) {
    SmallSeason s;
    s.add_site("ANL", rectangle(761000, 4209500, 761400, 4210900));
    add_road(s);
    s.access.start["PEL"] = from_east ? Point{760810, 4210690} : Point{760040, 4210950};
    const SeasonDraw draw = s.draw();
    std::vector<const Plot*> walk = segments_of(draw);
    std::erase_if(walk, [](const Plot* plot) { return plot->spare; });
    std::sort(walk.begin(), walk.end(), [](const Plot* a, const Plot* b) { return a->walk < b->walk; });
    REQUIRE(walk.size() == 6);  // `each` of the sample
    for (std::size_t i = 1; i < walk.size(); ++i) {
      CHECK(walk[i]->walk == int(i) + 1);
      const double on = walk[i]->from_m - walk[i - 1]->from_m;
      CHECK((from_east ? on <= 0 : on >= 0));
      CHECK(walk[i]->metres_from_last >= std::abs(on) - 1e-6);
      CHECK(walk[i]->metres_from_last <= std::abs(on) + 15);
    }
  }
}

TEST_CASE("linear sites change no plot of a polygon, nor polygons a segment, nor threads either") {
  SmallSeason alone, both, threads;
  for (SmallSeason* s : {&alone, &both, &threads}) {
    s->add_site("ANL", rectangle(761000, 4209500, 761400, 4210900));
    add_gap(*s, rectangle(761100, 4209600, 761300, 4209900));  // a gap of the verges does not touch ANL
  }
  for (SmallSeason* s : {&both, &threads}) {
    add_road(*s);
    s->add_site("CND", rectangle(760020, 4210200, 760600, 4210400));
  }
  const SeasonDraw a = alone.draw(), b = both.draw(), c = threads.draw(3);
  const auto of = [](const SeasonDraw& draw, const std::string& site) {
    std::vector<decltype(place_of(draw.plots[0]))> places;
    for (const Plot& plot : draw.plots) {
      if (plot.site == site) places.push_back(place_of(plot));
    }
    return places;
  };
  CHECK(alone.site("ANL").excluded.empty());
  CHECK(of(a, "ANL") == of(b, "ANL"));
  CHECK(of(b, "PEL") == of(c, "PEL"));
  SmallSeason moved;
  moved.add_site("TNY", rectangle(760020, 4209700, 760600, 4209900));
  add_road(moved);
  CHECK(of(moved.draw(), "PEL") == of(b, "PEL"));
}

TEST_CASE("more segments than there are is a shortfall with numbers, and spares too") {
  SmallSeason s;
  s.add_site("ANL", rectangle(761000, 4209500, 761400, 4210900));
  add_verges(s, {{"LINESTRING (760050 4210950, 760110 4210950)", road("2", "0")}});
  s.season.plan.sites.linear.each = 5;
  const SeasonDraw draw = s.draw();
  CHECK(segments_of(draw).size() == 3);
  REQUIRE(draw.certificate.shortfalls.size() == 2);
  CHECK(draw.certificate.shortfalls[0] == "PEL|segments: 3 of 5 segments drawn: there are no more.");
  CHECK(draw.certificate.shortfalls[1] ==
        "PEL|segments: 0 of 3 spares drawn: 0 segments are left once 3 are planned.");
  for (const Plot* plot : segments_of(draw)) {
    CHECK(plot->side == "left");
    CHECK(plot->chance_per_m2 * plot->inside_m2 == doctest::Approx(1));
  }
}

TEST_CASE("segments of an earlier season stay where the line still has them, with names and chances") {
  SmallSeason before;
  before.add_site("ANL", rectangle(761000, 4209500, 761400, 4210900));
  add_road(before);
  before.season.plan.sites.linear.each = 12;
  const SeasonDraw first = before.draw();
  KeptPlots kept;
  for (const Plot* segment : segments_of(first)) {
    kept.plots.push_back(*segment);
    kept.plots.back().name = fmt::format("PEL{:02}X", kept.plots.size());
    kept.plots.back().first_season = "2026";
  }
  REQUIRE(kept.plots.size() == 18);

  SmallSeason now;
  now.season.plan.seed += 1;  // another draw would be of other segments
  now.add_site("ANL", rectangle(761000, 4209500, 761400, 4210900));
  add_road(now);
  now.season.plan.sites.linear.each = 5;
  now.kept = kept;
  const SeasonDraw second = now.draw();
  const auto same = segments_of(second);
  REQUIRE(same.size() == 18);
  const auto plot_as = [](const Plot& p) {
    return std::tuple(p.name, p.side, p.from_m, p.to_m, p.order, p.spare, p.inside_m2, p.chance_per_m2,
                      p.east, p.north, p.first_season);
  };
  std::set<decltype(plot_as(kept.plots[0]))> then, after;
  for (const Plot& p : kept.plots) then.insert(plot_as(p));
  for (const Plot* p : same) after.insert(plot_as(*p));
  CHECK(then == after);
  for (const Plot* p : same) CHECK(p->weight_m2 == doctest::Approx(p->spare ? 0 : 1 / p->chance_per_m2));
  CHECK(std::count_if(second.certificate.kept.begin(), second.certificate.kept.end(), [](const auto& line) {
          return says(line, "PEL: 12 segments and 6 spares of earlier seasons stay");
        }) == 1);

  SmallSeason shorter;  // its eastern half was closed
  shorter.add_site("ANL", rectangle(761000, 4209500, 761400, 4210900));
  add_verges(shorter, {{west_half, road("2", "4")}});
  shorter.season.plan.sites.linear.each = 12;
  shorter.kept = kept;
  const SeasonDraw third = shorter.draw();
  int gone = 0;
  for (const Plot& plot : third.plots) {
    if (plot.site != "PEL") continue;
    CHECK((plot.to_m > 500.001) == plot.status.starts_with("outside the survey area since"));
    gone += plot.to_m > 500.001 ? 1 : 0;
  }
  CHECK(gone > 0);
  CHECK(segments_of(third).size() == 18);
}

TEST_CASE("what is wrong with a linear site is said with its place") {
  const auto one = [](const std::string& wkt, const std::map<std::string, std::string>& fields) {
    return std::vector<MadeFeature>{{wkt, fields}};
  };
  check_stops(one(rectangle(760050, 4210940, 760550, 4210950), road("2", "2")), "linear site without a line",
              {"PEL is an area here"});
  check_stops(one("POINT (760050 4210950)", road("2", "2")), "linear site without a line", {"no line"});
  check_stops(one(west_half, road("wide", "2")), "metres of the verge",
              {"`left_m` holds \"wide\"", "0 to 100"});
  check_stops(one(west_half, road("", "2")), "metres of the verge", {"`left_m` is empty"});
  check_stops(one(west_half, road("-2", "2")), "metres of the verge", {"holds \"-2\""});
  check_stops(one(west_half, {{"code", "PEL"}, {"name", "Pell Road"}, {"left", "2"}, {"right_m", "2"}}),
              "no attribute of the verge", {"no attribute `left_m`"});
  check_stops(one(west_half, road("0", "0")), "linear site without ground",
              {"500.0 m of line have no verge"});
  check_stops(one("LINESTRING (761500 4209000, 761700 4209000)",
                  {{"code", "ANL"}, {"name", "Arnley"}, {"left_m", "2"}, {"right_m", "2"}}),
              "both an area and a line", {"ANL is a line here and an area in areas.gpkg"});
  check_stops(
      one("LINESTRING (700000 4209000, 800000 4209000, 700000 4300000, 800000 4300000, 700000 4400000, "
          "1900000 4400000)",
          road("2", "2")),
      "too many segments", {"segments of 20 m; a site may have 50,000"});
}

TEST_CASE("a verge that is cut out whole stops, and lines drawn the other way round are said") {
  SmallSeason gone;
  add_road(gone);
  add_gap(gone, rectangle(760000, 4210600, 760900, 4211000));
  CHECK(flags_of(flags_of_reading(gone), "nothing left to survey").size() == 1);
  SmallSeason turned;
  add_verges(turned, {{west_half, road("2", "4")},
                      {"LINESTRING (760800 4210700, 760800 4210950, 760550 4210950)", road("5", "3")}});
  const std::vector<Flag> said = flags_of(flags_of_reading(turned), "lines turned");
  REQUIRE(said.size() == 1);
  CHECK(says(said[0].meaning, "drawn against those they go on from: 1"));
}

}  // namespace linear_site_test
