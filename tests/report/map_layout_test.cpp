#include "swardline/report/map_layout.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "swardline/design/plot_area.hpp"

namespace map_layout_test {

using namespace swardline;

namespace {

constexpr double reach = 5.1;  // of a belt of 2 × 10 m, rounded up

Site site_of(const Geometry& drawn) {
  Site site;
  site.code = "PEL";
  site.drawn = site.survey = drawn;
  return site;
}

/// A verge 5 m wide along a road that bends: `length` m, mostly eastwards, or mostly northwards.
Site verge(double length, bool eastwards) {
  std::vector<Point> road;
  for (int i = 0; i <= 60; ++i) {
    const double along = length * i / 60, aside = 40 * std::sin(i * 0.17) + 0.05 * along;
    road.push_back(eastwards ? Point{500000 + along, 4200000 + aside}
                             : Point{500000 + aside, 4200000 + along});
  }
  return site_of(buffered(line(road), 2.5));
}

bool holds(const Box& outer, const Box& inner, double slack = 1e-6) {
  return outer.x0 <= inner.x0 + slack && outer.y0 <= inner.y0 + slack && outer.x1 >= inner.x1 - slack &&
         outer.y1 >= inner.y1 - slack;
}

Box on_sheet(const MapView& view) {
  return {view.left, view.top, view.left + view.width(), view.top + view.height()};
}

double longer_side(const MapLayout& layout) {
  return std::max(layout.parts.front().width(), layout.parts.front().height());
}

}  // namespace

TEST_CASE("an ordinary site is drawn whole, with a little of what lies round it") {
  const Site site = site_of(box_polygon({500000, 4200000, 500300, 4200200}));
  const MapLayout layout = map_layout(site, 12, reach);
  REQUIRE(layout.parts.size() == 1);
  const MapView& view = layout.parts.front();
  CHECK(holds(view.ground, {499997, 4199997, 500303, 4200203}));
  CHECK(holds({499950, 4199950, 500350, 4200250}, view.ground));
  // A map is no mirror image and north is up.
  CHECK(view.x(view.ground.x0) == doctest::Approx(view.left));
  CHECK(view.x(view.ground.x1) == doctest::Approx(view.left + view.width()));
  CHECK(view.y(view.ground.y1) == doctest::Approx(view.top));
  CHECK(view.y(view.ground.y0) == doctest::Approx(view.top + view.height()));
  // One scale both ways.
  CHECK(view.x(500100) - view.x(500000) == doctest::Approx(view.y(4200000) - view.y(4200100)));
  CHECK(layout.right == doctest::Approx(view.left + view.width()));
  CHECK(layout.bottom == doctest::Approx(view.top + view.height()));
  CHECK(layout.part_of({500150, 4200100}) == 0);
}

TEST_CASE("a crowded site gets a larger map, up to what a sheet holds") {
  const Site site = site_of(box_polygon({500000, 4200000, 500300, 4200200}));
  const double plain = longer_side(map_layout(site, 1, reach));
  CHECK(longer_side(map_layout(site, 40, reach)) == doctest::Approx(plain));
  double last = plain;
  for (const std::size_t names : {60U, 80U, 100U}) {
    const MapLayout layout = map_layout(site, names, reach);
    CHECK(layout.parts.size() == 1);
    CHECK(longer_side(layout) > last);
    last = longer_side(layout);
  }
  // Names have the same room each: the area grows as their number.
  CHECK(longer_side(map_layout(site, 80, reach)) == doctest::Approx(plain * std::sqrt(2)));
  const double largest = longer_side(map_layout(site, 1000, reach));
  CHECK(largest > last);
  CHECK(longer_side(map_layout(site, 100000, reach)) == doctest::Approx(largest));
}

TEST_CASE("a long narrow strip is cut into parts that cover it, each ground in one of them") {
  for (const bool eastwards : {true, false}) {
    CAPTURE(eastwards);
    const Site site = verge(3400, eastwards);
    const Box all = site.drawn.box();
    const MapLayout layout = map_layout(site, 20, reach);
    REQUIRE(layout.parts.size() > 1);
    CHECK(layout.west_to_east == eastwards);

    // Cores follow each other without a gap or an overlap, from end to end.
    double along = eastwards ? all.x0 : all.y1;
    for (const MapView& part : layout.parts) {
      CHECK((eastwards ? part.core.x0 : part.core.y1) == doctest::Approx(along).epsilon(1e-12));
      along = eastwards ? part.core.x1 : part.core.y0;
      CHECK((eastwards ? part.core.y0 == all.y0 && part.core.y1 == all.y1
                       : part.core.x0 == all.x0 && part.core.x1 == all.x1));
      CHECK(part.pixels_per_m == layout.parts.front().pixels_per_m);
    }
    CHECK(along == doctest::Approx(eastwards ? all.x1 : all.y0).epsilon(1e-12));

    // All ground lies in its part's view, by area (GEOS): nothing of the site is on no part.
    for (const MapView& part : layout.parts) {
      const Geometry own = clipped(site.drawn, part.core);
      CHECK(clipped(own, part.ground).area() == doctest::Approx(own.area()));
    }

    // Every point is one part's, the one whose core holds it; its plot is in view as a whole.
    int points = 0;
    const Rings outline = rings_of(site.drawn);
    for (const Point pin : outline.rings.front()) {
      ++points;
      const std::size_t i = layout.part_of(pin);
      REQUIRE(i < layout.parts.size());
      CHECK(holds(layout.parts[i].core, {pin.x, pin.y, pin.x, pin.y}));
      for (const double bearing : {0.0, 37.0, 90.0})
        CHECK(holds(layout.parts[i].ground, plot_polygon(UnitShape::belt, {2, 10}, pin, bearing).box()));
      for (std::size_t other = 0; other < layout.parts.size(); ++other) {
        const Box& core = layout.parts[other].core;
        const bool inside =
            eastwards ? pin.x > core.x0 && pin.x < core.x1 : pin.y > core.y0 && pin.y < core.y1;
        CHECK((!inside || other == i));
      }
    }
    CHECK(points > 100);
    // A point on the cut is one part's, whichever.
    const Box& first = layout.parts[0].core;
    CHECK(layout.part_of(eastwards ? Point{first.x1, all.y0} : Point{all.x0, first.y0}) <= 1);

    // On the sheet the parts are apart, in order, and the sheet is no larger than that of a crowded site.
    const MapLayout crowded = map_layout(site_of(box_polygon({0, 0, 300, 300})), 100000, reach);
    CHECK(std::max(layout.right, layout.bottom) <= std::max(crowded.right, crowded.bottom));
    for (std::size_t i = 0; i < layout.parts.size(); ++i) {
      const Box here = on_sheet(layout.parts[i]);
      CHECK(here.x1 <= layout.right + 1e-6);
      CHECK(here.y1 <= layout.bottom + 1e-6);
      if (i == 0) continue;
      const Box before = on_sheet(layout.parts[i - 1]);
      CHECK((eastwards ? here.y0 > before.y1 : here.x0 > before.x1));
    }
    // What it is for: the verge is wider on it than on one map of the whole.
    const double whole = 640 / (std::max(all.x1 - all.x0, all.y1 - all.y0) * 1.06);
    CHECK(layout.parts.front().pixels_per_m > 1.5 * whole);
  }
}

TEST_CASE("a strip that is short, or wide enough to see, stays whole") {
  CHECK(map_layout(verge(300, true), 20, reach).parts.size() == 1);
  CHECK(map_layout(site_of(box_polygon({500000, 4200000, 503400, 4200300})), 20, reach).parts.size() == 1);
}

TEST_CASE("a strip with a gap longer than a part keeps all its ground and points") {
  const Geometry west = box_polygon({500000, 4200000, 500900, 4200004});
  const Geometry east = box_polygon({502600, 4200050, 503400, 4200054});
  const Site site = site_of(united({west, east}));
  const MapLayout layout = map_layout(site, 20, reach);
  REQUIRE(layout.parts.size() > 1);
  for (const Point pin :
       {Point{500001, 4200002}, Point{500899, 4200002}, Point{502601, 4200052}, Point{503399, 4200052}}) {
    const MapView& part = layout.parts[layout.part_of(pin)];
    CHECK(holds(part.core, {pin.x, pin.y, pin.x, pin.y}));
    CHECK(holds(part.ground, {pin.x - reach, pin.y - reach, pin.x + reach, pin.y + reach}));
  }
}

TEST_CASE("the verge of a road that bends or turns back fits the sheet, in parts or whole") {
  const MapLayout crowded = map_layout(site_of(box_polygon({0, 0, 300, 300})), 100000, reach);
  const double largest = std::max(crowded.right, crowded.bottom);
  const Geometry round = buffered(boundary(box_polygon({0, 0, 1500, 1400})), 2.5);
  const Geometry corner = buffered(line({{0, 0}, {1700, 0}, {1700, 1600}}), 2.5);
  const Geometry zigzag = buffered(line({{0, 0}, {900, 800}, {1800, 0}, {2700, 800}}), 2.5);
  for (const Geometry& verge : {round, corner, zigzag}) {
    const MapLayout layout = map_layout(site_of(verge), 20, reach);
    CHECK(std::max(layout.right, layout.bottom) <= largest);
    double area = 0;
    for (const MapView& part : layout.parts)
      area += layout.parts.size() == 1 ? clipped(verge, part.ground).area()
                                       : clipped(clipped(verge, part.core), part.ground).area();
    CHECK(area == doctest::Approx(verge.area()));
  }
}

}  // namespace map_layout_test
