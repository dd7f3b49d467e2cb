#include "swardline/design/draw_season.hpp"

#include <cpl_json.h>
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <set>
#include <tuple>

#include "small_season.hpp"
#include "swardline/geo/earth.hpp"

namespace draw_season_test {

using namespace swardline;

namespace {

const char* slanting =
    "POLYGON ((760113 4209507, 760921 4209551, 760871 4210633, 760208 4210477, 760113 4209507))";

void add_three_sites(SmallSeason& s) {
  s.add_site("QPR", slanting);
  s.add_site("ANL", rectangle(761000, 4209500, 761400, 4210900));
  s.add_site("CND", rectangle(760020, 4210700, 760800, 4210900));
}

/// Everything a plot holds, for comparing bit by bit.
auto all_of(const Plot& p) {
  return std::tuple(p.site, p.stratum, p.order, p.spare, p.chance_per_m2, p.weight_m2, p.east, p.north, p.lat,
                    p.lon, p.bearing_deg, p.grid_bearing_deg, p.inside_m2, p.twice_m2, p.tape, p.score,
                    p.held_down_by, p.percent, p.status, p.why, p.walk, p.metres_from_last);
}

void check_same_plots(const std::vector<Plot>& a, const std::vector<Plot>& b) {
  REQUIRE(a.size() == b.size());
  for (std::size_t i = 0; i < a.size(); ++i) CHECK_MESSAGE(all_of(a[i]) == all_of(b[i]), a[i].stratum);
}

std::vector<Plot> of_site(const SeasonDraw& draw, const std::string& site) {
  std::vector<Plot> plots;
  std::copy_if(draw.plots.begin(), draw.plots.end(), std::back_inserter(plots),
               [&](const Plot& p) { return p.site == site; });
  return plots;
}

int planned_in(const SeasonDraw& draw, const std::string& stratum) {
  return int(std::count_if(draw.plots.begin(), draw.plots.end(),
                           [&](const Plot& p) { return p.stratum == stratum && !p.spare; }));
}

}  // namespace

TEST_CASE("every plot lies in its site, outside every exclusion and in its stratum's band") {
  SmallSeason s;
  add_three_sites(s);
  s.exclude("no entry", rectangle(760300, 4209700, 760333, 4209990));
  const SeasonDraw draw = s.draw(2);
  CHECK(draw.certificate.shortfalls.empty());
  for (const Plot& plot : draw.plots) {
    const Site& site = s.site(plot.site);
    const Point at{plot.east, plot.north};
    CHECK(site.survey.contains(at));
    for (const ExcludedPiece& piece : site.excluded) CHECK_FALSE(piece.area.contains(at));
    CHECK(plot.stratum.find(plot.site + "|") == 0);
    // The scores in closed form: bands 0–25 and 25–50 are all PDIG's 40.
    const int moisture = SmallSeason::moisture_at(plot.east, plot.north);
    CHECK(SmallSeason::cover_at(plot.east, plot.north) != 3);
    if (plot.stratum.find("no-score") != std::string::npos) {
      CHECK(moisture == 255);
      CHECK_FALSE(plot.score.has_value());
      continue;
    }
    const int percent = std::max(40, moisture);
    REQUIRE(plot.score.has_value());
    CHECK(*plot.score == doctest::Approx(percent / 100.0));
    CHECK(plot.percent.at("PTUB") == moisture);
    CHECK(plot.percent.at("PDIG") == 40);
    const std::string band = percent < 50 ? "25-50" : percent < 75 ? "50-75" : "75-100";
    CHECK(plot.stratum == plot.site + "|score=" + band + "|v1");
  }
}

TEST_CASE(
    "sizes are exact, weights sum to the area, chances are their inverse, and spares weigh nothing yet") {
  SmallSeason s;
  add_three_sites(s);
  const SeasonDraw draw = s.draw();
  for (const Stratum& stratum : draw.strata) {
    double weight = 0;
    int planned = 0, spares = 0;
    std::set<std::pair<bool, int>> orders;
    for (const Plot& plot : draw.plots) {
      if (plot.stratum != stratum.id) continue;
      orders.insert({plot.spare, plot.order});
      weight += plot.weight_m2;
      ++(plot.spare ? spares : planned);
      CHECK(plot.chance_per_m2 == doctest::Approx(stratum.planned / stratum.area_m2()));
      CHECK(plot.status == (plot.spare ? "spare" : "planned"));
      if (plot.spare) CHECK(plot.weight_m2 == 0);
      CHECK(plot.name.empty());
    }
    const bool excluded = stratum.kind == StratumKind::excluded;
    CHECK(stratum.planned == (excluded ? 0 : 6));
    CHECK(stratum.spares == (excluded ? 0 : 3));
    CHECK(planned == stratum.planned);
    CHECK(spares == stratum.spares);
    CHECK(planned == stratum.drawn);
    CHECK(spares == stratum.spares_drawn);
    CHECK(int(orders.size()) == planned + spares);
    if (!excluded) CHECK(weight == doctest::Approx(stratum.area_m2()).epsilon(1e-12));
  }
}

TEST_CASE("any number of threads and longer layers give the same plots and certificate") {
  SmallSeason one, two, longer;
  for (SmallSeason* s : {&one, &two, &longer}) add_three_sites(*s);
  longer.make_layers(40);
  const SeasonDraw first = one.draw(1), second = two.draw(3), third = longer.draw(2);
  check_same_plots(first.plots, second.plots);
  check_same_plots(first.plots, third.plots);
  Certificate a = first.certificate, b = second.certificate;
  a.inputs = b.inputs = "";  // the layers are other files
  CHECK(to_json(a) == to_json(b));
}

TEST_CASE("a copy of a season has the same fingerprint of its inputs, one changed cell gives another") {
  SmallSeason first, copy, changed;
  for (SmallSeason* s : {&first, &copy, &changed}) {
    s->add_site("CND", rectangle(760020, 4210700, 760800, 4210900));
    s->make_layers();  // in folders of their own, written at other times
  }
  make_raster(changed.season.plan.layers[0].source, changed.season.plan.crs,
              {SmallSeason::west, SmallSeason::north}, SmallSeason::cell, 160, 160, [](int col, int row) {
                const int value =
                    SmallSeason::moisture_at(SmallSeason::west + (col + 0.5) * SmallSeason::cell,
                                             SmallSeason::north - (row + 0.5) * SmallSeason::cell);
                return col == 159 && row == 80 ? value - 1 : value;
              });
  const std::string inputs = first.draw().certificate.inputs;
  CHECK(copy.draw().certificate.inputs == inputs);
  CHECK(changed.draw().certificate.inputs != inputs);
}

TEST_CASE("with a number for each stratum another site changes no other plot") {
  SmallSeason all, two;
  add_three_sites(all);
  two.add_site("CND", rectangle(760020, 4210700, 760800, 4210900));
  two.add_site("QPR", slanting);
  const SeasonDraw with = all.draw(), without = two.draw();
  check_same_plots(of_site(with, "QPR"), of_site(without, "QPR"));
  check_same_plots(of_site(with, "CND"), of_site(without, "CND"));
  CHECK(of_site(without, "ANL").empty());
  CHECK(of_site(with, "ANL").size() > 0);
}

TEST_CASE("another seed draws other plots") {
  SmallSeason a, b;
  for (SmallSeason* s : {&a, &b}) s->add_site("QPR", slanting);
  b.season.plan.seed = 2028;
  const SeasonDraw first = a.draw(), second = b.draw();
  REQUIRE(first.plots.size() == second.plots.size());
  int same = 0;
  for (std::size_t i = 0; i < first.plots.size(); ++i)
    same += first.plots[i].east == second.plots[i].east ? 1 : 0;
  CHECK(same < int(first.plots.size()) / 4);
}

TEST_CASE(
    "a total is shared by area with a minimum, no-score ground gets the minimum, excluded ground nothing") {
  SmallSeason s;
  add_three_sites(s);
  s.season.plan.sample.each.reset();
  s.season.plan.sample.total = 60;
  s.season.plan.sample.least_per_stratum = 4;
  s.season.plan.sample.spares = 0.07;
  const SeasonDraw draw = s.draw();
  int total = 0;
  const Stratum* largest = &draw.strata.front();
  for (const Stratum& stratum : draw.strata) {
    total += stratum.planned;
    CHECK(stratum.planned == planned_in(draw, stratum.id));
    CHECK(stratum.spares == int(std::ceil(0.07 * stratum.planned - 1e-6)));
    if (stratum.kind == StratumKind::no_score) CHECK(stratum.planned == 4);
    if (stratum.kind == StratumKind::excluded) CHECK(stratum.planned == 0);
    if (stratum.area_mm2 > largest->area_mm2) largest = &stratum;
  }
  CHECK(total == 60);
  for (const Stratum& stratum : draw.strata) CHECK(stratum.planned <= largest->planned);
  REQUIRE_FALSE(draw.certificate.allocation.empty());
  CHECK(says(draw.certificate.allocation[0], "60 planned plots asked over"));

  SmallSeason wanted;
  add_three_sites(wanted);
  wanted.season.plan.sample.plots_in_excluded = true;
  for (const Stratum& stratum : wanted.draw().strata) CHECK(stratum.planned == 6);
}

TEST_CASE("spares are rounded up from the exact product") {
  SmallSeason s;
  s.season.plan.strata.by = {"site"};
  s.season.plan.sample.each = 100;
  s.season.plan.sample.spares = 0.07;  // in floating point 0.07 × 100 is a hair over 7
  s.add_site("QPR", rectangle(760020, 4210700, 760980, 4210900));
  CHECK(s.draw().strata[0].spares == 7);
  s.season.plan.sample.spares = 0.071;
  CHECK(s.draw().strata[0].spares == 8);
}

TEST_CASE(
    "an optimal allocation takes the spread of the site's band before the plain band, and misses none") {
  SmallSeason s;
  s.add_site("CND", rectangle(760020, 4210700, 760980, 4210900));
  s.season.plan.sample.each.reset();
  s.season.plan.sample.total = 40;
  s.season.plan.sample.least_per_stratum = 2;
  s.season.plan.sample.allocation = Allocation::optimal;
  s.season.plan.sample.spread = {{"0.25-0.50", 1}, {"0.50-0.75", 1}, {"CND 0.50-0.75", 3}, {"0.75-1.00", 1}};
  // 47, 25 and 24 columns of 200 m: shares 47, 75 and 24 of 146 give 12.9, 20.5 and 6.6.
  const SeasonDraw draw = s.draw();
  REQUIRE(draw.strata.size() == 3);
  CHECK(draw.strata[0].planned == 13);
  CHECK(draw.strata[1].planned == 20);
  CHECK(draw.strata[2].planned == 7);

  s.season.plan.sample.spread.erase("0.75-1.00");
  CHECK_THROWS_WITH_AS((void)s.draw(), doctest::Contains("0.75-1.00"), InputError);
  s.season.plan.sample.total.reset();
  CHECK_THROWS_AS((void)s.draw(), InputError);
}

TEST_CASE("what does not fit is a shortfall in words and not a loop") {
  SmallSeason s;
  s.season.plan.strata.by = {"site"};
  s.season.plan.sample.each = 10;
  s.season.plan.sample.apart_m = 15;
  s.add_site("FLG", rectangle(760800, 4210000, 760833, 4210033));
  const SeasonDraw draw = s.draw();
  REQUIRE_FALSE(draw.certificate.shortfalls.empty());
  CHECK(says(draw.certificate.shortfalls[0], "FLG: "));
  CHECK(says(draw.certificate.shortfalls[0], " of 10 plots drawn: "));
  CHECK(says(draw.certificate.shortfalls[0], " would give 10."));
  const int drawn = planned_in(draw, "FLG|v1");
  CHECK(drawn < 10);
  CHECK(drawn > 0);
  CHECK(draw.strata[0].planned == 10);
  CHECK(draw.strata[0].drawn == drawn);
  CHECK(draw.strata[0].spares == 5);
  CHECK(draw.strata[0].spares_drawn == 0);
  CHECK(draw.certificate.strata[0].stratum.drawn == drawn);
  for (const Plot& plot : draw.plots) {
    CHECK(plot.chance_per_m2 == doctest::Approx(drawn / draw.strata[0].area_m2()));
  }
}

TEST_CASE("ground too small for the plots drawn on it is a shortfall with numbers") {
  const auto shortfalls = [](const std::string& wkt, int each) {
    SmallSeason s;
    s.season.plan.strata.by = {"site"};
    s.season.plan.sample.each = each;
    s.add_site("FLG", wkt);
    return s.draw().certificate.shortfalls;
  };
  CHECK(shortfalls(rectangle(760800, 4210000, 760808, 4210006), 9) ==
        std::vector<std::string>{
            "FLG: 9 plots of 20 m² drawn on 48 m²: they overlap or reach beyond it; about 2 fit."});
  CHECK(shortfalls(rectangle(760800, 4210000, 760808, 4210006), 2).empty());
  CHECK(shortfalls(rectangle(760800, 4210000, 760803, 4210003), 6) ==
        std::vector<std::string>{"FLG: its ground (9 m²) is smaller than one plot of 20 m², and 6 were drawn "
                                 "there: they lie over one another and reach beyond."});
  CHECK(shortfalls(rectangle(760800, 4210000, 760803, 4210003), 1) ==
        std::vector<std::string>{
            "FLG: its ground (9 m²) is smaller than one plot of 20 m², and one was drawn there: it reaches "
            "beyond."});
}

TEST_CASE("pairs of different strata nearer than apart_m are counted, and the nearest is named") {
  SmallSeason s;
  add_three_sites(s);
  s.season.plan.sample.each = 30;
  SeasonDraw draw = s.draw();
  s.season.plan.sample.apart_m = 60;  // wide, so that there are pairs to find
  for (std::size_t i = 0; i < draw.plots.size(); i += 2) draw.plots[i].name = "P" + std::to_string(i);
  look_for_close_plots(s.season.plan, *s.sites, draw, s.flags);
  REQUIRE(draw.certificate.closeness.has_value());
  const ClosePairs& pairs = draw.certificate.closeness->near_across_strata;
  int planned = 0, with_spares = 0;
  double nearest = 1e9;
  for (const Plot& a : draw.plots) {
    for (const Plot& b : draw.plots) {
      const double metres = std::hypot(a.east - b.east, a.north - b.north);
      if (&a >= &b || a.site != b.site || a.stratum == b.stratum || metres >= 60) continue;
      ++(a.spare || b.spare ? with_spares : planned);
      if (!a.spare && !b.spare) nearest = std::min(nearest, metres);
    }
  }
  REQUIRE(planned > 0);
  CHECK(pairs.planned == planned);
  CHECK(pairs.with_spares == with_spares);
  CHECK(pairs.extreme == doctest::Approx(nearest).epsilon(1e-12));
  const std::vector<Flag> said = flags_of(s.flags, "plots of different strata close together");
  REQUIRE(said.size() == 1);
  CHECK(said[0].severity == Severity::ask);
  CHECK(says(said[0].meaning, "nearer than 60 m: " + std::to_string(planned)));
  CHECK(says(said[0].meaning, pairs.names[0] + " and " + pairs.names[1]));
  const bool named = pairs.names[0][0] == 'P' || pairs.names[0].find("|score=") != std::string::npos;
  CHECK(named);
  CPLJSONDocument document;
  REQUIRE(document.LoadMemory(to_json(draw.certificate)));
  const CPLJSONObject json = document.GetRoot().GetObj("closeness");
  CHECK(json.GetInteger("near_across_strata") == planned);
  CHECK(json.GetDouble("near_across_strata_nearest_m") == doctest::Approx(nearest));
  CHECK(json.GetInteger("overlapping") == draw.certificate.closeness->overlapping.planned);

  Flags none;
  s.season.plan.sample.apart_m = 0;
  look_for_close_plots(s.season.plan, *s.sites, draw, none);
  CHECK(flags_of(none, "plots of different strata close together").empty());
}

TEST_CASE("plots that overlap on the ground are counted whatever apart_m is, outside ground left out") {
  SmallSeason s;
  s.season.plan.strata.by = {"site"};
  s.add_site("FLG", rectangle(760800, 4210000, 760900, 4210100));
  SeasonDraw draw = s.draw();
  // Belts of 2 × 10 m pointing north: 1 m aside and 4 m on shares 1 × 6 m², 3 m aside nothing.
  const auto place = [&](std::size_t i, double east, double north, bool spare) {
    Plot& plot = draw.plots[i];
    plot.name = "P" + std::to_string(i);
    plot.east = east;
    plot.north = north;
    plot.grid_bearing_deg = 0;
    plot.spare = spare;
    plot.inside_m2 = walk_through(s.site("FLG").survey, UnitShape::belt, {2, 10}, {east, north}, 0).inside_m2;
  };
  REQUIRE(draw.plots.size() > 6);
  draw.plots.resize(7);
  place(0, 760850, 4210050, false);
  place(1, 760851, 4210054, false);
  place(2, 760853, 4210050, false);  // touches the belt of P0's neighbour along an edge
  place(3, 760820, 4210020, false);
  place(4, 760820, 4210022, true);
  place(5, 760880, 4210099, false);  // of the 2 × 10 m² they share 2 × 6 m² are inside the site
  place(6, 760880, 4210099, false);
  look_for_close_plots(s.season.plan, *s.sites, draw, s.flags);
  const Closeness& closeness = *draw.certificate.closeness;
  CHECK(closeness.overlapping.planned == 2);
  CHECK(closeness.overlapping.with_spares == 1);
  CHECK(closeness.overlap_m2 == doctest::Approx(6 + 12));
  CHECK(closeness.overlapping.extreme == doctest::Approx(12));
  CHECK(closeness.overlapping.names == std::array<std::string, 2>{"P5", "P6"});
  const std::vector<Flag> said = flags_of(s.flags, "plots overlap");
  REQUIRE(said.size() == 1);
  CHECK(says(said[0].meaning, "overlap on the ground: 2, and 1 with a spare; the most P5 and P6, 12.0 m²"));
}

TEST_CASE("positions, bearings and areas are those of the pin") {
  SmallSeason s;
  add_three_sites(s);
  s.season.plan.sample.bearing_deg = 40;
  const SeasonDraw draw = s.draw();
  const Route route(s.crs(), Crs::wgs84());
  bool whole = false, cut = false;
  for (const Plot& plot : draw.plots) {
    const Point at{plot.east, plot.north};
    CHECK(std::abs(plot.east * 1000 - std::round(plot.east * 1000)) < 1e-3);
    CHECK(route.forward(at).x == doctest::Approx(plot.lon).epsilon(1e-12));
    CHECK(route.forward(at).y == doctest::Approx(plot.lat).epsilon(1e-12));
    CHECK(plot.bearing_deg == 40);
    // Grid and true north differ by 1.8 degrees this far from the zone's meridian.
    CHECK(plot.grid_bearing_deg == doctest::Approx(40 - convergence_deg(at, route)).epsilon(1e-4));
    CHECK(std::abs(plot.grid_bearing_deg - 38.2) < 0.1);
    const PlotArea area =
        walk_through(s.site(plot.site).survey, UnitShape::belt, {2, 10}, at, plot.grid_bearing_deg);
    CHECK(plot.inside_m2 == area.inside_m2);
    CHECK(plot.twice_m2 == area.twice_m2);
    whole = whole || plot.inside_m2 == 20;
    cut = cut || plot.inside_m2 < 20;
  }
  CHECK(whole);
}

TEST_CASE("random bearings are whole degrees all round, from the plot's own key") {
  SmallSeason s;
  add_three_sites(s);
  s.season.plan.sample.each = 40;
  const SeasonDraw draw = s.draw();
  std::array<int, 4> quarters{};
  for (const Plot& plot : draw.plots) {
    CHECK(plot.bearing_deg == std::floor(plot.bearing_deg));
    REQUIRE(plot.bearing_deg >= 0);
    REQUIRE(plot.bearing_deg < 360);
    ++quarters[std::size_t(plot.bearing_deg / 90)];
  }
  // Chi-square on 3 degrees of freedom: beyond 16.3 once in a thousand.
  const double expected = double(draw.plots.size()) / 4;
  double chi = 0;
  for (const int count : quarters) chi += (count - expected) * (count - expected) / expected;
  CHECK(chi < 16.3);
}

TEST_CASE("the walk goes over a site's planned plots from its access point") {
  SmallSeason s;
  add_three_sites(s);
  s.access.start["QPR"] = {760100, 4209500};
  const SeasonDraw draw = s.draw();
  for (const std::string code : {"QPR", "ANL", "CND"}) {
    const std::vector<Plot> plots = of_site(draw, code);
    std::vector<const Plot*> walk;
    bool spares_began = false;
    for (const Plot& plot : plots) {
      spares_began = spares_began || plot.spare;
      CHECK(plot.spare == spares_began);
      if (plot.spare) {
        CHECK(plot.walk == 0);
        CHECK(plot.metres_from_last == 0);
      } else {
        walk.push_back(&plot);
      }
    }
    std::sort(walk.begin(), walk.end(), [](const Plot* a, const Plot* b) { return a->walk < b->walk; });
    Point from{760100, 4209500};
    for (std::size_t i = 0; i < walk.size(); ++i) {
      CHECK(walk[i]->walk == int(i) + 1);
      const Point at{walk[i]->east, walk[i]->north};
      const double metres = std::sqrt((at.x - from.x) * (at.x - from.x) + (at.y - from.y) * (at.y - from.y));
      if (code == "QPR" || i > 0) CHECK(walk[i]->metres_from_last == doctest::Approx(metres));
      from = at;
    }
  }
}

TEST_CASE("strata that span sites give each plot the site it lies in") {
  SmallSeason s;
  s.season.plan.strata.by = {"score"};
  s.season.plan.sample.each = 20;
  s.season.plan.sample.apart_m = 5;
  add_three_sites(s);
  const SeasonDraw draw = s.draw();
  std::set<std::string> met;
  for (const Plot& plot : draw.plots) {
    met.insert(plot.site);
    CHECK(plot.stratum.find("all|") == 0);
    CHECK(s.site(plot.site).survey.contains({plot.east, plot.north}));
  }
  CHECK(met == std::set<std::string>{"ANL", "CND", "QPR"});
}

TEST_CASE("the certificate is JSON that holds every stratum's numbers") {
  SmallSeason s;
  add_three_sites(s);
  s.season.plan.sample.apart_m = 12;
  const SeasonDraw draw = s.draw();
  const std::string text = to_json(draw.certificate);
  CPLJSONDocument document;
  REQUIRE(document.LoadMemory(text));
  const CPLJSONObject root = document.GetRoot();
  CHECK(root.GetLong("seed") == 2027);
  CHECK(root.GetString("inputs").size() == 16);
  CHECK(root.GetArray("routes").Size() >= 1);
  const CPLJSONArray strata = root.GetArray("strata");
  REQUIRE(strata.Size() == int(draw.strata.size()));
  for (int i = 0; i < strata.Size(); ++i) {
    const Stratum& stratum = draw.strata[std::size_t(i)];
    CHECK(strata[i].GetString("stratum") == stratum.id);
    CHECK(strata[i].GetDouble("area_m2") == doctest::Approx(stratum.area_m2()).epsilon(1e-12));
    CHECK(strata[i].GetInteger("asked_planned") == stratum.planned);
    CHECK(strata[i].GetInteger("drawn_planned") == planned_in(draw, stratum.id));
    if (stratum.planned == 0) continue;
    CHECK(strata[i].GetDouble("balance") < strata[i].GetDouble("balance_of_simple_random"));
    CHECK(strata[i].GetDouble("nearest_pair_m") >= 12);
  }
  CHECK(text.find("nan") == std::string::npos);
  CHECK(text.find("inf,") == std::string::npos);
}

}  // namespace draw_season_test
