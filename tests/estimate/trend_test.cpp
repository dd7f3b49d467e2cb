// Trend over seasons.
#include "swardline/estimate/trend.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "made_seasons.hpp"
#include "swardline/base/error.hpp"

namespace trend_test {

using namespace swardline;
using namespace swardline::testing;

namespace {

/// Six plots at each of two sites, counts falling from year to year with a wobble.
std::vector<MadeSeason> falling(int years) {
  std::vector<MadeSeason> seasons;
  for (int t = 0; t < years; ++t) {
    MadeSeason season(2024 + t);
    season.site("ANL", 1e5).site("QPR", 1e5).stratum("ANL", "ANL", 1e5).stratum("QPR", "QPR", 1e5);
    for (int i = 0; i < 6; ++i) {
      const double wobble = (i * 7 + t * 5) % 4;
      season.plot("ANL1" + std::to_string(i), std::max(0.0, 20 - 3 * t + wobble), 20, "ANL");
      season.plot("QPR1" + std::to_string(i), std::max(0.0, 40 - 6 * t + 2 * wobble), 20, "QPR");
    }
    seasons.push_back(season);
  }
  return seasons;
}

SeasonTrend trend_of(const std::vector<MadeSeason>& seasons, Flags& flags) {
  std::vector<const EvaluatedSeason*> each;
  for (const MadeSeason& season : seasons) each.push_back(&season.season);
  return trend_over(each, 0.90, 5, flags);
}

SeasonTrend trend_of(const std::vector<MadeSeason>& seasons) {
  Flags flags;
  return trend_of(seasons, flags);
}

std::vector<std::string> parts(const TrendEstimate& estimate) {
  std::vector<std::string> names;
  for (const TrendPart& part : estimate.parts) names.push_back(part.of);
  return names;
}

}  // namespace

TEST_CASE("fewer than four seasons show a change, not a trend") {
  for (int years = 1; years < 4; ++years) {
    const SeasonTrend trend = trend_of(falling(years));
    CHECK(trend.estimates.empty());
    CHECK(holds(in_words(trend), "not a trend"));
    CHECK(trend_rows(trend).empty());
  }
  CHECK(in_words(trend_of(falling(2))) == "2 seasons show a change, not a trend: that takes 4.");
}

TEST_CASE("five seasons of a steady loss") {
  const SeasonTrend trend = trend_of(falling(5));
  REQUIRE(trend.estimates.size() == 3);
  const TrendEstimate& all = trend.estimates.front();
  CHECK(all.where == "all sites");
  CHECK(all.unanswered.empty());
  CHECK(all.seasons == 5);
  CHECK(all.plots == 12);
  CHECK(all.counts == 60);
  CHECK(all.degrees_freedom == 3);
  CHECK(all.trend == TrendWord::falling);
  // The slope of the mean root, by hand: plots are the same each year.
  double slope = 0;
  for (int t = 0; t < 5; ++t)
    for (int i = 0; i < 6; ++i) {
      const double wobble = (i * 7 + t * 5) % 4;
      slope += (t - 2) * (std::sqrt(20 - 3 * t + wobble) + std::sqrt(40 - 6 * t + 2 * wobble)) / 12 / 10;
    }
  CHECK(near(all.slope, slope, 1e-9));
  REQUIRE(all.percent);
  CHECK(*all.percent < -10);
  CHECK(*all.percent > -25);
  REQUIRE(all.limits);
  // t of 0.95 with 3 degrees of freedom is 2.353 (tables).
  CHECK(near(all.limits->high - all.slope, 2.3534 * all.standard_error, 1e-4 * all.standard_error));
  CHECK(trend.estimates[1].where == "ANL");
  const std::string words = in_words(trend);
  INFO(words);
  CHECK(holds(words, "5 seasons, 12 plots, 60 counts: falling."));
  CHECK(holds(words, "3 degrees of freedom: seasons less two"));
  const std::vector<EstimateRow> rows = trend_rows(trend);
  REQUIRE(rows.size() == 6);
  CHECK(rows[1].where == "all sites");
  CHECK(rows[1].measure == "trend, percent a year");
  CHECK(rows[1].value == *all.percent);
  for (const EstimateRow& row : rows) CHECK(row.source == "Urquhart & Kincaid 1999; Piepho & Ogutu 2002");
  CHECK(holds(to_json(trend), "\"in_words\": \"falling\""));
}

TEST_CASE("the order in which seasons are given makes no difference; a year may not come twice") {
  std::vector<MadeSeason> seasons = falling(5);
  const SeasonTrend one = trend_of(seasons);
  std::swap(seasons[0], seasons[3]);
  CHECK(to_json(trend_of(seasons)) == to_json(one));
  seasons[0].season.year = seasons[1].season.year;
  CHECK_THROWS_AS((void)trend_of(seasons), InputError);
}

TEST_CASE("parts of the spread are those that the plots can tell") {
  std::vector<MadeSeason> seasons = falling(5);
  SUBCASE("plots revisited at two sites") {
    CHECK(parts(trend_of(seasons).estimates[0]) ==
          std::vector<std::string>{"year", "site", "site and year", "plot", "rest"});
  }
  SUBCASE("one site: site and year are the year") {
    CHECK(parts(trend_of(seasons).estimates[1]) == std::vector<std::string>{"year", "plot", "rest"});
  }
  SUBCASE("new plots every year") {
    for (std::size_t t = 0; t < seasons.size(); ++t)
      for (EvaluatedUnit& unit : seasons[t].season.units) unit.name += std::to_string(t);
    CHECK(parts(trend_of(seasons).estimates[0]) ==
          std::vector<std::string>{"year", "site", "site and year", "rest"});
    CHECK(trend_of(seasons).estimates[0].plots == 60);
  }
}

TEST_CASE("a panel that rests, a plot that moved, a plot not searched") {
  std::vector<MadeSeason> seasons = falling(6);
  for (std::size_t t = 0; t < seasons.size(); ++t) {
    EvaluatedUnit& rests = seasons[t].season.units[t % 4];
    rests.evaluated = rests.in_use = false;
  }
  CHECK(trend_of(seasons).estimates[0].counts == 66);
  CHECK(trend_of(seasons).estimates[0].plots == 12);
  for (std::size_t t = 3; t < 6; ++t) seasons[t].season.units[8].east += 14;
  CHECK(trend_of(seasons).estimates[0].plots == 13);
  seasons[5].season.units[9].counts[0].searched = false;
  CHECK(trend_of(seasons).estimates[0].counts == 65);
}

TEST_CASE("what no trend can be told of") {
  std::vector<MadeSeason> seasons = falling(5);
  SUBCASE("none found") {
    for (MadeSeason& season : seasons)
      for (EvaluatedUnit& unit : season.season.units) unit.counts[0].sure = 0;
    const SeasonTrend trend = trend_of(seasons);
    CHECK(trend.estimates[0].unanswered == "none found in any season");
    CHECK(holds(in_words(trend), "PTUB, all sites: no trend: none found in any season."));
  }
  SUBCASE("searched for in three of the seasons only") {
    for (std::size_t t = 0; t < 2; ++t)
      for (EvaluatedUnit& unit : seasons[t].season.units) unit.counts[0].searched = false;
    CHECK(trend_of(seasons).estimates[0].unanswered == "counted in 3 seasons; a trend takes 4");
  }
  SUBCASE("the same counts every year") {
    for (MadeSeason& season : seasons)
      for (EvaluatedUnit& unit : season.season.units) unit.counts[0].sure = 4;
    CHECK_FALSE(trend_of(seasons).estimates[0].unanswered.empty());
  }
}

TEST_CASE("new people and other plots are said") {
  std::vector<MadeSeason> seasons = falling(4);
  Flags flags;
  (void)trend_of(seasons, flags);
  CHECK(flags.all().empty());
  for (EvaluatedUnit& unit : seasons[3].season.units) unit.observer = "088";
  seasons[0].season.unit_area_m2 = 10;
  (void)trend_of(seasons, flags);
  REQUIRE(flags.all().size() == 2);
  CHECK(flags.all()[0].check == "another plot size");
  CHECK(holds(flags.all()[1].meaning, "0 of 1 observers of 2027 counted in 2024 too"));
}

TEST_CASE("partial plots are brought to the size of a plot") {
  std::vector<MadeSeason> seasons = falling(4);
  const double whole = trend_of(seasons).estimates[0].slope;
  for (MadeSeason& season : seasons) {
    season.season.units[3].counts[0].sure /= 2;
    season.season.units[3].counts[0].area_m2 = 10;
  }
  CHECK(near(trend_of(seasons).estimates[0].slope, whole, 1e-9));
}

}  // namespace trend_test
