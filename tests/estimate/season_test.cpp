// A season's estimates: strata, sites, attributes, edge rules, chances, and ground of which nothing is known.
#include <doctest/doctest.h>

#include <cmath>

#include "made_season.hpp"
#include "rows_of.hpp"
#include "swardline/base/error.hpp"
#include "swardline/estimate/rounding.hpp"

namespace season_test {

using namespace swardline;

TEST_CASE("Quill Prairie with a high and a low stratum and a plot at the edge") {
  // The worked example of the job's brief (story 8).
  const MadeSeason made = MadeSeason::quill_prairie();
  const Estimates all = estimate_season(made.season, {}, {{}, true, 1});
  CHECK(said_estimate(row(all, "QPR", "QPR|score=50-75|v1", "stems per ha").value, 1806) == "4,286");
  CHECK(row(all, "QPR", "QPR|score=0-25|v1", "stems per ha").value == doctest::Approx(200));
  const EstimateRow& density = row(all, "QPR", "", "stems per ha");
  CHECK(said_estimate(density.value, *density.standard_error) == "1,367");
  CHECK(said_error(*density.standard_error) == "535");
  CHECK(*density.degrees_freedom == doctest::Approx(5.8).epsilon(0.01));
  CHECK(density.limits_kind == "log-based");
  CHECK(said_limits({*density.low, *density.high}, false, *density.standard_error) == "650–2,860");
  CHECK(density.plots == 11);
  CHECK(density.confidence_percent == doctest::Approx(90));
  const EstimateRow& total = row(all, "QPR", "", "total stems");
  CHECK(said_estimate(total.value, *total.standard_error) == "57,400");
  CHECK(said_error(*total.standard_error) == "22,500");
  const EstimateRow* symmetric = nullptr;
  for (const EstimateRow& one : all.rows)
    if (one.where == "QPR" && one.stratum.empty() && one.measure == "stems per ha" &&
        one.limits_kind == "symmetric")
      symmetric = &one;
  REQUIRE(symmetric != nullptr);
  CHECK(said_limits({*symmetric->low, *symmetric->high}, true, *symmetric->standard_error) == "320–2,415");
  // Not the plain average over plots, 2,358 a hectare, which has the high stratum for half of the ground.
  CHECK(density.value < 0.9 * (50.0 / 212 * 1e4));
  CHECK(has_note(all, "limits too narrow: 5 occupied plots, fewer than ten, and one plot holds"));
  // Beside it, the neighbourhood variance, named.
  const EstimateRow& near = row(all, "QPR", "", "stems per ha", "neighbourhood variance");
  CHECK(near.value == density.value);
  CHECK(near.standard_error != density.standard_error);
  CHECK(near.source.find("Stevens & Olsen 2003") != std::string::npos);
}

TEST_CASE("a species that thirty plots did not hold") {
  MadeSeason made;
  made.site("QPR", 10);
  made.stratum("QPR|all|v1", "QPR", 10, 30);
  made.plots(std::vector<double>(30, 0.0), 10);
  const Estimates all = estimate_season(made.season, {});
  const EstimateRow& density = row(all, "QPR", "", "stems per ha");
  CHECK(density.value == 0);
  CHECK_FALSE(density.standard_error);
  CHECK(*density.low == 0);
  CHECK(*density.high == doctest::Approx(99.86).epsilon(1e-4));
  CHECK(density.confidence_percent == doctest::Approx(95));
  CHECK(*row(all, "QPR", "", "occupied share").high == doctest::Approx(0.095).epsilon(1e-3));
  CHECK(has_note(
      all,
      "none found in 30 plots; up to 9.5 % of plots could hold it; under 100/ha if scattered at random, "
      "possibly more if clumped"));
}

TEST_CASE("a site is the sum of its strata, all sites of their sites, geodesic areas throughout") {
  MadeSeason made = MadeSeason::quill_prairie();
  made.site("CND", 2.5, {{"habitat", "glade"}});
  made.season.sites[0].attributes["habitat"] = "prairie";
  made.stratum("CND|score=75-100|v1", "CND", 2.5, 4);
  made.plots({5, 0, 7, 2});
  made.season.strata.back().geodesic_ratio = 1.25;
  EstimateSpec spec;
  spec.by = {"habitat"};
  const Estimates all = estimate_season(made.season, spec);
  const double quill = row(all, "QPR", "", "total stems").value,
               rock = row(all, "CND", "", "total stems").value;
  CHECK(rock == doctest::Approx(14.0 / 80 * 2.5e4 * 1.25));
  CHECK(row(all, "all sites", "", "total stems").value == doctest::Approx(quill + rock));
  CHECK(row(all, "all sites", "", "stems per ha").value == doctest::Approx((quill + rock) / (42 + 3.125)));
  CHECK(row(all, "habitat = glade", "", "total stems").value == doctest::Approx(rock));
  CHECK(row(all, "habitat = prairie", "", "total stems").value == doctest::Approx(quill));
  const double v = std::pow(*row(all, "QPR", "", "total stems").standard_error, 2) +
                   std::pow(*row(all, "CND", "", "total stems").standard_error, 2);
  CHECK(std::pow(*row(all, "all sites", "", "total stems").standard_error, 2) == doctest::Approx(v));
}

TEST_CASE("excluded ground, ground without a plot and ground that could not be counted are told apart") {
  MadeSeason made = MadeSeason::quill_prairie();
  made.stratum("QPR|excluded|v1", "QPR", 1.5, 0, "excluded");
  made.stratum("QPR|no-score|v1", "QPR", 2, 4, "no score");
  made.missing("no permission");
  made.missing("under water");
  made.season.strata[0].planned = 8;
  // Two of the high stratum's eight plots: a quarter of its 12 ha.
  for (int i = 0; i < 2; ++i) {
    EvaluatedUnit& unit = made.missing("not reached");
    unit.stratum = made.season.strata[0].id;
  }
  const Estimates all = estimate_season(made.season, {});
  REQUIRE(all.not_estimated.size() == 2);
  CHECK(all.not_estimated[0].reason == "excluded for every scored species");
  CHECK(all.not_estimated[0].m2 == doctest::Approx(1.5e4));
  CHECK(all.not_estimated[1].reason == "no plot counted (no permission: 1, under water: 1)");
  CHECK(all.not_estimated[1].m2 == doctest::Approx(2e4));
  // The estimate is of the two strata with counts.
  CHECK(row(all, "QPR", "", "stems per ha").value == doctest::Approx(1367.35).epsilon(1e-5));
  const auto missing = std::find_if(all.missing.begin(), all.missing.end(),
                                    [](const MissingGround& one) { return one.where == "QPR"; });
  REQUIRE(missing != all.missing.end());
  CHECK(missing->reason == "not reached");
  CHECK(missing->plots == 2);
  CHECK(missing->m2 == doctest::Approx(3e4));
  CHECK(missing->share == doctest::Approx(3.0 / 42));
  CHECK(row(all, "QPR", "", "total stems on accessible land").value ==
        doctest::Approx(4285.714 * 9 + 200 * 30).epsilon(1e-5));
  CHECK_FALSE(has_note(all, "accessible land"));
}

TEST_CASE("more than a third of the ground not counted is a headline") {
  MadeSeason made = MadeSeason::quill_prairie();
  for (int i = 0; i < 4; ++i) made.missing("no permission");  // four of nine in 30 ha
  const Estimates none = estimate_season(made.season, {});
  CHECK_FALSE(has_note(none, "accessible land"));  // 13.3 of 42 ha
  made.missing("no permission");
  const Estimates all = estimate_season(made.season, {});
  CHECK(
      has_note(all,
               "36 % of the ground could not be counted (no permission: 5 plots, 15 ha): estimates speak of "
               "the accessible land"));
  const auto headline = std::find_if(all.notes.begin(), all.notes.end(),
                                     [](const EstimateNote& note) { return note.needs_person; });
  CHECK(headline != all.notes.end());
}

TEST_CASE("a stratum of one plot lends its estimate, and its spread comes from its neighbour") {
  MadeSeason made = MadeSeason::quill_prairie();
  made.stratum("QPR|score=25-50|v1", "QPR", 10, 1);
  made.plot(4);
  const Estimates all = estimate_season(made.season, {});
  const EstimateRow& single = row(all, "QPR", "QPR|score=25-50|v1", "stems per ha");
  CHECK(single.value == doctest::Approx(2000));
  CHECK_FALSE(single.standard_error);
  CHECK_FALSE(single.low);
  CHECK(has_note(all, "one plot: no spread can be computed, so no standard error and no limits are given"));
  CHECK(has_note(all, "QPR|score=25-50|v1 with QPR|score=0-25|v1"));
  const EstimateRow& site = row(all, "QPR", "", "total stems");
  CHECK(site.value == doctest::Approx(57428.57 + 20'000).epsilon(1e-6));
  // By hand: low stratum w = 3000, the single one 5000; r = (6000 + 20000) / (400000).
  const double r = 26'000 / 400'000.0;
  std::vector<double> u = {3000 * (2 - 20 * r), 5000 * (4 - 20 * r)};
  for (int i = 0; i < 4; ++i) u.push_back(3000 * (0 - 20 * r));
  double mean = 0, squares = 0;
  for (const double one : u) mean += one / 6;
  for (const double one : u) squares += (one - mean) * (one - mean);
  const double high = std::pow(1805.97111 * 12, 2);
  CHECK(std::pow(*site.standard_error, 2) == doctest::Approx(high + 6.0 / 5 * squares).epsilon(1e-6));
}

TEST_CASE("one plot alone has an estimate without limits") {
  MadeSeason made;
  made.site("FLG", 0.11);
  made.stratum("FLG|all|v1", "FLG", 0.11, 1);
  made.plot(6);
  const Estimates all = estimate_season(made.season, {});
  CHECK(row(all, "FLG", "", "stems per ha").value == doctest::Approx(3000));
  CHECK_FALSE(row(all, "FLG", "", "stems per ha").standard_error);
  CHECK(row(all, "FLG", "", "stems per ha").limits_kind.empty());
  // Two sites of one plot each are merged for the spread over all sites.
  made.site("MRB", 4);
  made.stratum("MRB|all|v1", "MRB", 4, 1);
  made.plot(1);
  const Estimates both = estimate_season(made.season, {});
  CHECK(row(both, "all sites", "", "total stems").standard_error);
  CHECK_FALSE(row(both, "MRB", "", "total stems").standard_error);
  CHECK(has_note(both, "MRB|all|v1 with FLG|all|v1"));
}

TEST_CASE("uncertain names are estimated both ways") {
  MadeSeason made = MadeSeason::quill_prairie();
  made.season.units[1].counts[0].not_certain = 6;
  made.season.units[6].counts[0].not_certain = 4;
  const Estimates all = estimate_season(made.season, {});
  CHECK(row(all, "QPR", "", "stems per ha").value == doctest::Approx(1367.347).epsilon(1e-6));
  const double with = (54.0 / 112 * 12e4 + 6.0 / 100 * 30e4) / 42;
  CHECK(row(all, "QPR", "", "stems per ha, sure + not certain").value == doctest::Approx(with));
  CHECK(row(all, "QPR", "", "total stems, sure + not certain").value == doctest::Approx(with * 42));
  CHECK(row(all, "QPR", "", "occupied share").value == doctest::Approx((12 * 4.0 / 6 + 30 * 1.0 / 5) / 42));
  CHECK(row(all, "QPR", "", "occupied share, sure + not certain").value ==
        doctest::Approx((12 * 4.0 / 6 + 30 * 2.0 / 5) / 42));
  // Only uncertain stems: none found for sure.
  MadeSeason only;
  only.site("QPR", 1);
  only.stratum("QPR|all|v1", "QPR", 1, 2);
  only.plot(0).counts[0].not_certain = 3;
  only.plot(0);
  const Estimates doubtful = estimate_season(only.season, {});
  CHECK(row(doubtful, "QPR", "", "stems per ha").limits_kind == "nothing found, if scattered at random");
  CHECK(row(doubtful, "QPR", "", "stems per ha, sure + not certain").value == doctest::Approx(750));
}

TEST_CASE("a site in strata of several sites is a domain with the same weights") {
  MadeSeason made;
  made.site("ANL", 14);
  made.site("SKP", 23);
  made.stratum("all|score=50-100|v1", "all", 12, 6);
  made.plots({4, 9, 0, 2, 7, 0});
  made.stratum("all|score=0-50|v1", "all", 25, 5);
  made.plots({0, 1, 0, 0, 3});
  for (std::size_t i = 0; i < made.season.units.size(); ++i)
    made.season.units[i].site = i % 2 == 0 ? "ANL" : "SKP";
  const Estimates all = estimate_season(made.season, {});
  // Wholly sampled ground: the site's own area is known.
  const double high = 12e4 / 120, low = 25e4 / 100;  // m² that a searched m² stands for
  double n = 0, m = 0;
  for (std::size_t i = 0; i < made.season.units.size(); ++i) {
    if (made.season.units[i].site != "ANL") continue;
    const double w = i < 6 ? high : low;
    n += w * made.season.units[i].counts[0].sure;
    m += w * 20;
  }
  CHECK(row(all, "ANL", "", "stems per ha").value == doctest::Approx(n / m * 1e4));
  CHECK(row(all, "ANL", "", "total stems").value == doctest::Approx(n / m * 14e4));
  CHECK(row(all, "ANL", "", "stems per ha").estimator.find("domain") != std::string::npos);
  CHECK(row(all, "ANL", "", "stems per ha").standard_error);
  // With ground left out somewhere the plots alone tell how much of it is ANL's, and totals add up.
  made.stratum("all|excluded|v1", "all", 3, 0, "excluded");
  const Estimates some = estimate_season(made.season, {});
  CHECK(row(some, "ANL", "", "total stems").value + row(some, "SKP", "", "total stems").value ==
        doctest::Approx(row(some, "all sites", "", "total stems").value));
}

TEST_CASE("with a grown frame the frame makes the total and the ground the density") {
  MadeSeason made;
  made.season.edge = EdgeRule::grown_frame;
  made.site("CND", 2.5);
  made.stratum("CND|all|v1", "CND", 2.5, 4);
  made.season.strata.back().frame_m2 = 3.1e4;
  made.plots({5, 0, 7, 2});
  const Estimates all = estimate_season(made.season, {});
  CHECK(row(all, "CND", "", "total stems").value == doctest::Approx(14 * 3.1e4 / (4 * 20)));
  CHECK(row(all, "CND", "", "stems per ha").value == doctest::Approx(14 * 3.1e4 / 80 / 2.5));
}

TEST_CASE("with an inner margin nothing is said of the margin") {
  MadeSeason made;
  made.season.edge = EdgeRule::inner_margin;
  made.site("CND", 2.5);
  made.stratum("CND|all|v1", "CND", 2.5, 4);
  made.season.strata.back().frame_m2 = 1.7e4;
  made.plots({5, 0, 7, 2});
  const Estimates all = estimate_season(made.season, {});
  CHECK(row(all, "CND", "", "total stems").value == doctest::Approx(14.0 / 80 * 1.7e4));
  CHECK(row(all, "CND", "", "stems per ha").value == doctest::Approx(14.0 / 80 * 1e4));
  REQUIRE(all.not_estimated.size() == 1);
  CHECK(all.not_estimated[0].m2 == doctest::Approx(0.8e4));
}

TEST_CASE("unequal chances: Hájek's ratio leads, Horvitz and Thompson's total stands beside") {
  MadeSeason made;
  made.season.weighted = true;
  made.site("QPR", 1);
  made.stratum("QPR|all|v1", "QPR", 1, 4);
  const std::vector<double> stems = {8, 4, 1, 0}, chances = {8e-4, 4e-4, 2e-4, 2e-4};
  double y = 0, a = 0, total = 0;
  for (std::size_t i = 0; i < 4; ++i) {
    made.plot(stems[i]).chance_per_m2 = chances[i];
    y += stems[i] / chances[i];
    a += 20 / chances[i];
    total += stems[i] / (chances[i] * 20);
  }
  const Estimates all = estimate_season(made.season, {});
  CHECK(row(all, "QPR", "", "stems per ha").value == doctest::Approx(y / a * 1e4));
  CHECK(row(all, "QPR", "", "total stems", "Hájek").value == doctest::Approx(y / a * 1e4));
  CHECK(row(all, "QPR", "", "total stems", "Horvitz").value == doctest::Approx(total));
}

TEST_CASE("transects are the units, whatever quadrats lie on them") {
  MadeSeason made;
  made.season.unit = SampleUnit::transect;
  made.site("QPR", 40);
  made.stratum("QPR|all|v1", "QPR", 40, 3);
  made.plot(12, 10);
  made.plot(3, 10);
  made.plot(9, 8);
  const Estimates all = estimate_season(made.season, {});
  const EstimateRow& density = row(all, "QPR", "", "stems per ha");
  CHECK(density.plots == 3);
  CHECK(*density.degrees_freedom == doctest::Approx(2));
  CHECK(density.value == doctest::Approx(24.0 / 28 * 1e4));
  CHECK(density.estimator.find("the transect as unit") != std::string::npos);
  CHECK(all.unit == "transects");
}

TEST_CASE("few occupied plots among many get wider limits than log-based ones") {
  MadeSeason made;
  made.site("DSK", 30);
  made.stratum("DSK|all|v1", "DSK", 30, 40);
  std::vector<double> stems(40, 0);
  stems[3] = 5;
  stems[20] = 1;
  stems[31] = 2;
  made.plots(stems);
  const Estimates all = estimate_season(made.season, {});
  const EstimateRow& density = row(all, "DSK", "", "stems per ha");
  CHECK(density.limits_kind == "negative binomial likelihood");
  const LowHigh log = log_based_limits(density.value, *density.standard_error, *density.degrees_freedom, 0.9);
  CHECK(*density.high > log.high);
  CHECK(has_note(all, "limits rough: 3 occupied plots"));
  CHECK_FALSE(has_note(all, "limits too narrow"));
  // One plot alone: its weight is all that is known of the clumps.
  stems[20] = stems[31] = 0;
  MadeSeason one;
  one.site("DSK", 30);
  one.stratum("DSK|all|v1", "DSK", 30, 40);
  one.plots(stems);
  const Estimates single = estimate_season(one.season, {});
  const EstimateRow& lone = row(single, "DSK", "", "stems per ha");
  CHECK(lone.limits_kind == "weighted events");
  CHECK(*lone.low / lone.value == doctest::Approx(0.0513).epsilon(0.01));  // Garwood's for one event
  CHECK(*lone.high / lone.value == doctest::Approx(4.744).epsilon(0.01));
}

TEST_CASE("species that were not looked for are said, and rows that are kept out are no zeros") {
  MadeSeason made({"PTUB", "PDIG"});
  made.site("QPR", 10);
  made.stratum("QPR|all|v1", "QPR", 10, 4);
  for (int i = 0; i < 4; ++i) made.plot(2 + i).counts[1] = {double(i), 0, 20, i != 3};
  made.site("DSK", 30);
  made.stratum("DSK|all|v1", "DSK", 30, 2);
  made.plots({0, 1});
  const Estimates all = estimate_season(made.season, {});
  CHECK(row(all, "QPR", "", "stems per ha", "", "PDIG").plots == 3);
  CHECK(row(all, "QPR", "", "stems per ha", "", "PDIG").value == doctest::Approx(500));
  CHECK(row(all, "all sites", "", "total stems", "", "PDIG").value == doctest::Approx(5000));
  CHECK(all.row("DSK", "", "PDIG", "stems per ha") == nullptr);
  REQUIRE(all.not_estimated.size() == 1);
  CHECK(all.not_estimated[0].species == "PDIG");
  CHECK(all.not_estimated[0].where == "DSK");
  CHECK(all.not_estimated[0].reason == "not searched for");
  REQUIRE(all.missing.size() == 1);
  CHECK(all.missing[0].reason == "rows missing or kept out");
  CHECK(all.missing[0].m2 == doctest::Approx(2.5e4));
}

TEST_CASE("second counts change nothing and have rows of their own") {
  MadeSeason made = MadeSeason::quill_prairie();
  made.season.recounts = {
      {1, 0, 14, 17, "041", "088"}, {4, 0, 22, 20, "041", "088"}, {5, 0, 9, 9, "041", "088"}};
  const Estimates all = estimate_season(made.season, {});
  CHECK(row(all, "all sites", "", "recount ratio").value == doctest::Approx(46.0 / 45));
  CHECK(row(all, "all sites", "", "recount ratio").plots == 3);
  CHECK(row(all, "all sites", "", "occupied plots by two observers").value == doctest::Approx(3));
  CHECK(row(all, "QPR", "", "stems per ha").value == doctest::Approx(1367.347).epsilon(1e-6));
}

TEST_CASE("results do not depend on threads, and species can be picked") {
  MadeSeason made({"PTUB", "PDIG", "PCOB"});
  made.site("QPR", 10);
  made.stratum("QPR|all|v1", "QPR", 10, 6);
  for (int i = 0; i < 6; ++i) {
    EvaluatedUnit& unit = made.plot(i);
    unit.counts[1] = {double(i * i % 5), 0, 20, true};
    unit.counts[2] = {double(6 - i), 1, 20, true};
  }
  CHECK(estimates_csv(estimate_season(made.season, {}, {{}, false, 1})) ==
        estimates_csv(estimate_season(made.season, {}, {{}, false, 3})));
  const Estimates one = estimate_season(made.season, {}, {{"PDIG"}, false, 1});
  CHECK(one.species == std::vector<std::string>{"PDIG"});
  for (const EstimateRow& each : one.rows) CHECK(each.species == "PDIG");
  CHECK_THROWS_WITH_AS((void)estimate_season(made.season, {}, {{"PDIC"}, false, 1}),
                       "PDIC is not a species of the season. Did you mean PDIG?", InputError);
  EstimateSpec sure_of_all;
  sure_of_all.confidence = 1;
  CHECK_THROWS_AS((void)estimate_season(made.season, sure_of_all), InputError);
}

TEST_CASE("every row carries its method and its source") {
  MadeSeason made = MadeSeason::quill_prairie();
  made.season.units[1].counts[0].not_certain = 6;
  made.season.recounts = {{1, 0, 14, 17, "041", "088"}, {4, 0, 22, 20, "041", "088"}};
  made.missing("mown");
  for (const EstimateRow& each : estimate_season(made.season, {}, {{}, true, 1}).rows) {
    CAPTURE(each.measure);
    CHECK_FALSE(each.estimator.empty());
    CHECK_FALSE(each.source.empty());
    CHECK(each.low.has_value() == !each.limits_kind.empty());
    CHECK(each.low.has_value() == (each.confidence_percent > 0));
  }
}

}  // namespace season_test
