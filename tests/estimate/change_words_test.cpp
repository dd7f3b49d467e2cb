// What a change says where there is little spread, few occupied plots or odd ground, and how it says it.
#include <doctest/doctest.h>

#include <cmath>

#include "two_years.hpp"

namespace change_words_test {

using namespace swardline;
using namespace swardline::testing;

namespace {

/// Twelve pairs that have little to do with each other, and twelve plots of either season alone.
TwoYears loose_pairs(double correlated) {
  TwoYears years;
  const double then[12] = {4, 0, 7, 2, 9, 1, 6, 3, 8, 5, 2, 7},
               now[12] = {6, 5, 2, 8, 4, 9, 1, 7, 3, 0, 6, 5};
  for (int i = 0; i < 12; ++i) {
    const std::string number = std::to_string(10 + i);
    years.then.plot("ANL1" + number, then[i]);
    years.now.plot("ANL1" + number, correlated > 0 ? then[i] + correlated * (i % 2) : now[i]);
    years.then.plot("ANL2" + number, then[(i + 5) % 12]);
    years.now.plot("ANL3" + number, now[(i + 7) % 12]);
  }
  return years;
}

}  // namespace

TEST_CASE("one stem more on every plot has no spread, whatever the counts are") {
  TwoYears years;
  const double then[7] = {3, 10, 7, 1, 22, 13, 311};
  for (int i = 0; i < 7; ++i) {
    years.then.plot("ANL1" + std::to_string(i), then[i], 17.3);
    years.now.plot("ANL1" + std::to_string(i), then[i] + 1, 17.3);
  }
  const SeasonChange change = years.change();
  CHECK_FALSE(everywhere(change).limits);
  CHECK_FALSE(everywhere(change).needed);
  CHECK(*everywhere(change).paired.standard_error == 0);
  CHECK(holds(in_words(change), "the difference is the same on every plot: no limits"));
}

TEST_CASE("two pairs do where differences hardly vary") {
  TwoYears years;
  for (int i = 0; i < 6; ++i) {
    years.then.plot("ANL1" + std::to_string(i), 100);
    years.now.plot("ANL1" + std::to_string(i), 101 + 1e-6 * i);
  }
  const SeasonChange change = years.change();
  REQUIRE(everywhere(change).needed);
  CHECK(everywhere(change).needed->by_test == 2);
  INFO(in_words(change));
  CHECK(holds(in_words(change), "  about 2 pairs would show a change of 20 %"));
}

TEST_CASE("plots without a partner are used where they tell more") {
  SUBCASE("too few pairs hold a plant") {
    TwoYears years = the_story();
    const SeasonChange change = years.change();
    CHECK_FALSE(everywhere(change).composite);
    CHECK(holds(in_words(change),
                "Plots without a partner are not used: fewer than ten pairs hold a plant in either season."));
  }
  SUBCASE("seasons that are not alike on the same plots") {
    TwoYears years = loose_pairs(0);
    const SeasonChange change = years.change();
    REQUIRE(everywhere(change).composite);
    CHECK(everywhere(change).composite->gain > 0.3);
    CHECK(holds(in_words(change), "less variance than the pairs alone."));
    CHECK(change_rows(change).back().measure == "change in stems per ha, all plots");
    CHECK(change_rows(change).back().plots == 36);
  }
  SUBCASE("pairs that tell it all") {
    TwoYears years = loose_pairs(0.01);
    const SeasonChange change = years.change();
    CHECK_FALSE(everywhere(change).composite);
    CHECK(holds(in_words(change),
                "are not used: with them the change is no better known than from the pairs alone."));
    CHECK_FALSE(holds(in_words(change), "each weighted by its variance"));
  }
}

TEST_CASE("how many pairs would do is said where five pairs hold a plant") {
  for (const int occupied : {4, 5}) {
    CAPTURE(occupied);
    TwoYears years;
    for (int i = 0; i < 9; ++i) {
      years.then.plot("ANL1" + std::to_string(i), i < occupied ? 3 + i : 0);
      years.now.plot("ANL1" + std::to_string(i), i < occupied ? 2 + i % 2 : 0);
    }
    CHECK(everywhere(years.change()).needed.has_value() == (occupied == 5));
  }
}

TEST_CASE("two numbers of pairs that are nearly one are one") {
  SeasonChange change = the_story().change();
  const auto said = [&](int by_formula, int by_test) {
    change.estimates.front().needed = PairsNeeded{1, 1, by_formula, by_test};
    return in_words(change);
  };
  CHECK(holds(said(16, 17), "  about 17 pairs would show"));
  CHECK(holds(said(17, 17), "  about 17 pairs would show"));
  CHECK(holds(said(15, 17), "  15 to 17 pairs would show"));
  CHECK(holds(said(1230, 1240), "  about 1,240 pairs would show"));
  CHECK(holds(said(1230, 1250), "  1,230 to 1,250 pairs would show"));
}

TEST_CASE("excluded ground is neither shared, gained nor lost") {
  TwoYears years = the_story();
  years.now.stratum("ANL|excluded|v1", "ANL", 50000).season.strata.back().kind = "excluded";
  years.then.stratum("ANL|excluded|v1", "ANL", 30000).season.strata.back().kind = "excluded";
  const SeasonChange change = years.change();
  CHECK(everywhere(change).without_pairs_m2 == 0);
  CHECK(everywhere(change).gained.area_m2 == 0);
  CHECK(everywhere(change).shared_m2 == 140000);
  CHECK(change.ground.size() == 1);
}

TEST_CASE("with an inner margin strata weigh by the ground inside it, as in a season's estimates") {
  TwoYears years = the_story();
  for (MadeSeason* season : {&years.then, &years.now}) {
    season->season.edge = EdgeRule::inner_margin;
    season->season.strata[0].frame_m2 = 110000;
  }
  CHECK(everywhere(years.change()).shared_m2 == 110000);
  years.then.season.edge = EdgeRule::walk_through;
  years.flags = {};
  CHECK(everywhere(years.change()).shared_m2 == 140000);
}

TEST_CASE("a domain has no spread from strata it does not touch") {
  // Stratum 0 is cut by the domain; stratum 1 has a single pair, outside it.
  std::vector<PairedCount> pairs = {{0, true, 1, 2, 20, 1, 20},
                                    {0, true, 1, 4, 20, 4, 20},
                                    {0, true, 1, 9, 20, 6, 20},
                                    {0, false, 1, 1, 20, 1, 20},
                                    {1, false, 1, 3, 20, 9, 20}};
  const PairedChange all = paired_change(pairs, {120000, 80000}, DomainCut::across_strata);
  CHECK(all.alone == 0);
  CHECK(all.strata == 1);
  pairs.pop_back();
  const PairedChange touched = paired_change(pairs, {120000, 80000}, DomainCut::across_strata);
  CHECK(near(all.change, touched.change, 1e-15));
  CHECK(near(*all.standard_error, *touched.standard_error, 1e-15));
  CHECK(near(all.degrees_freedom, touched.degrees_freedom, 1e-12));
  // Pairs outside need not be listed one by one.
  std::erase_if(pairs, [](const PairedCount& pair) { return !pair.inside; });
  const PairedChange summed =
      paired_change(pairs, {120000, 80000}, DomainCut::across_strata, {{4, 4.0}, {1, 1.0}});
  CHECK(near(all.change, summed.change, 1e-15));
  CHECK(near(*all.standard_error, *summed.standard_error, 1e-15));
  CHECK(near(all.degrees_freedom, summed.degrees_freedom, 1e-12));
}

TEST_CASE("plots to look into come first in the list, those that rest as a number") {
  TwoYears years = the_story();
  for (const char* name : {"ANL00", "ANL0A", "ANL0B"}) {
    years.then.plot(name, 1);
    years.now.lost(name, "").in_use = false;
  }
  years.then.plot("ANL11", 2);
  const std::vector<std::string> lines = unpaired_in_words(years.change());
  const std::vector<std::string> said = {"Not paired:",
                                         "  ANL08  moved 14 m: treated as a new plot",
                                         "  ANL07  not countable (mown) in 2027",
                                         "  ANL11  not among the plots of 2027",
                                         "  ANL09  new, not among the plots of 2026",
                                         "  ANL10  new, not among the plots of 2026",
                                         "  3 plots: resting in 2027"};
  CHECK(lines == said);
}

TEST_CASE("no standard error of 0, and the ground that the change speaks of") {
  TwoYears years = the_story();
  years.now.stratum("ANL|score=75-100|v1", "ANL", 20000);
  for (const char* name : {"ANL81", "ANL82"}) years.now.plot(name, 4, 20, "ANL|score=75-100|v1");
  for (MadeSeason* season : {&years.then, &years.now}) season->stratum("ANL|score=0-25|v1", "ANL", 30000);
  const std::string words = in_words(years.change());
  INFO(words);
  CHECK(holds(words, "  2.0 ha of survey area gained: 4,000 stems there (from 2 plots) are no increase"));
  CHECK(holds(words, "  On the ground with pairs that is −"));
  CHECK_FALSE(holds(words, "standard error 0"));
}

TEST_CASE("a ratio beyond a thousand percent has its thousands grouped") {
  TwoYears years;
  for (int i = 0; i < 8; ++i) {
    years.then.plot("ANL1" + std::to_string(i), 1 + i % 2);
    years.now.plot("ANL1" + std::to_string(i), 20 + i % 3);
  }
  const std::string words = in_words(years.change());
  INFO(words);
  CHECK(holds(words, "  Now 1,392 % of what it was (90 % limits 1,"));
}

}  // namespace change_words_test
