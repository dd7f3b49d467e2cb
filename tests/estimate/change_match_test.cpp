// Which plots two seasons share.
#include "swardline/estimate/change_match.hpp"

#include <doctest/doctest.h>

#include <algorithm>

#include "made_seasons.hpp"
#include "swardline/geo/crs.hpp"

namespace change_match_test {

using namespace swardline;
using namespace swardline::testing;

namespace {

struct Both {
  MadeSeason then{2026}, now{2027};
  Flags flags;
  Both() {
    for (MadeSeason* season : {&then, &now}) season->site("ANL", 1e5).stratum("ANL", "ANL", 1e5);
  }
  std::vector<MatchedPlot> match(double moved_m = 5) {
    return match_plots(then.season, now.season, moved_m, flags);
  }
};

}  // namespace

TEST_CASE("a plot is where its pin is unless the fix says otherwise") {
  Both both;
  both.then.plot("ANL01", 1);
  EvaluatedUnit& now = both.now.plot("ANL01", 2);
  SUBCASE("the pin itself moved") {
    now.north += 14;
    const auto matches = both.match();
    REQUIRE(matches.size() == 1);
    CHECK(matches[0].matching == Matching::moved);
    CHECK(near(matches[0].moved_m, 14, 1e-9));
    CHECK_FALSE(matches[0].off_pin_now);
  }
  SUBCASE("within the allowance") {
    now.north += 4.9;
    CHECK(both.match()[0].matching == Matching::paired);
  }
  SUBCASE("a fix 14 m off, accurate to 4 m") {
    now.fix_east = now.east + 14;
    now.fix_north = now.north;
    now.fix_accuracy_m = 4;
    const auto matches = both.match();
    CHECK(matches[0].matching == Matching::moved);
    CHECK(matches[0].off_pin_now);
    CHECK(holds(matches[0].why, "moved 14 m: treated as a new plot (in 2027 the team's fix lies away"));
  }
  SUBCASE("a fix as far off, accurate to 10 m, tells nothing") {
    now.fix_east = now.east + 14;
    now.fix_north = now.north;
    now.fix_accuracy_m = 10;
    CHECK(both.match()[0].matching == Matching::paired);
  }
  SUBCASE("away from the pin in both seasons, at the same place") {
    for (EvaluatedUnit* unit : {&both.then.season.units[0], &now}) {
      unit->fix_east = unit->east + 30;
      unit->fix_north = unit->north;
      unit->fix_accuracy_m = 3;
    }
    const auto matches = both.match();
    CHECK(matches[0].matching == Matching::paired);
    CHECK(matches[0].off_pin_then);
  }
}

TEST_CASE("why a plot has no partner") {
  Both both;
  both.then.plot("ANL01", 1);
  both.now.lost("ANL01", "not countable (mown)").why = "not countable (mown) on 2027-06-01";
  both.then.lost("ANL02", "under water");
  both.now.plot("ANL02", 1);
  both.then.plot("ANL03", 1);
  EvaluatedUnit& rests = both.now.lost("ANL03", "");
  rests.in_use = false;
  both.then.plot("ANL04", 1);
  both.now.plot("ANL05", 1);
  both.then.lost("ANL06", "no return");
  both.now.lost("ANL06", "no return");
  both.now.plot("ANL51", 1);
  EvaluatedUnit& spare = both.then.lost("ANL51", "");
  spare.in_use = false;
  spare.spare = true;
  const auto matches = both.match();
  REQUIRE(matches.size() == 6);  // 06 was never counted
  CHECK(matches[0].why == "not countable (mown) in 2027");
  CHECK(matches[0].matching == Matching::not_counted_now);
  CHECK(matches[1].why == "under water in 2026");
  CHECK(matches[1].matching == Matching::not_counted_then);
  CHECK(matches[2].why == "resting in 2027");
  CHECK(matches[3].why == "not among the plots of 2027");
  CHECK(matches[4].why == "new, not among the plots of 2026");
  CHECK(matches[5].why == "a spare that was not used in 2026");
}

TEST_CASE("the same place under another name is asked about, not paired") {
  Both both;
  const EvaluatedUnit then = both.then.plot("ANL01", 1);
  EvaluatedUnit& now = both.now.plot("ANL11", 2);
  now.east = then.east + 0.8;
  now.north = then.north;
  const auto matches = both.match();
  REQUIRE(matches.size() == 2);
  CHECK(matches[0].matching == Matching::gone);
  CHECK(matches[1].matching == Matching::added);
  REQUIRE(both.flags.all().size() == 1);
  CHECK(both.flags.all()[0].severity == Severity::ask);
  CHECK(holds(both.flags.all()[0].meaning, "ANL11 (ANL01, 0.8 m away)"));
  SUBCASE("farther than the allowance") {
    now.east = then.east + 5.2;
    Flags none;
    (void)match_plots(both.then.season, both.now.season, 5, none);
    CHECK(none.all().empty());
  }
}

TEST_CASE("seasons in other systems of coordinates meet on the ground") {
  // The valley lies across the edge of UTM zones 14 and 15.
  Both both;
  const EvaluatedUnit then = both.then.plot("ANL01", 1);
  both.now.season.crs = "EPSG:26915";
  EvaluatedUnit& now = both.now.plot("ANL01", 2);
  const Route route(Crs::from_text("EPSG:26914"), Crs::from_text("EPSG:26915"));
  const Point there = route.forward(Point{then.east, then.north});
  now.east = there.x;
  now.north = there.y;
  CHECK(both.match()[0].matching == Matching::paired);
  now.east += 14;
  const auto moved = both.match();
  CHECK(moved[0].matching == Matching::moved);
  CHECK(near(moved[0].moved_m, 14, 0.1));
}

}  // namespace change_match_test
