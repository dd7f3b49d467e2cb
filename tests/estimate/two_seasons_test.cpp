// Sampling on two occasions.
#include <doctest/doctest.h>

#include <cmath>

#include "made_seasons.hpp"
#include "swardline/base/random.hpp"
#include "swardline/estimate/change_ground.hpp"
#include "swardline/estimate/change_paired.hpp"

namespace two_seasons_test {

using namespace swardline;
using namespace swardline::testing;
using namespace swardline::change_parts;

TEST_CASE("the composite has the variances of Cochran's formulas") {
  // Cochran 1977, ch. 12 (from Patterson 1950): with S² in both seasons, n plots in each, u of them replaced,
  // and correlation ρ, the least variance of the later mean is S²(n − uρ²)/(n² − u²ρ²), and of the change
  // 2S²(1 − ρ)/(n − uρ). From memory; the second follows from the two equations that weigh by information.
  for (const double rho : {0.0, 0.5, 0.8, 0.95})
    for (const int u : {0, 5, 10, 15}) {
      CAPTURE(rho);
      CAPTURE(u);
      const double s2 = 9, n = 20;
      const auto means = two_seasons({3, 3, rho, 20 - u, u, u, 5, 6, 4, 7});
      REQUIRE(means);
      CHECK(near(means->variance_now, s2 * (n - u * rho * rho) / (n * n - u * u * rho * rho), 1e-12));
      CHECK(near(means->variance_then, means->variance_now, 1e-12));
      CHECK(near(means->variance_change, 2 * s2 * (1 - rho) / (n - u * rho), 1e-12));
    }
}

TEST_CASE("weights by variance: a worked case") {
  // No correlation: each season is its own weighted mean, (12·5 + 8·4)/20 and (12·6 + 8·7)/20.
  const auto plain = two_seasons({3, 3, 0, 12, 8, 8, 5, 6, 4, 7});
  REQUIRE(plain);
  CHECK(near(plain->then, (12 * 5 + 8 * 4) / 20.0, 1e-12));
  CHECK(near(plain->change, (12 * 6 + 8 * 7) / 20.0 - (12 * 5 + 8 * 4) / 20.0, 1e-12));
  // ρ = 0.8, S = 3, 12 matched and 8 + 8 not: the change weighs matched : others as 1/v with
  // v = 2·9·0.2/12 = 0.3 and 2·9/8 = 2.25: (1/0.3 + 3/2.25)/(1/0.3 + 1/2.25).
  const auto tied = two_seasons({3, 3, 0.8, 12, 8, 8, 5, 6, 4, 7});
  REQUIRE(tied);
  CHECK(near(tied->change, (1 / 0.3 + 3 / 2.25) / (1 / 0.3 + 1 / 2.25), 1e-12));
  CHECK(near(tied->variance_change, 1 / (1 / 0.3 + 1 / 2.25), 1e-12));
  CHECK(near(tied->variance_matched, 0.3, 1e-12));
}

TEST_CASE("new plots alone help through the correlation, and one season can be missing") {
  const auto fresh = two_seasons({3, 3, 0.5, 10, 0, 10, 5, 6, 0, 8});
  REQUIRE(fresh);
  // Least squares by hand: information of the pairs 10/9/(1 − 0.25)·[1 −0.5; −0.5 1], of the new plots 10/9.
  const double k = 10.0 / 9 / 0.75;
  const double a = k, b = -0.5 * k, d = k + 10.0 / 9, r = k * (5 - 0.5 * 6),
               s = k * (6 - 0.5 * 5) + 10.0 / 9 * 8;
  const double det = a * d - b * b;
  CHECK(near(fresh->then, (d * r - b * s) / det, 1e-12));
  CHECK(near(fresh->now, (a * s - b * r) / det, 1e-12));
  CHECK(near(fresh->variance_change, (a + d + 2 * b) / det, 1e-12));
  CHECK_FALSE(two_seasons({3, 3, 0, 0, 5, 0, 0, 0, 1, 0}));
  const auto apart = two_seasons({3, 2, 0, 0, 5, 4, 0, 0, 1, 3});
  REQUIRE(apart);
  CHECK(near(apart->variance_change, 9.0 / 5 + 4.0 / 4, 1e-12));
  const auto still = two_seasons({0, 0, 0, 4, 0, 0, 5, 5, 0, 0});
  REQUIRE(still);
  CHECK(still->change == 0);
  CHECK(still->variance_change == 0);
}

TEST_CASE("composite limits hold the true change as often as they say") {
  // Plants per plot normal with ρ = 0.8 and no change; 12 pairs, 8 of each season without a partner.
  const RandomKey key(2027, "composite");
  constexpr int seasons = 600;
  const Domain domain{"all sites", {}, {0}, {}, DomainCut::whole_strata};
  TwoGrounds grounds;
  grounds.ground = {{"ANL", "ANL", 1e5, 1e5, 1e5, 1}};
  int within = 0, pairs_within = 0, told = 0;
  double composite_variance = 0, paired_variance = 0;
  for (int k = 0; k < seasons; ++k) {
    RandomStream stream(key.under(std::uint64_t(k)));
    const auto normal = [&] {  // sum of twelve uniforms: near enough, and bounded
      double sum = -6;
      for (int i = 0; i < 12; ++i) sum += stream.uniform();
      return sum;
    };
    StratumCounted counted;
    std::vector<PairedCount> pairs;
    for (int i = 0; i < 20; ++i) {
      const double place = 20 + 4 * std::sqrt(0.8) * normal();
      const double a = place + 4 * std::sqrt(0.2) * normal(), b = place + 4 * std::sqrt(0.2) * normal();
      const SeasonPlot first{0, 0, 1, a, 20}, second{0, 0, 1, i < 12 ? b : 20 + 4 * normal(), 20};
      if (i < 12) {
        counted.pairs.push_back({first, second, 0});
        pairs.push_back({0, true, 1, a, 20, b, 20});
      } else {
        counted.only_then.push_back(first);
        counted.only_now.push_back(second);
      }
    }
    const PairedChange paired = paired_change(pairs, {1e5});
    std::string why;
    // Of every draw, those too in which it gains nothing and is not told.
    const auto composite = composite_of({counted}, domain, grounds, 0.90, paired, why);
    REQUIRE(composite);
    CHECK(composite->only_then == 8);
    ++told;
    within += composite->limits.low <= 0 && composite->limits.high >= 0 ? 1 : 0;
    const LowHigh limits =
        symmetric_limits(paired.change, *paired.standard_error, paired.degrees_freedom, 0.90);
    pairs_within += limits.low <= 0 && limits.high >= 0 ? 1 : 0;
    composite_variance += composite->change * composite->change;
    paired_variance += paired.change * paired.change;
  }
  MESSAGE("composite: ", 100.0 * within / told, " % of 90 % limits hold; pairs alone ",
          100.0 * pairs_within / told, " %; variance ", composite_variance / paired_variance,
          " of the pairs' (0.88 with known spreads, 0.94 over 40,000 draws with those of the plots)");
  CHECK(within > 0.86 * told);
  CHECK(within < 0.96 * told);
  CHECK(composite_variance < paired_variance);
}

}  // namespace two_seasons_test
