// Change on the same plots.
#include <doctest/doctest.h>

#include <cmath>

#include "two_years.hpp"

namespace change_test {

using namespace swardline;
using namespace swardline::testing;

TEST_CASE("six pairs among ten plots: no clear change") {
  // A worked example: differences −2, 0, −1, −3, 0, 1; t of 0.95 with 5 degrees of freedom is 2.015 (tables).
  TwoYears years = the_story();
  const SeasonChange change = years.change();
  const ChangeEstimate& all = everywhere(change);
  CHECK(all.paired.pairs == 6);
  CHECK(near(20 * all.paired.then, 29.0 / 6, 1e-12));
  CHECK(near(20 * all.paired.now, 4, 1e-12));
  CHECK(near(20 * all.paired.change, -5.0 / 6, 1e-12));
  CHECK(all.paired.degrees_freedom == doctest::Approx(5));
  REQUIRE(all.limits);
  CHECK(near(20 * all.limits->low, -2.04, 0.005));
  CHECK(near(20 * all.limits->high, 0.38, 0.005));
  CHECK(all.change == ChangeWord::no_clear_change);
  REQUIRE(all.ratio);
  CHECK(near(*all.ratio, 24.0 / 29, 1e-12));
  // The limits of the ratio hold 1, as those of the difference hold 0.
  REQUIRE(all.ratio_limits);
  CHECK(all.ratio_limits->low < 1);
  CHECK(all.ratio_limits->high > 1);
  REQUIRE(all.needed);
  CHECK(all.needed->by_formula == 15);
  CHECK(all.needed->by_test >= 16);
  CHECK(all.needed->by_test <= 17);
  const std::string words = in_words(change);
  INFO(words);
  CHECK(
      holds(words,
            "PTUB, all sites: −0.83 stems per plot (−17 %), 90 % −2.04 to +0.38, 6 pairs: no clear change."));
  CHECK(holds(words, "  about 16 pairs would show a change of 20 %"));
  CHECK(holds(words, "  ANL07  not countable (mown) in 2027\n"));
  CHECK(holds(words, "  ANL08  moved 14 m: treated as a new plot"));
  CHECK(holds(words, "  ANL09  new, not among the plots of 2026"));
  CHECK(holds(words, "  ANL10  new, not among the plots of 2026"));
  CHECK_FALSE(holds(words, "23 %"));
  CHECK(unpaired_in_words(change).size() == 5);
}

TEST_CASE("partial plots count by their area, on both sides") {
  TwoYears years;
  // By hand: 20, 20, 10 m² and 20, 10, 10 m²: r₁ = 18/50, r₂ = 20/40, difference 0.14.
  years.then.plot("ANL01", 8);
  years.then.plot("ANL02", 6);
  years.then.plot("ANL03", 4, 10);
  years.now.plot("ANL01", 9);
  years.now.plot("ANL02", 5, 10);
  years.now.plot("ANL03", 6, 10);
  const PairedChange paired = everywhere(years.change()).paired;
  CHECK(near(paired.change, 0.14, 1e-12));
  // Residuals of (y₂ − r₂ a₂)/ā₂ − (y₁ − r₁ a₁)/ā₁ with ā₁ = 50/3, ā₂ = 40/3.
  double squares = 0;
  const double y1[3] = {8, 6, 4}, a1[3] = {20, 20, 10}, y2[3] = {9, 5, 6}, a2[3] = {20, 10, 10};
  for (int i = 0; i < 3; ++i) {
    const double e = (y2[i] - 0.5 * a2[i]) * 3 / 40 - (y1[i] - 0.36 * a1[i]) * 3 / 50;
    squares += e * e;
  }
  REQUIRE(paired.standard_error);
  CHECK(near(*paired.standard_error, std::sqrt(squares / 2 / 3), 1e-12));
}

TEST_CASE("strata weigh by the ground that both seasons share") {
  TwoYears years;
  const std::string poor = "ANL|score=0-25|v1";
  years.then.stratum(poor, "ANL", 60000);
  years.now.stratum(poor, "ANL", 60000);
  const double then[3] = {10, 14, 12}, now[3] = {8, 9, 13};
  for (int i = 0; i < 3; ++i) {
    years.then.plot("ANL1" + std::to_string(i), then[i]);
    years.now.plot("ANL1" + std::to_string(i), now[i]);
    years.then.plot("ANL2" + std::to_string(i), i, 20, poor);
    years.now.plot("ANL2" + std::to_string(i), 2 * i, 20, poor);
  }
  const SeasonChange change = years.change();
  const ChangeEstimate& all = everywhere(change);
  // Means of differences −2 and 1, weights 0.7 and 0.3; variances 9 and 1 over 3 plots.
  CHECK(near(20 * all.paired.change, 0.7 * -2 + 0.3 * 1, 1e-12));
  CHECK(near(20 * *all.paired.standard_error, std::sqrt(0.49 * 9 / 3 + 0.09 * 1 / 3), 1e-12));
  const double a = 0.49 * 3, b = 0.09 / 3;
  CHECK(near(all.paired.degrees_freedom, (a + b) * (a + b) / (a * a / 2 + b * b / 2), 1e-9));
  const ChangeEstimate* one = of(change, "ANL", poor);
  REQUIRE(one != nullptr);
  CHECK(near(20 * one->paired.change, 1, 1e-12));
}

TEST_CASE("ground that was gained is no increase in density") {
  TwoYears years = {meadow_in(2026, 420000), meadow_in(2027, 420000), {}, {}};
  const std::string gained = "ANL|score=50-75|v2";
  years.now.season.sites.front().survey_m2 = 480000;
  years.now.stratum(gained, "ANL", 60000);
  for (int i = 0; i < 4; ++i) {
    years.then.plot("ANL1" + std::to_string(i), i + 2);
    years.now.plot("ANL1" + std::to_string(i), i + 2 + i % 2);
    years.now.plot("ANL2" + std::to_string(i), 10 * i, 20, gained);
  }
  const SeasonChange change = years.change();
  const ChangeEstimate& all = everywhere(change);
  CHECK(all.paired.pairs == 4);
  CHECK(near(20 * all.paired.change, 0.5, 1e-12));
  CHECK(all.shared_m2 == 420000);
  CHECK(near(all.stems, 420000 * 0.5 / 20, 1e-6));
  CHECK(all.gained.area_m2 == 60000);
  CHECK(near(all.gained.stems, 60000 * 15.0 / 20, 1e-6));
  // Standard error of the mean of 0, 10, 20, 30: 12.91 / 2.
  REQUIRE(all.gained.standard_error);
  CHECK(near(*all.gained.standard_error, 60000.0 / 20 * std::sqrt(500.0 / 3 / 4), 1e-6));
  CHECK(all.lost.area_m2 == 0);
  const std::string words = in_words(change);
  INFO(words);
  CHECK(holds(words, "6.0 ha of survey area gained: 45,000 stems there"));
  CHECK(holds(words, "are no increase in density"));
}

TEST_CASE("a stratum that lost ground shares what is left") {
  TwoYears years = {meadow_in(2026, 140000), meadow_in(2027, 100000), {}, {}};
  for (int i = 0; i < 4; ++i) {
    years.then.plot("ANL1" + std::to_string(i), 2 * i);
    years.now.plot("ANL1" + std::to_string(i), i);
  }
  const SeasonChange change = years.change();
  const ChangeEstimate& all = everywhere(change);
  CHECK(all.shared_m2 == 100000);
  CHECK(all.lost.area_m2 == 40000);
  CHECK(near(all.lost.stems, 40000 * 3.0 / 20, 1e-6));
}

TEST_CASE("strata made anew: the ground is the same, the earlier strata weigh") {
  TwoYears years;
  years.now = MadeSeason(2027);
  years.now.site("ANL", 140000)
      .stratum("ANL|score=0-50|v2", "ANL", 90000)
      .stratum("ANL|score=50-100|v2", "ANL", 50000);
  for (int i = 0; i < 4; ++i) {
    years.then.plot("ANL1" + std::to_string(i), i);
    years.now.plot("ANL1" + std::to_string(i), 2 * i);
  }
  const SeasonChange change = years.change();
  const ChangeEstimate& all = everywhere(change);
  CHECK(all.paired.pairs == 4);
  CHECK(near(all.shared_m2, 140000, 1e-6));
  CHECK(near(all.gained.area_m2, 0, 1e-6));
  CHECK(near(all.lost.area_m2, 0, 1e-6));
  CHECK(flagged(years.flags, "strata made anew"));
}

TEST_CASE("a clear loss, and its ratio") {
  TwoYears years;
  for (int i = 0; i < 8; ++i) {
    years.then.plot("ANL1" + std::to_string(i), 10 + i % 3);
    years.now.plot("ANL1" + std::to_string(i), 5 + i % 4);
  }
  const SeasonChange change = years.change();
  const ChangeEstimate& all = everywhere(change);
  CHECK(all.change == ChangeWord::fewer);
  REQUIRE(all.ratio_limits);
  CHECK(all.ratio_limits->low < *all.ratio);
  CHECK(all.ratio_limits->high > *all.ratio);
  CHECK(all.ratio_limits->high < 1);
  // At Fieller's limits R the mean of y₂ − R y₁ is t times its standard error from 0: t of 0.95 with 7
  // degrees of freedom is 1.8946 (tables).
  for (const double r : {all.ratio_limits->low, all.ratio_limits->high}) {
    double mean = 0, squares = 0;
    for (int i = 0; i < 8; ++i) mean += (5 + i % 4 - r * (10 + i % 3)) / 8;
    for (int i = 0; i < 8; ++i) {
      const double off = 5 + i % 4 - r * (10 + i % 3) - mean;
      squares += off * off;
    }
    CHECK(near(std::abs(mean) / std::sqrt(squares / 7 / 8), 1.8946, 1e-4));
  }
  CHECK(holds(in_words(change), "8 pairs: fewer."));
}

TEST_CASE("a ratio has no limits where the earlier density may be nothing") {
  TwoYears years;
  const double then[4] = {0, 0, 0, 9};
  for (int i = 0; i < 4; ++i) {
    years.then.plot("ANL1" + std::to_string(i), then[i]);
    years.now.plot("ANL1" + std::to_string(i), i);
  }
  const ChangeEstimate all = everywhere(years.change());
  CHECK(all.ratio);
  CHECK_FALSE(all.ratio_limits);
}

TEST_CASE("nothing found, the same everywhere, a single pair") {
  SUBCASE("none in either season") {
    TwoYears years;
    for (const char* name : {"ANL01", "ANL02", "ANL03"}) {
      years.then.plot(name, 0);
      years.now.plot(name, 0);
    }
    const SeasonChange change = years.change();
    CHECK_FALSE(everywhere(change).limits);
    CHECK_FALSE(everywhere(change).needed);
    CHECK(holds(in_words(change), "none found on these plots in either season"));
    CHECK_FALSE(holds(in_words(change), "absent"));
  }
  SUBCASE("one stem more on every plot") {
    TwoYears years;
    for (const char* name : {"ANL01", "ANL02", "ANL03"}) {
      years.then.plot(name, 3);
      years.now.plot(name, 4);
    }
    const SeasonChange change = years.change();
    CHECK_FALSE(everywhere(change).limits);
    CHECK(everywhere(change).change == ChangeWord::not_known);
    CHECK(holds(in_words(change), "the difference is the same on every plot"));
  }
  SUBCASE("a single pair") {
    TwoYears years;
    years.then.plot("ANL01", 3);
    years.now.plot("ANL01", 4);
    const SeasonChange change = years.change();
    CHECK_FALSE(everywhere(change).paired.standard_error);
    CHECK(holds(in_words(change), "one pair: no limits"));
    CHECK(holds(in_words(change), "1 pair: not known."));
  }
  SUBCASE("no pair at all") {
    TwoYears years;
    years.then.plot("ANL01", 3);
    years.now.plot("ANL02", 4);
    CHECK(holds(in_words(years.change()), "no plot was counted in both seasons"));
  }
}

TEST_CASE("a stratum with a single pair takes the spread of the others") {
  TwoYears years;
  const std::string poor = "ANL|score=0-25|v1";
  years.then.stratum(poor, "ANL", 140000);
  years.now.stratum(poor, "ANL", 140000);
  const double now[4] = {3, 5, 4, 8};
  for (int i = 0; i < 4; ++i) {
    years.then.plot("ANL1" + std::to_string(i), 4);
    years.now.plot("ANL1" + std::to_string(i), now[i]);
  }
  years.then.plot("ANL20", 1, 20, poor);
  years.now.plot("ANL20", 0, 20, poor);
  const SeasonChange change = years.change();
  const ChangeEstimate& all = everywhere(change);
  CHECK(all.paired.alone == 1);
  // Differences −1, 1, 0, 4: variance 14/3; weights ½ each, over 4 plots and over 1.
  CHECK(near(20 * *all.paired.standard_error, std::sqrt(0.25 * 14 / 3 * (0.25 + 1)), 1e-12));
  CHECK(near(all.paired.degrees_freedom, 3, 1e-9));
  CHECK(holds(in_words(change), "one stratum with a single pair is taken to vary as the others do"));
}

}  // namespace change_test
