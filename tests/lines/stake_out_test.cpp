// Tape on slopes and what a team is told.
#include "swardline/lines/stake_out.hpp"

#include <doctest/doctest.h>
#include <fmt/format.h>

#include <cmath>
#include <numbers>

namespace stake_out_test {

using namespace swardline;

namespace {

HeightAt slope(double degrees) {
  const double rise = std::tan(degrees * std::numbers::pi / 180);
  return [rise](Point p) { return std::optional<double>(200 + rise * p.x); };
}

Tape tape_on(double degrees, double metres) {
  const auto tape = Tape::along({10, 10}, {1, 0}, metres, 3, slope(degrees));
  REQUIRE(tape);
  return *tape;
}

std::string joined(const std::vector<std::string>& lines) {
  std::string text;
  for (const std::string& line : lines) text += line + "\n";
  return text;
}

}  // namespace

// By hand: 25 m / cos 18° = 26.29 m, 25 m / cos 24° = 27.37 m.
TEST_CASE("tape to lay for 25 m on slopes of 18 and 24 degrees") {
  CHECK(fmt::format("{:.1f}", tape_on(18, 25).length()) == "26.3");
  CHECK(fmt::format("{:.1f}", tape_on(24, 25).length()) == "27.4");
  CHECK(tape_on(0, 25).length() == doctest::Approx(25));
  CHECK(tape_on(18, 25).mark(17) == doctest::Approx(17 / std::cos(std::numbers::pi / 10)));
  // Along the contour the tape is the level distance.
  CHECK(Tape::along({10, 10}, {0, 1}, 25, 3, slope(18))->length() == doctest::Approx(25));
}

TEST_CASE("a tape follows ground that rises and falls") {
  // A ridge 3 m high over 8 m: two slopes of 4 m by 3 m, 5 m of tape each.
  const HeightAt ridge = [](Point p) { return std::optional<double>(3 - 0.75 * std::abs(p.x - 4)); };
  const auto tape = Tape::along({0, 0}, {1, 0}, 8, 1, ridge);
  REQUIRE(tape);
  CHECK(tape->length() == doctest::Approx(10));
  CHECK(tape->mark(4) == doctest::Approx(5));
  CHECK(tape->mark(2) == doctest::Approx(2.5));
  const HeightAt hole = [](Point p) { return p.x > 6 ? std::nullopt : std::optional<double>(1); };
  CHECK_FALSE(Tape::along({0, 0}, {1, 0}, 8, 1, hole));
  CHECK(Tape::level(17).mark(9) == doctest::Approx(9));
}

TEST_CASE("what a team is told: bearings by their names, tape, fold and frames") {
  const Geometry area = box_polygon({0, 0, 100, 60});
  TransectSpec spec;
  spec.length_m = 25;
  spec.width_m = 2;
  spec.boundary = TransectSpec::Boundary::reflect;
  StakeOut at{38.00412, -96.02184, 50.7, -1.5, false};
  const LaidTransect folded = lay_transect(area, Chords(area), {83, 30}, {1, 0}, spec);
  const Tape tape = *Tape::along(folded.start, {1, 0}, folded.parts.back().to, 1, slope(18));
  const std::string said = joined(stake_out(folded, tape, spec, at));
  CHECK(said ==
        "Start at 38.00412 -96.02184 (WGS84; 14S QH 61488 10458).\n"
        "Bearing true 050.7, magnetic 052.2 (declination 1.5° W).\n"
        "Lay 17.9 m of tape along the ground (17.0 m level).\n"
        "The line ends at the boundary and is folded back: count from 9.5 m to 17.9 m twice.\n"
        "A belt 2 m wide, half on each side of the tape: 34.0 m² inside, 16.0 m² counted again.\n");
  CHECK(parts_text(folded, tape) == "0.0-17.9");
  at.declination_deg.reset();
  const std::string without = joined(stake_out(folded, tape, spec, at));
  CHECK(without.find("Bearing true 050.7.\n") != std::string::npos);
  CHECK(without.find("magnetic") == std::string::npos);
  CHECK(without.find("grid") == std::string::npos);
}

TEST_CASE("a line parted by a pond and one clipped at the boundary, with frames") {
  const Geometry area = difference(box_polygon({0, 0, 100, 60}), box_polygon({40, 20, 46, 40}));
  TransectSpec spec;
  spec.length_m = 25;
  spec.width_m = 0.5;
  spec.frames = FrameSpec{5, {0.5, 1}};
  const StakeOut at{38.00412, -96.02184, 90, 11, true};
  const LaidTransect parted = lay_transect(area, Chords(area), {30, 30}, {1, 0}, spec, 1.5);
  const Tape tape = Tape::level(parted.parts.back().to);
  const std::string said = joined(stake_out(parted, tape, spec, at));
  CHECK(said ==
        "Start at 38.00412 -96.02184 (WGS84; 14S QH 61488 10458).\n"
        "Bearing true 090.0, magnetic 079.0 (declination 11.0° E).\n"
        "Lay 25.0 m of tape, held level: no heights are known here.\n"
        "The line leaves the survey area at 10.0 m and comes back at 16.0 m: do not count between, and go "
        "round "
        "where it is not safe or not allowed.\n"
        "19.0 m of the line's 25 m lie in the survey area: that is what is counted.\n"
        "4 frames of 0.5 × 1 m: 2.0 m² inside.\n"
        "Frames begin at 1.5, 6.5, 16.5 and 21.5 m.\n");
  CHECK(parts_text(parted, tape) == "0.0-10.0; 16.0-25.0");
}

}  // namespace stake_out_test
