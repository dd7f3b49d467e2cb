// How often limits of a trend hold the true slope.
#include <doctest/doctest.h>

#include <chrono>
#include <cmath>

#include "swardline/base/random.hpp"
#include "swardline/estimate/trend.hpp"

namespace trend_slope_test {

using namespace swardline;

namespace {

class Normal {
 public:
  explicit Normal(RandomKey key) : stream_(key) {}
  double operator()() {
    double sum = -6;
    for (int i = 0; i < 12; ++i) sum += stream_.uniform();
    return sum;
  }

 private:
  RandomStream stream_;
};

struct Truth {
  int years, sites, plots;
  double year_sd, site_year_sd;
  bool panels;  ///< half of the plots every year, the others one year in four
};

constexpr double slope = -0.05;

/// Roots of counts: site 1, plot 0.8, rest 0.6, and what the case says of years.
std::vector<EvaluatedSeason> seasons_of(const Truth& truth, Normal normal) {
  std::vector<EvaluatedSeason> seasons(std::size_t(truth.years));
  std::vector<double> of_site, of_plot;
  for (int s = 0; s < truth.sites; ++s) of_site.push_back(normal());
  for (int p = 0; p < truth.sites * truth.plots; ++p) of_plot.push_back(0.8 * normal());
  for (int t = 0; t < truth.years; ++t) {
    EvaluatedSeason& season = seasons[std::size_t(t)];
    season.season = "made";
    season.year = 2020 + t;
    season.unit_area_m2 = 20;
    season.species = {"PTUB"};
    const double of_year = truth.year_sd * normal();
    for (int s = 0; s < truth.sites; ++s) {
      const double of_both = truth.site_year_sd * normal();
      for (int p = 0; p < truth.plots; ++p) {
        const double rest = 0.6 * normal();
        if (truth.panels && p % 2 == 1 && (p / 2 + t) % 4 != 0) continue;
        const double root = 8 + slope * t + of_year + of_both + of_site[std::size_t(s)] +
                            of_plot[std::size_t(s * truth.plots + p)] + rest;
        EvaluatedUnit unit;
        unit.site = unit.stratum = "S" + std::to_string(s);
        unit.name = unit.site + "P" + std::to_string(p);
        unit.in_use = unit.evaluated = true;
        unit.counts = {{root * root, 0, 20, true}};
        season.units.push_back(unit);
      }
    }
  }
  return seasons;
}

/// Share of 90 % limits that hold the slope.
double share_that_hold(const Truth& truth, int draws) {
  int hold = 0, told = 0;
  const auto start = std::chrono::steady_clock::now();
  for (int d = 0; d < draws; ++d) {
    const std::vector<EvaluatedSeason> seasons =
        seasons_of(truth, Normal(RandomKey(2027, "trend").under(std::uint64_t(d))));
    std::vector<const EvaluatedSeason*> each;
    for (const EvaluatedSeason& season : seasons) each.push_back(&season);
    Flags flags;
    const SeasonTrend trend = trend_over(each, 0.90, 5, flags);
    const TrendEstimate& all = trend.estimates.front();
    if (!all.limits) continue;
    ++told;
    hold += all.limits->low <= slope && all.limits->high >= slope ? 1 : 0;
  }
  const std::chrono::duration<double> took = std::chrono::steady_clock::now() - start;
  MESSAGE(truth.years, " years, ", truth.sites, " sites of ", truth.plots, " plots",
          std::string(truth.panels ? ", panels" : ""), ", year ", truth.year_sd, ", site and year ",
          truth.site_year_sd, ": ", 100.0 * hold / told, " % of ", told, " limits hold the slope; ",
          took.count(), " s");
  CHECK(told == draws);
  return double(hold) / told;
}

}  // namespace

TEST_CASE("limits of a trend: seasons less two degrees of freedom") {
  // 90 % limits of 200 draws have a standard error of 2.1 points. Where years differ they hold as often as
  // they say; where they do not (a part of 0 is put at 0, and its share taken as chance) oftener.
  constexpr int draws = 200;
  for (const Truth& truth :
       {Truth{5, 6, 6, 0.4, 0.2, false}, Truth{8, 6, 6, 0.4, 0.2, true}, Truth{4, 10, 4, 0.3, 0.0, false}}) {
    const double share = share_that_hold(truth, draws);
    CHECK(share >= 0.84);
    CHECK(share <= 0.965);
  }
  CHECK(share_that_hold({5, 6, 6, 0.0, 0.0, true}, draws) >= 0.86);
}

}  // namespace trend_slope_test
