// Places with one plot, with plots that are all alike, and with nothing found.
#include <doctest/doctest.h>

#include <cmath>

#include "made_season.hpp"
#include "rows_of.hpp"

namespace few_plots_test {

using namespace swardline;

namespace {

/// Two sites over two strata that belong to neither, so each site is a domain; ten plots and one missing.
MadeSeason two_sites() {
  MadeSeason made;
  made.site("ANL", 14);
  made.site("SKP", 23);
  made.stratum("all|score=50-100|v1", "all", 12, 7);
  made.plots({4, 9, 0, 2, 7, 0});
  made.missing("mown").site = "SKP";
  made.stratum("all|score=0-50|v1", "all", 25, 4);
  made.plots({0, 1, 0, 3});
  std::size_t i = 0;
  for (EvaluatedUnit& unit : made.season.units) unit.site = i++ % 2 == 0 ? "ANL" : "SKP";
  return made;
}

}  // namespace

TEST_CASE("a domain's accessible total has a spread and degrees of freedom of its own") {
  const MadeSeason made = two_sites();
  const Estimates all = estimate_season(made.season, {});
  const EstimateRow& land = row(all, "ANL", "", "total stems on accessible land");
  // By hand: 14 ha over the ground that ANL's plots stand for, shares 6/7 and 1, and the variance of the
  // sum of w (share y - r a) inside, 0 outside.
  const double w[2] = {12e4 / 120, 25e4 / 80}, share[2] = {6.0 / 7, 1};
  double n = 0, m = 0;
  std::size_t k = 0;
  std::vector<double> y[2], in[2];
  for (const EvaluatedUnit& unit : made.season.units) {
    if (!unit.evaluated) continue;
    const std::size_t h = k++ < 6 ? 0 : 1;
    y[h].push_back(unit.counts[0].sure);
    in[h].push_back(unit.site == "ANL" ? 1 : 0);
    n += in[h].back() * share[h] * w[h] * y[h].back();
    m += in[h].back() * w[h] * 20;
  }
  CHECK(land.value == doctest::Approx(n / m * 14e4));
  double variance = 0, below = 0;
  for (std::size_t h = 0; h < 2; ++h) {
    double mean = 0, squares = 0;
    const auto count = double(y[h].size());
    const auto u = [&](std::size_t i) { return in[h][i] * w[h] * (share[h] * y[h][i] - n / m * 20); };
    for (std::size_t i = 0; i < y[h].size(); ++i) mean += u(i) / count;
    for (std::size_t i = 0; i < y[h].size(); ++i) squares += std::pow(u(i) - mean, 2);
    const double part = count / (count - 1) * squares;
    variance += part;
    below += part * part / (count - 1);
  }
  CHECK(*land.standard_error == doctest::Approx(std::sqrt(variance) / m * 14e4));
  CHECK(*land.degrees_freedom == doctest::Approx(variance * variance / below));
}

TEST_CASE("a domain of one plot that holds what its ratio says has no spread and no limits") {
  MadeSeason made;
  made.site("ANL", 14);
  made.site("SKP", 23);
  made.stratum("all|score=0-100|v1", "all", 37, 4);
  made.plots({4, 9, 5});
  made.missing("mown").site = "SKP";
  made.season.units[0].site = "ANL";
  for (std::size_t i = 1; i < 4; ++i) made.season.units[i].site = "SKP";
  const Estimates all = estimate_season(made.season, {}, {{}, true, 1});
  const EstimateRow& land = row(all, "ANL", "", "total stems on accessible land");
  CHECK(land.value == doctest::Approx(0.75 * 4 / 20.0 * 14e4));
  CHECK_FALSE(land.standard_error);
  CHECK_FALSE(land.low);
}

TEST_CASE("strata merged for the spread are merged for that of the accessible total too") {
  MadeSeason made = MadeSeason::quill_prairie();
  made.stratum("QPR|score=25-50|v1", "QPR", 10, 2);
  made.plot(4);
  made.missing("mown");
  const Estimates all = estimate_season(made.season, {});
  const EstimateRow& land = row(all, "QPR", "", "total stems on accessible land");
  CHECK(land.value == doctest::Approx(57428.57 + 10'000).epsilon(1e-6));
  // By hand, as of the total (season_test.cpp), the single plot's contribution times its share of one half.
  const double r = 26'000 / 400'000.0;
  std::vector<double> u = {3000 * (2 - 20 * r), 0.5 * 5000 * (4 - 20 * r)};
  for (int i = 0; i < 4; ++i) u.push_back(3000 * (0 - 20 * r));
  double mean = 0, squares = 0;
  for (const double one : u) mean += one / 6;
  for (const double one : u) squares += (one - mean) * (one - mean);
  const double high = std::pow(1805.97111 * 12, 2), low = 6.0 / 5 * squares;
  CHECK(std::pow(*land.standard_error, 2) == doctest::Approx(high + low).epsilon(1e-6));
  CHECK(*land.degrees_freedom ==
        doctest::Approx(std::pow(high + low, 2) / (high * high / 5 + low * low / 5)).epsilon(1e-6));
}

TEST_CASE("plots that hold alike have no standard error, whatever rounding leaves") {
  for (const double area : {20.0, 17.3, 9.1}) {
    CAPTURE(area);
    MadeSeason made;
    made.site("QPR", 1.7);
    made.stratum("QPR|all|v1", "QPR", 1.7, 3);
    made.plot(7, area);
    made.plot(7, area);
    made.plot(14, 2 * area);
    const Estimates all = estimate_season(made.season, {});
    for (const char* measure : {"stems per ha", "total stems"}) {
      CHECK_FALSE(row(all, "QPR", "", measure).standard_error);
      CHECK_FALSE(row(all, "QPR", "", measure).low);
    }
    CHECK(has_note(all, "all plots hold alike: no spread, so no standard error is given"));
    CHECK_FALSE(has_note(all, "limits too narrow"));
  }
}

TEST_CASE("symmetric limits are left out where a total has no spread") {
  // Three plots with as many stems, one on twice the ground. Ground that is left out hides what of the site
  // they stand for: the total is a sum of like plots, the density is not of like ones.
  MadeSeason made;
  made.site("ANL", 14);
  made.stratum("all|score=0-100|v1", "all", 14, 3);
  made.plots({3, 3});
  made.plot(3, 40);
  for (EvaluatedUnit& unit : made.season.units) unit.site = "ANL";
  made.stratum("all|excluded|v1", "all", 3, 0, "excluded");
  const Estimates all = estimate_season(made.season, {}, {{}, true, 1});
  CHECK(row(all, "ANL", "", "stems per ha").standard_error);
  CHECK_FALSE(row(all, "ANL", "", "total stems").standard_error);
  for (const EstimateRow& one : all.rows)
    if (one.where == "ANL" && one.limits_kind == "symmetric") CHECK(one.measure == "stems per ha");
}

TEST_CASE("none found in a domain of known ground: by the square metre searched there") {
  MadeSeason made;
  made.site("ANL", 10);
  made.site("SKP", 20);
  made.stratum("all|score=0-100|v1", "all", 30, 5);
  made.plots({0, 0, 0, 0, 0});
  for (std::size_t i = 0; i < 5; ++i) made.season.units[i].site = i < 2 ? "ANL" : "SKP";
  const Estimates all = estimate_season(made.season, {});
  // 40 m² searched at ANL: -ln(0.05) / 40 m² = 749 a hectare (Garwood 1936), on 10 ha.
  CHECK(*row(all, "ANL", "", "stems per ha").high == doctest::Approx(748.93).epsilon(1e-4));
  CHECK(*row(all, "ANL", "", "total stems").high == doctest::Approx(7489.3).epsilon(1e-4));
}

}  // namespace few_plots_test
