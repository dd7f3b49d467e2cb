// How rows of a form become a count and an area: hand-worked, by the rules of returned.hpp.
#include <doctest/doctest.h>

#include <vector>

#include "swardline/store/count_tally.hpp"

namespace tally_test {

using namespace swardline;

namespace {

CountRow row(int stems, float area_m2 = std::nanf(""), int twice_stems = -1) {
  CountRow row;
  row.stems = stems;
  row.area_m2 = area_m2;
  row.twice_stems = twice_stems;
  return row;
}

constexpr SearchGround whole{20, 20, 0}, at_edge{20, 14, 5};

}  // namespace

TEST_CASE("a whole plot stands for its ground under each edge rule") {
  CHECK(denominator_m2(EdgeRule::walk_through, at_edge) == 19);
  CHECK(denominator_m2(EdgeRule::fold_back, at_edge) == 19);
  CHECK(denominator_m2(EdgeRule::grown_frame, at_edge) == 20);
  CHECK(denominator_m2(EdgeRule::inside_area, at_edge) == 14);
  CHECK(denominator_m2(EdgeRule::inner_margin, at_edge) == 14);
}

TEST_CASE("stems of the count-twice zone count twice, over the area counted twice") {
  const std::vector<CountRow> rows = {row(9, 14, 3)};
  const CountTally tally = tally_of(EdgeRule::walk_through, at_edge, rows);
  CHECK(tally.count.searched);
  CHECK(tally.count.sure == 12);
  CHECK(tally.count.area_m2 == 19);
  CHECK(tally.stems == 9);
  const CountTally grown = tally_of(EdgeRule::grown_frame, at_edge, rows);
  CHECK(grown.count.sure == 9);
  CHECK(grown.count.area_m2 == 20);
}

TEST_CASE("an empty count-twice box counts the plot once, over what lies inside; none found needs no box") {
  const CountTally once = tally_of(EdgeRule::walk_through, at_edge, std::vector{row(9, 14)});
  CHECK(once.count.sure == 9);
  CHECK(once.count.area_m2 == 14);
  CHECK(once.twice_box_empty);
  const CountTally none = tally_of(EdgeRule::walk_through, at_edge, std::vector{row(0, 14)});
  CHECK(none.count.area_m2 == 19);
  CHECK_FALSE(none.twice_box_empty);
}

TEST_CASE("a part of an edge plot keeps its share of the zone counted twice") {
  const CountTally tally = tally_of(EdgeRule::walk_through, at_edge, std::vector{row(4, 7, 1)});
  CHECK(tally.count.sure == 5);
  CHECK(tally.count.area_m2 == doctest::Approx(9.5));
  CHECK(tally_of(EdgeRule::grown_frame, at_edge, std::vector{row(4, 7, 1)}).count.area_m2 ==
        doctest::Approx(10));
}

TEST_CASE("areas to one decimal are the whole plot; larger ones never enlarge it; a part needs its area") {
  CHECK(tally_of(EdgeRule::walk_through, {20, 14.46, 0}, std::vector{row(1, 14.5F)}).count.area_m2 == 14.46);
  CHECK(tally_of(EdgeRule::walk_through, {20, 14.04, 0}, std::vector{row(1, 14.0F)}).count.area_m2 == 14.04);
  CountRow part = row(3);
  part.part = true;
  const CountTally tally = tally_of(EdgeRule::walk_through, whole, std::vector{part});
  CHECK_FALSE(tally.count.searched);
  CHECK(tally.part_without_area);
}

TEST_CASE("half counted halves the area, and rows of other halves are brought to one area") {
  CountRow half = row(60);
  half.method = CountMethod::half_counted;
  const CountTally alone = tally_of(EdgeRule::walk_through, whole, std::vector{half});
  CHECK(alone.count.sure == 60);
  CHECK(alone.count.area_m2 == 10);
  CountRow capsules = row(4);
  capsules.phase = Phase::capsule;
  const CountTally both = tally_of(EdgeRule::walk_through, whole, std::vector{half, capsules});
  CHECK(both.count.area_m2 == 20);
  CHECK(both.count.sure == 124);
}

TEST_CASE("half counted with its own area is not halved again") {
  const auto half_of = [](float area, bool part) {
    CountRow half = row(6, area);
    half.method = CountMethod::half_counted;
    half.part = part;
    return tally_of(EdgeRule::walk_through, whole, std::vector{half}).count;
  };
  CHECK(half_of(10, true).area_m2 == 10);
  CHECK(half_of(10, true).sure == 6);
  CHECK(half_of(7, true).area_m2 == doctest::Approx(7));
  CHECK(half_of(20, false).area_m2 == 10);
  CHECK_FALSE(half_of(std::nanf(""), true).searched);
  CHECK_FALSE(half_of(0, false).searched);
}

TEST_CASE("counts as large as a number holds add up") {
  CHECK(tally_of(EdgeRule::walk_through, at_edge, std::vector{row(2000000000, 14, 2000000000)}).count.sure ==
        4e9);
}

TEST_CASE("sure and not certain are kept apart, phases add up, a row said twice counts once") {
  CountRow doubtful = row(2);
  doubtful.certainty = Certainty::not_certain;
  CountRow buds = row(3);
  buds.phase = Phase::bud;
  const CountTally tally =
      tally_of(EdgeRule::walk_through, whole, std::vector{row(5), doubtful, buds, row(5)});
  CHECK(tally.count.sure == 8);
  CHECK(tally.count.not_certain == 2);
  CHECK(tally.count.area_m2 == 20);
  CHECK_FALSE(tally_of(EdgeRule::walk_through, whole, std::vector{row(-1)}).count.searched);
}

}  // namespace tally_test
