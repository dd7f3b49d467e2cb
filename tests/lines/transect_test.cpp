// Transects on the ground: clipped, folded, with frames; expected values by plane geometry.
#include "swardline/lines/transect.hpp"

#include <doctest/doctest.h>

#include <cmath>

#include "swardline/base/random.hpp"

namespace transect_test {

using namespace swardline;

namespace {

TransectSpec belt(TransectSpec::Boundary boundary, double length = 25, double width = 2) {
  TransectSpec spec;
  spec.length_m = length;
  spec.width_m = width;
  spec.boundary = boundary;
  return spec;
}

TransectSpec frames(TransectSpec::Boundary boundary, double step, double across, double along) {
  TransectSpec spec = belt(boundary, 25, across);
  spec.frames = FrameSpec{step, {across, along}};
  return spec;
}

constexpr auto clip = TransectSpec::Boundary::clip;
constexpr auto reflect = TransectSpec::Boundary::reflect;

LaidTransect laid(const Geometry& area, Point start, Point along, const TransectSpec& spec,
                  double first = 0) {
  return lay_transect(area, Chords(area), start, along, spec, first);
}

const Geometry& field() {
  static const Geometry area = box_polygon({0, 0, 100, 60});
  return area;
}

void check_stretch(const Stretch& s, double from, double to) {
  CHECK(s.from == doctest::Approx(from));
  CHECK(s.to == doctest::Approx(to));
}

}  // namespace

// A line of 25 m that leaves the site at 17 m: 17 m of a 2 m belt, 34 m², or 8 m folded back.
TEST_CASE("a line that leaves the site is clipped with its length kept, or folded back") {
  const LaidTransect cut = laid(field(), {83, 30}, {1, 0}, belt(clip));
  CHECK(cut.length_m == doctest::Approx(17));
  CHECK(cut.inside_m2 == doctest::Approx(34));
  CHECK(cut.twice_m2 == 0);
  REQUIRE(cut.parts.size() == 1);
  check_stretch(cut.parts[0], 0, 17);
  CHECK(cut.end == Point{100, 30});
  CHECK_FALSE(cut.folded());

  const LaidTransect folded = laid(field(), {83, 30}, {1, 0}, belt(reflect));
  CHECK(folded.length_m == doctest::Approx(25));
  CHECK(folded.inside_m2 == doctest::Approx(34));
  CHECK(folded.twice_m2 == doctest::Approx(16));
  REQUIRE(folded.counted.size() == 2);
  check_stretch(folded.counted[0].mark, 0, 9);
  CHECK(folded.counted[0].times == 1);
  check_stretch(folded.counted[1].mark, 9, 17);
  CHECK(folded.counted[1].times == 2);
  CHECK(folded.folded());
}

TEST_CASE("a line that stays inside is the same under both rules") {
  for (const auto rule : {clip, reflect}) {
    const LaidTransect whole = laid(field(), {20, 30}, {0.6, 0.8}, belt(rule));
    CHECK(whole.length_m == doctest::Approx(25));
    CHECK(whole.inside_m2 == doctest::Approx(50));
    CHECK(whole.twice_m2 == doctest::Approx(0));
    CHECK(whole.end.x == doctest::Approx(35));
    CHECK(whole.end.y == doctest::Approx(50));
    CHECK_FALSE(whole.folded());
  }
}

TEST_CASE("a start before the boundary gives a tape that begins where the line enters") {
  const LaidTransect cut = laid(field(), {-10, 30}, {1, 0}, belt(clip));
  CHECK(cut.start.x == doctest::Approx(0));
  CHECK(cut.length_m == doctest::Approx(15));
  check_stretch(cut.parts.at(0), 0, 15);
}

TEST_CASE("a pond parts the line, or folds it on its own bank") {
  const Geometry area = difference(field(), box_polygon({40, 20, 46, 40}));
  const LaidTransect cut = laid(area, {30, 30}, {1, 0}, belt(clip));
  CHECK(cut.length_m == doctest::Approx(19));
  CHECK(cut.inside_m2 == doctest::Approx(38));
  REQUIRE(cut.parts.size() == 2);
  check_stretch(cut.parts[0], 0, 10);
  check_stretch(cut.parts[1], 16, 25);
  const LaidTransect folded = laid(area, {30, 30}, {1, 0}, belt(reflect));
  // 10 m to the bank, then 15 m back: 5 m past the start, where the tape now begins.
  check_stretch(folded.parts.at(0), 0, 15);
  CHECK(folded.start.x == doctest::Approx(25));
  REQUIRE(folded.counted.size() == 2);
  check_stretch(folded.counted[0].mark, 0, 5);
  check_stretch(folded.counted[1].mark, 5, 15);
  CHECK(folded.inside_m2 + folded.twice_m2 == doctest::Approx(50));
}

TEST_CASE("a line longer than its chord goes back and forth, and every metre of it is counted somewhere") {
  const Geometry strip = box_polygon({0, 0, 4, 60});
  const LaidTransect folded = laid(strip, {1, 30}, {1, 0}, belt(reflect));
  double walked = 0;
  for (const Counted& c : folded.counted) walked += c.times * c.mark.length();
  CHECK(walked == doctest::Approx(25));
  CHECK(folded.inside_m2 == doctest::Approx(8));
  CHECK(folded.inside_m2 + folded.twice_m2 == doctest::Approx(50));
  check_stretch(folded.parts.at(0), 0, 4);
}

TEST_CASE("only the edge of a belt may be inside, and it is said") {
  const LaidTransect cut = laid(field(), {30, -0.4}, {1, 0}, belt(clip));
  CHECK(cut.edge_only);
  CHECK(cut.inside_m2 == doctest::Approx(25 * 0.6));
  CHECK(cut.length_m == doctest::Approx(25));
}

// A rectangle swept back by a rectangle: (100 + 25) × (60 + 2) m².
TEST_CASE("the ground that starts are drawn from") {
  CHECK(start_ground(field(), {1, 0}, belt(clip)).area() == doctest::Approx(125 * 62));
  CHECK(start_ground(field(), {1, 0}, belt(reflect)).area() == doctest::Approx(6000));
  // Turned by the 3-4-5 triangle: area + length × width across + width × width along + length × width.
  const double across = 60 * 0.6 + 100 * 0.8, along = 100 * 0.6 + 60 * 0.8;
  CHECK(start_ground(field(), {0.6, 0.8}, belt(clip)).area() ==
        doctest::Approx(6000 + 25 * across + 2 * along + 50).epsilon(1e-6));
}

TEST_CASE("a start lies on that ground exactly where its belt meets the area") {
  const Geometry area =
      difference(from_wkt("POLYGON((0 0,80 10,100 60,50 40,10 70,0 0))"), box_polygon({30, 15, 40, 25}));
  const TransectSpec spec = belt(clip);
  const Point along{0.8, -0.6};
  const PreparedArea ground(start_ground(area, along, spec));
  const Chords chords(area);
  RandomStream random(RandomKey(3, "starts"));
  int inside = 0, hard = 0;
  for (int i = 0; i < 4000; ++i) {
    const Point start{-40 + 160 * random.uniform(), -20 + 120 * random.uniform()};
    const LaidTransect line = lay_transect(area, chords, start, along, spec);
    if (line.inside_m2 > 0 && line.inside_m2 < 0.05) ++hard;
    if (ground.contains(start)) ++inside;
    CHECK(ground.contains(start) == (line.inside_m2 > 0));
  }
  CHECK(inside > 1000);
  CHECK(hard < 20);
}

TEST_CASE("frames: their number does not depend on the random start") {
  const TransectSpec spec = frames(clip, 5, 0.5, 1);
  const FrameRow row = frame_row(spec);
  CHECK(row.frames == 5);
  CHECK(row.slack_m == doctest::Approx(4));
  for (const double first : {0.0, 1.7, 4.0}) {
    const LaidTransect line = laid(field(), {20, 30}, {1, 0}, spec, first);
    REQUIRE(line.stations.size() == 5);
    check_stretch(line.stations[0].mark, first, first + 1);
    check_stretch(line.stations[4].mark, 20 + first, 21 + first);
    CHECK(line.inside_m2 == doctest::Approx(5 * 0.5));
  }
  CHECK(frame_row(frames(clip, 1, 1, 1)).frames == 25);
  CHECK(frame_row(frames(clip, 25, 1, 25)).frames == 1);
}

TEST_CASE("frames at the boundary: the part inside, or the fold") {
  // Leaves at 17 m; frames begin at 1.5, 6.5, 11.5, 16.5 and 21.5 m.
  const LaidTransect cut = laid(field(), {83, 30}, {1, 0}, frames(clip, 5, 0.5, 1), 1.5);
  REQUIRE(cut.stations.size() == 4);
  CHECK(cut.stations[3].inside_m2 == doctest::Approx(0.25));
  CHECK(cut.inside_m2 == doctest::Approx(1.75));
  const LaidTransect folded = laid(field(), {83, 30}, {1, 0}, frames(reflect, 5, 0.5, 1), 1.5);
  REQUIRE(folded.stations.size() == 5);
  // The fourth lies over the fold: half a metre, there and back.
  check_stretch(folded.stations[3].mark, 16.5, 17);
  CHECK(folded.stations[3].inside_m2 == doctest::Approx(0.25));
  CHECK(folded.stations[3].twice_m2 == doctest::Approx(0.25));
  // The fifth, 21.5 m to 22.5 m of the line, is 11.5 m to 12.5 m on the way back.
  check_stretch(folded.stations[4].mark, 11.5, 12.5);
  CHECK(folded.stations[4].folded);
  CHECK(folded.inside_m2 + folded.twice_m2 == doctest::Approx(2.5));
}

TEST_CASE("points by share of area are uniform, and starts on a baseline have one strip each") {
  const Geometry area = difference(field(), box_polygon({40, 20, 46, 40}));
  const Chords chords(area);
  const Point axis{0.8, 0.6};
  for (const double share : {0.1, 0.5, 0.93}) {
    const Point p = point_at(chords, {7, 9}, axis, share, 0.4);
    const double before = (p.x - 7) * axis.x + (p.y - 9) * axis.y;
    CHECK(chords.area_before({7, 9}, axis, before) / area.area() == doctest::Approx(share).epsilon(1e-4));
    CHECK(area.contains(p));
  }
  const std::vector<Point> starts = spread_starts(chords, {0, 0}, axis, 0.25, {0.1, 0.9, 0.5, 0.3});
  REQUIRE(starts.size() == 4);
  for (std::size_t i = 0; i < 4; ++i) {
    const double before = starts[i].x * axis.x + starts[i].y * axis.y;
    CHECK(chords.area_before({0, 0}, axis, before) / area.area() ==
          doctest::Approx((double(i) + 0.25) / 4).epsilon(1e-4));
  }
}

TEST_CASE("the longest axis of an area") {
  const auto flat = longest_axis(box_polygon({0, 0, 100, 60}));
  REQUIRE(flat);
  CHECK(flat->x == doctest::Approx(1));
  const auto tall = longest_axis(box_polygon({500000, 4200000, 500060, 4200100}));
  REQUIRE(tall);
  CHECK(tall->y == doctest::Approx(1));
  // A rectangle turned by the 3-4-5 triangle.
  const auto turned = longest_axis(polygon({{0, 0}, {60, 80}, {44, 92}, {-16, 12}}));
  REQUIRE(turned);
  CHECK(turned->x == doctest::Approx(0.6));
  CHECK(turned->y == doctest::Approx(0.8));
  CHECK_FALSE(longest_axis(box_polygon({0, 0, 50, 50})));
}

}  // namespace transect_test
