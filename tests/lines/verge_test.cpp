#include <doctest/doctest.h>
#include <geos_c.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "swardline/lines/verge_segments.hpp"

namespace verge_test {

using namespace swardline;

namespace {

DrawnLine drawn(std::vector<Point> points, double offset = 3.5, double width = 4) {
  return {std::move(points), {{offset, offset}, {width, width}}};
}

double total_m2(const Verge& verge) {
  double sum = 0;
  for (const VergeSegment& segment : verge.segments) sum += segment.ground.area();
  return sum;
}

/// Square metres that two segments both hold, over all pairs.
double shared_m2(const Verge& verge) {
  double sum = 0;
  for (std::size_t i = 0; i < verge.segments.size(); ++i) {
    for (std::size_t j = i + 1; j < verge.segments.size(); ++j) {
      const Geometry &a = verge.segments[i].ground, &b = verge.segments[j].ground;
      if (a.box().meets(b.box())) sum += intersection(a, b).area();
    }
  }
  return sum;
}

/// GEOS's own buffer with flat ends and many steps round bends.
Geometry flat_buffer(const std::vector<Point>& points, double metres) {
  return Geometry(
      GEOSBufferWithStyle_r(geos(), line(points).get(), metres, 64, GEOSBUF_CAP_FLAT, GEOSBUF_JOIN_ROUND, 5));
}

std::vector<Point> winding_road() {
  std::vector<Point> points;
  for (int i = 0; i <= 60; ++i) {
    const double t = i / 60.0;
    points.push_back({762000 + 900 * t, 4210000 + 60 * std::sin(9 * t) + 25 * std::sin(31 * t)});
  }
  return points;
}

}  // namespace

TEST_CASE("20 m segments along a straight 3.4 km, both sides: 170 a side, every area by hand") {
  const Verge verge = make_verge({drawn({{1000, 500}, {4400, 500}})}, 20, {});
  CHECK(verge.length_m == 3400);
  CHECK(verge.stretches == 170);
  CHECK(verge.shorter == 0);
  CHECK(verge.count(VergeSide::left) == 170);
  CHECK(verge.count(VergeSide::right) == 170);
  CHECK(in_words(verge) == "20 m segments along 3.4 km, both sides; 340 possible (170 left, 170 right).");
  for (const VergeSegment& segment : verge.segments) CHECK(segment.ground.area() == doctest::Approx(80));
  const VergeSegment& left = verge.segments[100];
  CHECK(left.number == 51);
  CHECK(left.side == VergeSide::left);
  CHECK(left.middle == Point{2010, 505.5});
  CHECK(left.grid_bearing_deg == doctest::Approx(90));
  CHECK(in_words(left) == "segment 51 left, from 1,000 m to 1,020 m along the line");
  CHECK(verge.segments[101].side == VergeSide::right);
  CHECK(verge.segments[101].middle == Point{2010, 494.5});
}

TEST_CASE("an end piece is shorter and said, and a remainder of rounding is none") {
  const Verge verge = make_verge({drawn({{0, 0}, {0, 107.5}})}, 20, {true, false});
  CHECK(verge.segments.size() == 6);
  CHECK(verge.shorter == 1);
  CHECK(verge.segments.back().from_m == 100);
  CHECK(verge.segments.back().to_m == doctest::Approx(107.5));
  CHECK(verge.segments.back().ground.area() == doctest::Approx(7.5 * 4));
  CHECK(in_words(verge) == "20 m segments along 107.5 m, left side; 6 possible, the last of a line shorter.");
  CHECK(in_words(verge.segments.back()) == "segment 6 left, from 100 m to 107.5 m along the line");
  CHECK(make_verge({drawn({{0, 0}, {0, 100.004}})}, 20, {}).segments.size() == 10);
  CHECK(make_verge({drawn({{0, 0}, {0, 12}})}, 20, {}).segments.size() == 2);
}

TEST_CASE("left is left of somebody who walks the line the way it was drawn") {
  const Verge verge = make_verge({drawn({{0, 0}, {0, 40}})}, 20, {});
  for (const VergeSegment& segment : verge.segments) {
    CHECK((segment.side == VergeSide::left ? segment.middle.x < 0 : segment.middle.x > 0));
    CHECK(segment.grid_bearing_deg == doctest::Approx(0));
  }
}

TEST_CASE("the two sides may differ, and a side without width has no segments") {
  const Verge verge = make_verge({{{{0, 0}, {100, 0}}, {{2, 5}, {3, 0}}}}, 25, {});
  CHECK(verge.count(VergeSide::left) == 4);
  CHECK(verge.count(VergeSide::right) == 0);
  CHECK(verge.segments[0].middle == Point{12.5, 3.5});
  CHECK(verge.segments[0].ground.area() == doctest::Approx(75));
}

TEST_CASE("ground at a right angle by hand: the inside once, the outside rounded") {
  const Verge verge = make_verge({drawn({{0, 0}, {100, 0}, {100, 100}}, 3, 4)}, 20, {});
  double left = 0, right = 0;
  for (const VergeSegment& s : verge.segments) (s.side == VergeSide::left ? left : right) += s.ground.area();
  // Inside (left): two strips of 97 by 4 m, for 3 m lie on the other carriageway, and their 4 m square once.
  CHECK(left == doctest::Approx(2 * 97 * 4 - 4 * 4).epsilon(1e-9));
  CHECK(right == doctest::Approx(800 + std::numbers::pi / 4 * (49 - 9)).epsilon(1e-4));
  CHECK(shared_m2(verge) < 1e-4);
}

TEST_CASE("on a winding road the segments fill the verge that GEOS's buffers leave, none of it twice") {
  for (const double width : {2.0, 5.0, 12.0}) {
    CAPTURE(width);
    const std::vector<Point> road = winding_road();
    const Verge verge = make_verge({drawn(road, 3.5, width)}, 20, {});
    const Geometry whole = difference(flat_buffer(road, 3.5 + width), flat_buffer(road, 3.5));
    CHECK(total_m2(verge) == doctest::Approx(whole.area()).epsilon(1e-4));
    CHECK(difference(ground_of(verge), whole).area() < 2e-4 * whole.area());
    CHECK(shared_m2(verge) < 5e-3);  // corners in whole millimetres
    const Geometry carriageway = flat_buffer(road, 3.5 - 0.002);
    for (const VergeSegment& segment : verge.segments)
      CHECK(intersection(segment.ground, carriageway).area() < 0.005);  // chords of round bends
    const double least =
        std::min_element(verge.segments.begin(), verge.segments.end(),
                         [](const VergeSegment& a, const VergeSegment& b) { return a.whole_m2 < b.whole_m2; })
            ->whole_m2;
    CHECK(least > 0);
  }
}

TEST_CASE("a hairpin, a ring and a road that crosses itself give no ground twice and none on the road") {
  const std::vector<Point> hairpin = {{0, 0}, {100, 0}, {104, 5}, {100, 10}, {0, 12}};
  const std::vector<Point> ring = {{0, 0}, {200, 0}, {200, 150}, {0, 150}, {0, 0}};
  const std::vector<Point> eight = {{0, 0}, {200, 200}, {200, 0}, {0, 200}};
  for (const auto& road : {hairpin, ring, eight}) {
    const Verge verge = make_verge({drawn(road, 3, 4)}, 20, {});
    CHECK(shared_m2(verge) < 1e-3);
    CHECK(intersection(ground_of(verge), flat_buffer(road, 2.99)).area() < 0.01);
    CHECK(total_m2(verge) > 0);
  }
  // A ring's corner has its outside rounded where it starts, too: 2 × 4 × 700 less and more at four corners.
  const Verge closed = make_verge({drawn(ring, 3, 4)}, 20, {});
  CHECK(total_m2(closed) ==
        doctest::Approx(2 * 4 * 700 - 4 * 40 + 4 * std::numbers::pi / 4 * 40).epsilon(1e-4));
}

TEST_CASE("features that touch are one line, whatever way each was drawn; others run on in metres") {
  const DrawnLine first = drawn({{0, 0}, {100, 0}}), third = drawn({{300, 0}, {200, 0}}, 3.5, 2);
  DrawnLine second = drawn({{200, 0}, {100, 0.04}});
  second.strip = {{1, 9}, {2, 8}};  // as drawn: its left is the right of the first
  const JoinedLines joined = join_lines({first, third, second});
  REQUIRE(joined.lines.size() == 1);
  CHECK(joined.turned == 2);
  CHECK(joined.lines[0].length_m() == doctest::Approx(300));
  CHECK(joined.lines[0].piece_at(150).strip.width_m[0] == 8);
  CHECK(joined.lines[0].piece_at(150).strip.offset_m[0] == 9);
  CHECK(joined.lines[0].piece_at(250).strip.width_m[0] == 2);

  const Verge apart = make_verge({first, drawn({{0, 50}, {70, 50}})}, 20, {true, false});
  CHECK(apart.lines == 2);
  CHECK(apart.segments.size() == 5 + 4);
  CHECK(apart.segments[5].number == 6);
  CHECK(apart.segments[5].from_m == doctest::Approx(100));
  CHECK(apart.segments.back().to_m == doctest::Approx(170));
  CHECK(in_words(apart).find("2 lines that do not touch") != std::string::npos);
}

TEST_CASE("what is cut out leaves segments smaller or takes them away, and their place stays on ground") {
  Verge verge = make_verge({drawn({{0, 0}, {100, 0}}, 3, 4)}, 20, {});
  const Geometry bridge = box_polygon({20, -50, 56, 50});
  keep_ground(verge, difference(ground_of(verge), bridge));
  CHECK(verge.segments.size() == 8);  // numbers 1, 3, 4, 5
  CHECK(verge.stretches == 5);
  const VergeSegment& cut = verge.segments[2];
  CHECK(cut.number == 3);
  CHECK(cut.ground.area() == doctest::Approx(16));
  CHECK(cut.whole_m2 == doctest::Approx(80));
  CHECK(cut.middle == Point{50, 5});
  CHECK_FALSE(cut.ground.contains(cut.middle));
  CHECK(cut.ground.contains(place_on(cut)));
  CHECK(in_words(cut) == "segment 3 left, from 40 m to 60 m along the line; 64.0 of its 80.0 m² cut out");
  CHECK(place_on(verge.segments[0]) == verge.segments[0].middle);
}

}  // namespace verge_test
