// Edge rules: areas against GEOS overlays made another way, words for teams, frames of pins.
#include "swardline/design/edges.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>

#include "made_inputs.hpp"
#include "small_season.hpp"
#include "swardline/base/random.hpp"

namespace edges_test {

using namespace swardline;

namespace {

constexpr double pi = std::numbers::pi;

SampleSpec sample_of(UnitShape shape, std::array<double, 2> size, EdgeRule edge) {
  SampleSpec sample;
  sample.shape = shape;
  sample.size_m = size;
  sample.edge = edge;
  return sample;
}

/// A field with a bay, and two ponds, one of them under a metre wide.
Geometry awkward_site() {
  return difference(polygon({{0, 0}, {40, 3}, {37, 25}, {20, 18}, {8, 30}}),
                    united({polygon({{18, 8}, {22, 9}, {20, 13}}), box_polygon({10, 10, 10.7, 12})}));
}

/// A circle as a polygon of so many corners that its area is right to 1e-6.
Geometry many_cornered(Point pin, double r) {
  std::vector<Point> ring;
  for (int i = 0; i < 6000; ++i) {
    ring.push_back({pin.x + r * std::cos(i * pi / 3000), pin.y + r * std::sin(i * pi / 3000)});
  }
  return polygon(ring);
}

}  // namespace

TEST_CASE("areas inside and counted twice equal GEOS overlays of the outside, ponds included") {
  const Geometry site = awkward_site();
  const Geometry outside = difference(box_polygon({-100, -100, 150, 150}), site);
  const PreparedArea inside(site);
  RandomStream random(RandomKey(11, "overlays"));
  int tried = 0, cut = 0;
  while (tried < 300) {
    const Point pin{random.uniform() * 40, random.uniform() * 30};
    if (!inside.contains(pin)) continue;
    const auto shape =
        std::array{UnitShape::belt, UnitShape::square, UnitShape::circle}[std::size_t(tried) % 3];
    const std::array<double, 2> size =
        shape == UnitShape::belt ? std::array{2.0, 10.0} : std::array{4.0, 0.0};
    const double bearing = double(random.below(3600)) / 10;
    const PlotArea area = plot_area(sample_of(shape, size, EdgeRule::walk_through), site, pin, bearing, 0);
    const Geometry plot =
        shape == UnitShape::circle ? many_cornered(pin, 4) : plot_polygon(shape, size, pin, bearing);
    // Twice: what is inside and has the ground as far again outside, from the outside shrunk by half.
    const Geometry there = polygons_of(intersection(plot, site));
    const double twice = polygons_of(intersection(there, scaled(outside, 0.5, pin))).area();
    const double near = shape == UnitShape::circle ? 5e-5 : 1e-8;
    CHECK(std::abs(area.inside_m2 - there.area()) < near);
    CHECK(std::abs(area.twice_m2 - twice) < near);
    cut += area.twice_m2 > 0 ? 1 : 0;
    ++tried;
  }
  CHECK(cut > 100);
}

TEST_CASE("a circle or square at a straight edge is told by one line, in true bearings") {
  const Geometry site = box_polygon({0, 0, 103.8, 300});
  const SampleSpec circle = sample_of(UnitShape::circle, {5, 0}, EdgeRule::walk_through);
  CHECK(plot_area(circle, site, {100, 150}, 0, 0).tape ==
        "edge at 3.8 m towards 090 degrees, count twice beyond 1.9 m (the line there at right angles to that "
        "way)");
  // Grid east is 092 degrees true where true north lies 2 degrees west of grid north.
  CHECK(says(plot_area(circle, site, {100, 150}, 0, 2).tape, "3.8 m towards 092 degrees"));
  const SampleSpec square = sample_of(UnitShape::square, {9, 9}, EdgeRule::walk_through);
  CHECK(says(plot_area(square, site, {100, 150}, 30, 0).tape, "count twice beyond 1.9 m"));
  CHECK(plot_area(circle, site, {50, 150}, 0, 0).tape.empty());
}

TEST_CASE("at a corner or a pond the edge is told by bearings, the twice zone as tape distances") {
  const Geometry corner = box_polygon({0, 0, 103, 152});
  const SampleSpec circle = sample_of(UnitShape::circle, {5, 0}, EdgeRule::walk_through);
  const std::string text = plot_area(circle, corner, {100, 150}, 0, 0).tape;
  CHECK(says(text, "nearest edge at 2.0 m towards 000 degrees; by true bearing, "));
  // 2 / cos 30° = 2.31; 3 / cos 30° = 3.46: at 60 degrees the eastern edge comes first.
  CHECK(says(text, "030 degrees: edge at 2.3 m, count twice from 1.2 m"));
  CHECK(says(text, "060 degrees: edge at 3.5 m, count twice from 1.7 m"));
  CHECK_FALSE(says(text, "210 degrees"));
  const Geometry pond = difference(box_polygon({0, 0, 300, 300}), box_polygon({102, 145, 103, 155}));
  CHECK(says(plot_area(circle, pond, {100, 150}, 0, 0).tape,
             "090 degrees: edge at 2.0 m, in again at 3.0 m, count twice from 1.0 m to 1.5 m"));
}

TEST_CASE("a belt past a pond on one side is told both along the tape and beside it") {
  // The pond takes 0.7 × 6 m off the belt's southern side without touching its midline.
  const Geometry site = difference(box_polygon({0, 0, 300, 300}), box_polygon({98, 140, 104, 149.7}));
  const PlotArea area =
      plot_area(sample_of(UnitShape::belt, {2, 10}, EdgeRule::walk_through), site, {100, 150}, 90, 0);
  CHECK(area.inside_m2 == doctest::Approx(20 - 0.7 * 6));
  CHECK(says(area.tape, "edge beside the belt: nearest edge at 0.3 m towards 180 degrees"));
}

TEST_CASE("story 5: a belt that leaves the site at 17 m of 25 m is folded back 8 m") {
  // Half of a belt of 2 × 50 m: 17 m of it, 34 m², lie inside; 8 m, 16 m², are counted again.
  const Geometry site = box_polygon({0, 0, 117, 300});
  const SampleSpec belt = sample_of(UnitShape::belt, {2, 50}, EdgeRule::fold_back);
  const PlotArea area = plot_area(belt, site, {100, 150}, 90, 0);
  CHECK(area.inside_m2 == doctest::Approx(50 + 34));
  CHECK(area.twice_m2 == doctest::Approx(16));
  CHECK(area.tape == "end A: edge at 17.0 m, fold back 8.0 m: count again from 9.0 m to the edge");
  CHECK(says(plot_area(belt, site, {100, 150}, 270, 0).tape, "end B: edge at 17.0 m, fold back 8.0 m"));
  CHECK(plot_area(belt, site, {50, 150}, 90, 0).tape.empty());
}

TEST_CASE("folding goes over the pin, to and fro in a narrow strip, and ends at oblique edges") {
  const SampleSpec belt = sample_of(UnitShape::belt, {2, 10}, EdgeRule::fold_back);
  // 2 m from the edge: the last 3 m lie back over the pin to 1 m beyond it.
  const PlotArea over = plot_area(belt, box_polygon({0, 0, 102, 300}), {100, 150}, 90, 0);
  CHECK(over.inside_m2 == doctest::Approx(14));
  CHECK(over.twice_m2 == doctest::Approx(6));
  CHECK(over.tape ==
        "end A: edge at 2.0 m, fold back 3.0 m: count again from the edge back over the pin to 1.0 m towards "
        "end B");
  // A strip 2 m wide, the pin in its middle: 4 m over at each end are two whole turns of 2 m.
  const PlotArea strip = plot_area(belt, box_polygon({99, 0, 101, 300}), {100, 150}, 90, 0);
  CHECK(strip.inside_m2 == doctest::Approx(4));
  CHECK(strip.twice_m2 == doctest::Approx(16));
  CHECK(says(strip.tape, "to and fro between this edge and the one at 1.0 m towards end B"));
  // An oblique edge: searched and counted again make up the whole belt.
  const Geometry oblique = polygon({{0, 0}, {150, 0}, {100, 100}, {0, 100}});
  const PlotArea cut = plot_area(belt, oblique, {123, 50}, 90, 0);
  CHECK(cut.inside_m2 == doctest::Approx(2 * 7));
  CHECK(cut.inside_m2 + cut.twice_m2 == doctest::Approx(20));
  // Past a pond across the belt nothing is searched: edge at 2 m, in again at 3 m.
  const Geometry pond = difference(box_polygon({0, 0, 300, 300}), box_polygon({102, 140, 103, 160}));
  const PlotArea stopped = plot_area(belt, pond, {100, 150}, 90, 0);
  CHECK(stopped.inside_m2 == doctest::Approx(14));
  CHECK(stopped.twice_m2 == doctest::Approx(6));
  CHECK(says(stopped.tape, "; search nothing past 3.0 m"));
}

TEST_CASE("tape laid to and fro adds up to the belt's length, whatever the strip's width") {
  RandomStream random(RandomKey(3, "strips"));
  for (int i = 0; i < 500; ++i) {
    const double half = 5, a = 0.05 + 7 * random.uniform(), b = 0.05 + 7 * random.uniform();
    const FoldedBelt belt = folded_belt({a}, {b}, half);
    CHECK(belt.from == -half);
    CHECK(belt.to == half);
    double length = std::min(a, half) + std::min(b, half);
    for (const FoldedBelt::Again& part : belt.again) {
      length += part.times * (std::min(part.to, a) - std::max(part.from, -b));
    }
    CHECK(length == doctest::Approx(2 * half).epsilon(1e-9));
  }
}

TEST_CASE("rules that count once tell the edge, and nothing counts twice") {
  const Geometry site = box_polygon({0, 0, 103.8, 300});
  for (const EdgeRule rule : {EdgeRule::inside_area, EdgeRule::inner_margin, EdgeRule::grown_frame}) {
    const PlotArea area = plot_area(sample_of(UnitShape::belt, {2, 10}, rule), site, {100, 150}, 90, 0);
    CHECK(area.inside_m2 == doctest::Approx(17.6));
    CHECK(area.twice_m2 == 0);
    CHECK(area.pin_outside_m == 0);
    CHECK(area.tape == "end A: edge at 3.8 m");
  }
  const SampleSpec circle = sample_of(UnitShape::circle, {5, 0}, EdgeRule::inside_area);
  CHECK(plot_area(circle, site, {100, 150}, 0, 0).tape ==
        "edge at 3.8 m towards 090 degrees: count only this side of it");
}

TEST_CASE("a pin outside is said with its distance, the way back and the landowner's leave") {
  const Geometry site = box_polygon({0, 0, 98.8, 300});
  const SampleSpec belt = sample_of(UnitShape::belt, {2, 10}, EdgeRule::grown_frame);
  const PlotArea area = plot_area(belt, site, {100, 150}, 270, 0);
  CHECK(area.pin_outside_m == doctest::Approx(1.2));
  CHECK(area.inside_m2 == doctest::Approx(2 * 3.8));
  CHECK(says(area.tape, "pin 1.2 m outside the survey area, which lies towards 270 degrees"));
  CHECK(says(area.tape, "only where the landowner and the ground allow it"));
  CHECK(says(area.tape, "end A: in at 1.2 m"));
  const PlotArea away = plot_area(belt, site, {103, 150}, 0, 0);
  CHECK(away.inside_m2 == 0);
  CHECK(away.plot_m2 == 20);
  CHECK(away.tape == "wholly outside the survey area: write 0, no visit needed");
}

TEST_CASE("ground for pins is grown by the reach or kept from the edge, in whole millimetres") {
  const Geometry site = difference(box_polygon({0, 0, 100, 60}), box_polygon({40, 20, 50, 30}));
  SampleSpec sample = sample_of(UnitShape::circle, {5, 0}, EdgeRule::grown_frame);
  const Geometry grown = ground_for_pins(sample, site);
  // Sides, four round corners and the pond filled but for nothing: 10 m wide, it closes.
  CHECK(grown.area() == doctest::Approx(100 * 60 + 320 * 5 + 25 * pi).epsilon(1e-4));
  for (const Point out : {Point{-4.999, 30}, {100 + 3.535, 60 + 3.535}, {45, 25}}) CHECK(grown.contains(out));
  CHECK_FALSE(grown.contains({-5.01, 30}));
  sample.edge = EdgeRule::inner_margin;
  sample.margin_m = 8;
  const Geometry inner = ground_for_pins(sample, site);
  CHECK(inner.contains({8.01, 30}));
  CHECK_FALSE(inner.contains({7.9995, 30}));
  CHECK_FALSE(inner.contains({45, 37.9995}));
  CHECK(distance(inner, boundary(site)) >= 8);
  CHECK(distance(inner, boundary(site)) < 8.003);
}

TEST_CASE("what a rule loses is said in per cent of every site") {
  Site site;
  site.code = "CND";
  site.survey = box_polygon({0, 0, 100, 60});
  site.survey_m2 = 6000;
  Sites sites;
  sites.sites = {site};
  SampleSpec sample = sample_of(UnitShape::circle, {4, 0}, EdgeRule::inner_margin);
  sample.margin_m = 10;
  // 80 × 40 of 100 × 60 m keep pins; plants within 10 - 4 m are never counted: 6,000 - 88 × 48.
  const EdgeLoss loss = edge_loss(sample, site);
  CHECK(loss.pins_m2 == doctest::Approx(3200).epsilon(1e-3));
  CHECK(loss.never_m2 == doctest::Approx(6000 - 88 * 48).epsilon(1e-9));
  CHECK(loss.lessened_m2 == doctest::Approx(88 * 48 - 72 * 32).epsilon(1e-9));
  CHECK(
      edge_losses(sample, sites) ==
      std::vector<std::string>{
          "inner margin of 10 m: no pin falls on 47 % of CND (0.28 of 0.60 ha). Plants within 6 m of an edge "
          "are never counted: 30 % of CND (0.18 of 0.60 ha). Plants up to 14 m from an edge have less than "
          "their chance, and estimates speak of the ground inside the margin only."});
  sample.edge = EdgeRule::inside_area;
  CHECK(edge_losses(sample, sites)
            .at(0)
            .find("inside-area gives plants within 4 m of an edge less than their "
                  "chance, half of it at a straight edge: 20 % of CND") == 0);
  sample.edge = EdgeRule::walk_through;
  CHECK(edge_losses(sample, sites).empty());
  Plan plan;
  plan.sample = sample;
  plan.sample.edge = EdgeRule::inner_margin;
  plan.sample.margin_m = 31;
  Flags flags;
  check_edges(plan, sites, flags);
  CHECK(flags_of(flags, "margin leaves nothing").size() == 1);
  CHECK(flags_of(flags, "edge rule loses plants").size() == 1);
}

TEST_CASE("a grown frame has the grown site's area, pins outside and chances of the frame") {
  SmallSeason s;
  s.season.plan.sample.edge = EdgeRule::grown_frame;
  s.season.plan.sample.each = 60;
  // Over a block edge of the grid, off the cells.
  s.add_site("QPR", rectangle(760233, 4209803, 760391, 4209961));
  const SeasonDraw draw = s.draw();
  double frame = 0, area = 0;
  for (const Stratum& stratum : draw.strata) {
    frame += stratum.frame_m2();
    area += stratum.area_m2();
    CHECK(stratum.frame_mm2 > stratum.area_mm2);
  }
  CHECK(area == doctest::Approx(158 * 158));
  CHECK(frame ==
        doctest::Approx(ground_for_pins(s.season.plan.sample, s.site("QPR").survey).area()).epsilon(1e-9));
  int outside = 0, plots = 0;
  for (const Plot& plot : draw.plots) {
    const Geometry& survey = s.site("QPR").survey;
    const double away = distance(survey, point_geometry({plot.east, plot.north}));
    CHECK(plot.pin_outside_m == doctest::Approx(away).epsilon(1e-6));
    CHECK(away < std::hypot(5, 1) + 0.003);
    CHECK(plot.plot_m2 == 20);
    CHECK(plot.score.has_value());
    CHECK((plot.walk > 0) == (!plot.spare && plot.inside_m2 > 0));
    for (const Stratum& stratum : draw.strata) {
      if (stratum.id == plot.stratum)
        CHECK(plot.chance_per_m2 == doctest::Approx(stratum.drawn / stratum.frame_m2()));
    }
    outside += away > 0 ? 1 : 0;
    ++plots;
  }
  const double share = 1 - area / frame;
  CHECK(outside > 0.6 * share * plots);
  CHECK(outside < 1.4 * share * plots);
}

TEST_CASE("ground outside belongs to the stratum of the nearest survey ground, whatever layers say there") {
  SmallSeason s;
  s.season.plan.sample.edge = EdgeRule::grown_frame;
  s.season.plan.sample.each = 80;
  s.season.plan.sample.size_m = {4, 40};
  // East of the site lies the pond (excluded), 20 m of reach cover two columns of it and more.
  s.season.plan.strata.by = {"site", "cover"};
  s.add_site("ANL", rectangle(760503, 4210233, 760599, 4210367));
  const SeasonDraw draw = s.draw();
  REQUIRE(draw.strata.size() == 2);  // glade and meadow: none of the pond
  double frame = 0;
  for (const Stratum& stratum : draw.strata) frame += stratum.frame_m2();
  CHECK(frame ==
        doctest::Approx(ground_for_pins(s.season.plan.sample, s.site("ANL").survey).area()).epsilon(1e-9));
  // The strata meet at 4,210,300 N, at a cell's edge: so do their frames.
  int in_pond = 0;
  for (const Plot& plot : draw.plots) {
    CHECK((plot.north > 4210300) == says(plot.stratum, "cover=WM"));
    in_pond += plot.east > 760600 ? 1 : 0;
  }
  CHECK(in_pond > 5);
  const SeasonDraw again = [] {
    SmallSeason t;
    t.season.plan.sample.edge = EdgeRule::grown_frame;
    t.season.plan.sample.each = 80;
    t.season.plan.sample.size_m = {4, 40};
    t.season.plan.strata.by = {"site", "cover"};
    t.make_layers(30);
    t.add_site("ANL", rectangle(760503, 4210233, 760599, 4210367));
    t.add_site("CND", rectangle(760630, 4210233, 760700, 4210367));
    return t.draw(2);
  }();
  // Another site, larger layers and two threads change no pin.
  std::size_t same = 0;
  for (const Plot& plot : again.plots) {
    if (plot.site != "ANL") continue;
    const Plot& first = draw.plots.at(same++);
    CHECK(first.east == plot.east);
    CHECK(first.north == plot.north);
    CHECK(first.stratum == plot.stratum);
  }
  CHECK(same == draw.plots.size());
}

TEST_CASE("sites that share strata must lie apart for pins outside to belong to one of them") {
  SmallSeason s;
  s.season.plan.sample.edge = EdgeRule::grown_frame;
  s.season.plan.strata.by = {"score"};
  s.add_site("QPR", rectangle(760200, 4209700, 760300, 4209800));
  s.add_site("ANL", rectangle(760308, 4209700, 760400, 4209800));
  CHECK_THROWS_WITH_AS(
      s.draw(),
      "plan.toml:40 [sample]: grown-frame: ANL and QPR share strata and lie 8.0 m apart, so a pin between "
      "them "
      "would belong to both. Add \"site\" to by under [strata], or write edge = \"walk-through\".",
      InputError);
  s.season.plan.strata.by = {"site", "score"};
  CHECK_FALSE(s.draw().plots.empty());
}

TEST_CASE("with an inner margin pins keep away from the edge and a stratum wholly in it is a shortfall") {
  SmallSeason s;
  s.season.plan.sample.edge = EdgeRule::inner_margin;
  s.season.plan.sample.margin_m = 15;
  s.season.plan.strata.by = {"site", "cover"};
  s.season.plan.strata.smallest_m2 = 0;
  // 12 m of meadow along the northern edge, the rest glade.
  s.add_site("CND", rectangle(760200, 4210100, 760400, 4210312));
  const SeasonDraw draw = s.draw();
  const Geometry edge = boundary(s.site("CND").survey);
  for (const Plot& plot : draw.plots) {
    CHECK(distance(edge, point_geometry({plot.east, plot.north})) >= 15);
    CHECK(plot.inside_m2 == 20);
  }
  CHECK(draw.plots.size() == 9);
  REQUIRE(draw.certificate.shortfalls.size() == 1);
  CHECK(draw.certificate.shortfalls[0] ==
        "CND|cover=WM: 0 of 6 plots drawn: all of its 2400 m² lie within 15 m of an edge, the inner margin.");
  const std::string json = to_json(draw.certificate);
  CHECK(says(json, "\"rule\": \"inner-margin\""));
  CHECK(says(json,
             "\"estimator\": \"in each stratum, density = sum(count) / sum(inside_m2), of the ground inside "
             "the margin"));
  CHECK(says(json, "no pin falls on"));
}

}  // namespace edges_test
