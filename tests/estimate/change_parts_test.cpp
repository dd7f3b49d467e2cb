// Change on the same plots: by domain, certainty and season, and as rows.
#include <doctest/doctest.h>

#include <cmath>

#include "swardline/base/error.hpp"
#include "two_years.hpp"

namespace change_parts_test {

using namespace swardline;
using namespace swardline::testing;

TEST_CASE("a species not searched for on a plot has no pair there") {
  TwoYears years = the_story();
  years.now.season.units[2].counts[0].searched = false;
  CHECK(everywhere(years.change()).paired.pairs == 5);
}

TEST_CASE("sure, and sure with those not certain") {
  TwoYears years = the_story();
  SUBCASE("only where some are not certain") {
    CHECK(of(years.change(), "all sites")->with_not_certain == false);
  }
  years.now.season.units[0].counts[0].not_certain = 5;
  const SeasonChange change = years.change();
  REQUIRE(change.estimates.size() == 2);
  CHECK(change.estimates[1].with_not_certain);
  CHECK(near(20 * change.estimates[1].paired.change, 0, 1e-12));
  CHECK(holds(in_words(change), "PTUB (sure + not certain), all sites: 0.00 stems per plot"));
  CHECK(change_rows(change).back().measure == "change in stems on shared ground, sure + not certain");
}

TEST_CASE("sites, attributes and strata by themselves") {
  TwoYears years;
  const std::string prairie = "QPR|score=50-75|v1";
  for (MadeSeason* season : {&years.then, &years.now}) {
    season->site("QPR", 420000).stratum(prairie, "QPR", 420000);
    season->season.sites[0].attributes["habitat"] = "meadow";
    season->season.sites[1].attributes["habitat"] = "prairie";
  }
  for (int i = 0; i < 4; ++i) {
    years.then.plot("ANL1" + std::to_string(i), i);
    years.now.plot("ANL1" + std::to_string(i), i + i % 2);
    years.then.plot("QPR1" + std::to_string(i), 3, 20, prairie);
    years.now.plot("QPR1" + std::to_string(i), i, 20, prairie);
  }
  years.options.by = {"habitat"};
  const SeasonChange change = years.change();
  REQUIRE(of(change, "habitat = prairie") != nullptr);
  CHECK(near(20 * of(change, "habitat = prairie")->paired.change, -1.5, 1e-12));
  // A site that is all of a habitat would say the same again.
  CHECK(of(change, "QPR") == nullptr);
  years.options.by = {};
  const SeasonChange by_site = years.change();
  REQUIRE(of(by_site, "ANL") != nullptr);
  CHECK(near(20 * of(by_site, "ANL")->paired.change, 0.5, 1e-12));
  CHECK(near(20 * everywhere(by_site).paired.change, 0.25 * 0.5 + 0.75 * -1.5, 1e-12));
}

TEST_CASE("strata over several sites: a site takes part of each") {
  TwoYears years = {MadeSeason(2026), MadeSeason(2027), {}, {}};
  for (MadeSeason* season : {&years.then, &years.now})
    season->site("ANL", 1e5)
        .site("QPR", 1e5)
        .stratum("all|score=0-50|v1", "", 120000)
        .stratum("all|score=50-100|v1", "", 80000);
  const auto plot = [&](const std::string& name, double then, double now, const std::string& stratum) {
    years.then.plot(name, then, 20, stratum).site = name.substr(0, 3);
    years.now.plot(name, now, 20, stratum).site = name.substr(0, 3);
  };
  plot("ANL01", 2, 1, "all|score=0-50|v1");
  plot("ANL02", 4, 4, "all|score=0-50|v1");
  plot("QPR01", 0, 1, "all|score=0-50|v1");
  plot("ANL03", 9, 7, "all|score=50-100|v1");
  plot("QPR02", 6, 6, "all|score=50-100|v1");
  const SeasonChange change = years.change();
  const ChangeEstimate* meadow_site = of(change, "ANL");
  REQUIRE(meadow_site != nullptr);
  // Weights of a plot 120000/3 and 80000/2, equal here: mean of −1, 0, −2.
  CHECK(meadow_site->paired.pairs == 3);
  CHECK(near(20 * meadow_site->paired.change, -1, 1e-12));
  // Domain residuals times the share of the domain (3 of 5 plots' weight): strata variances by hand.
  const double z[3] = {0, 1.0 / 3, -1.0 / 3};  // of the plots' differences from −1, over Σ of weights
  const double first = (z[0] * z[0] + z[1] * z[1] - (z[0] + z[1]) * (z[0] + z[1]) / 3) * 3 / 2;
  const double second = (z[2] * z[2] - z[2] * z[2] / 2) * 2;
  CHECK(near(20 * *meadow_site->paired.standard_error, std::sqrt(first + second), 1e-12));
}

TEST_CASE("what else differs between the seasons is said") {
  TwoYears years = the_story();
  SUBCASE("nothing") {
    (void)years.change();
    CHECK(years.flags.all().empty());
  }
  SUBCASE("another plot size") {
    years.now.season.unit_area_m2 = 10;
    const SeasonChange change = years.change();
    CHECK(flagged(years.flags, "another plot size"));
    CHECK(holds(in_words(change), "stems per hectare"));
  }
  SUBCASE("another edge rule") {
    years.now.season.edge = EdgeRule::inside_area;
    (void)years.change();
    CHECK(flagged(years.flags, "another edge rule"));
  }
  SUBCASE("transects after plots") {
    years.now.season.unit = SampleUnit::transect;
    (void)years.change();
    CHECK(flagged(years.flags, "another counting unit"));
  }
  SUBCASE("other observers on half of the pairs") {
    for (std::size_t i = 0; i < 3; ++i) years.now.season.units[i].observer = "088";
    (void)years.change();
    REQUIRE(flagged(years.flags, "other observers"));
    CHECK(holds(years.flags.all().front().meaning, "3 of 6 paired plots"));
  }
  SUBCASE("on fewer") {
    years.now.season.units[0].observer = "088";
    (void)years.change();
    CHECK_FALSE(flagged(years.flags, "other observers"));
  }
  SUBCASE("three weeks later in the year") {
    for (EvaluatedUnit& unit : years.then.season.units) unit.day = 20600;      // 27 May 2026
    for (EvaluatedUnit& unit : years.now.season.units) unit.day = 20965 + 21;  // 17 June 2027
    (void)years.change();
    REQUIRE(flagged(years.flags, "another time of year"));
    CHECK(holds(years.flags.all().front().meaning, "21 days later"));
  }
  SUBCASE("not an earlier season") {
    years.then.season.year = 2028;
    (void)years.change();
    CHECK(flagged(years.flags, "not an earlier season"));
  }
  SUBCASE("no species in common") {
    years.then.season.species = {"PDIG"};
    CHECK_THROWS_AS((void)years.change(), InputError);
  }
}

TEST_CASE("tables and JSON hold what the words say, with method and source") {
  TwoYears years = the_story();
  const SeasonChange change = years.change();
  const std::vector<EstimateRow> rows = change_rows(change);
  REQUIRE(rows.size() == 5);
  for (const EstimateRow& row : rows) {
    CHECK(row.where == "all sites");
    CHECK(row.species == "PTUB");
    CHECK_FALSE(row.estimator.empty());
    CHECK(holds(row.source, "Cochran 1977"));
  }
  CHECK(rows[0].measure == "stems per ha on the same plots, 2026");
  CHECK(near(rows[0].value, 29.0 / 6 * 500, 1e-9));
  CHECK(rows[2].measure == "change in stems per ha");
  CHECK(near(rows[2].value, -5.0 / 6 * 500, 1e-9));
  CHECK(near(*rows[2].low, -2.04 * 500, 3));
  CHECK(rows[2].confidence_percent == doctest::Approx(90));
  CHECK(rows[2].limits_kind == "symmetric");
  CHECK(rows[2].plots == 6);
  CHECK(rows[3].measure == "ratio of densities");
  CHECK(rows[3].limits_kind == "Fieller");
  CHECK(near(rows[4].value, -5.0 / 6 / 20 * 140000, 1e-6));
  const std::string json = to_json(change);
  CHECK(holds(json, "\"in_words\": \"no clear change\""));
  CHECK(holds(json, "{\"plot\": \"ANL08\", \"site\": \"ANL\", \"matching\": \"moved\""));
}

}  // namespace change_parts_test
