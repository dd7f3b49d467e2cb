// Bands, shares and densities by hand.
#include <doctest/doctest.h>

#include <cmath>

#include "made_season.hpp"
#include "swardline/compare/compare_parts.hpp"

namespace parts_test {

using namespace swardline;
using compare_test::made_season;
using compare_test::MadePlot;

namespace {

Comparison settings() {
  Comparison comparison;
  comparison.confidence = 0.90;
  return comparison;
}

PlotAndScore plot_of(double score, double stems, double weight = 100, std::size_t design = 0,
                     double area = 20) {
  PlotAndScore plot;
  plot.score = plot.score_then = score;
  plot.stems = stems;
  plot.weight_m2 = weight;
  plot.design = design;
  plot.area_m2 = area;
  return plot;
}

std::vector<PlotAndScore> with_numbers(const std::vector<int>& by_band) {
  std::vector<PlotAndScore> plots;
  for (std::size_t band = 0; band < by_band.size(); ++band)
    for (int i = 0; i < by_band[band]; ++i) plots.push_back(plot_of(0.1 + 0.25 * double(band), i % 2));
  return plots;
}

std::vector<std::string> names(const ComparedBands& bands) {
  std::vector<std::string> out;
  for (const ComparedPart& part : bands.parts) out.push_back(part.what);
  return out;
}

const std::vector<double> edges = {0.25, 0.5, 0.75};

}  // namespace

TEST_CASE("bands with enough plots stay, others join the neighbour with fewer") {
  const auto bands = [&](const std::vector<int>& numbers) {
    return bands_of(with_numbers(numbers), edges, 5, settings());
  };
  CHECK(names(bands({5, 5, 5, 5})) ==
        std::vector<std::string>{"0.00–0.25", "0.25–0.50", "0.50–0.75", "0.75–1.00"});
  CHECK(bands({5, 5, 5, 5}).joined.empty());
  CHECK(names(bands({9, 3, 6, 5})) == std::vector<std::string>{"0.00–0.25", "0.25–0.75", "0.75–1.00"});
  CHECK(names(bands({6, 3, 9, 5})) == std::vector<std::string>{"0.00–0.50", "0.50–0.75", "0.75–1.00"});
  CHECK(names(bands({2, 9, 9, 2})) == std::vector<std::string>{"0.00–0.50", "0.50–1.00"});
  CHECK(names(bands({1, 1, 1, 1})) == std::vector<std::string>{"0.00–1.00"});
  const ComparedBands none = bands({9, 0, 9, 9});
  CHECK(none.joined.front() == "0.25–0.50 had no plots and is joined with 0.00–0.25.");
  int plots = 0;
  for (const ComparedPart& part : bands({2, 9, 9, 2}).parts) plots += part.plots;
  CHECK(plots == 22);
}

TEST_CASE("a band holds its lower edge, the highest its upper one too, by whole percents as maps have them") {
  std::vector<PlotAndScore> plots = {plot_of(0.2549, 1), plot_of(0.2451, 1), plot_of(1, 1), plot_of(0, 1)};
  const ComparedBands bands = bands_of(plots, edges, 0, settings());
  REQUIRE(bands.parts.size() == 4);
  CHECK(bands.parts[0].plots == 1);  // 0 only: 0.2451 is 25 percent on the map
  CHECK(bands.parts[1].plots == 2);
  CHECK(bands.parts[3].plots == 1);
}

TEST_CASE("a part is a domain: a ratio of weighted totals, its variance from all plots of the strata") {
  const std::vector<PlotAndScore> plots = {plot_of(0.9, 4, 100, 0, 20), plot_of(0.9, 0, 100, 0, 10),
                                           plot_of(0.1, 0, 100, 0, 20), plot_of(0.9, 6, 300, 1, 20),
                                           plot_of(0.1, 1, 300, 1, 20)};
  const ComparedPart part = part_of(
      plots, [](const PlotAndScore& plot) { return plot.score > 0.5; }, settings());
  CHECK(part.plots == 3);
  CHECK(part.occupied == 2);
  // Ground over weighted area searched, by stratum: 300/5000 and 600/12000.
  const double k0 = 300.0 / 5000, k1 = 600.0 / 12000;
  const double stems = k0 * 100 * 4 + k1 * 300 * 6, area = k0 * 100 * 30 + k1 * 300 * 20, r = stems / area;
  CHECK(part.per_ha == doctest::Approx(r * 1e4));
  const auto spread = [](const std::vector<double>& u) {
    double mean = 0, sum = 0;
    for (const double v : u) mean += v / double(u.size());
    for (const double v : u) sum += (v - mean) * (v - mean);
    return double(u.size()) / double(u.size() - 1) * sum;
  };
  const double v0 = spread({k0 * 100 * (4 - r * 20), k0 * 100 * (0 - r * 10), 0});
  const double v1 = spread({k1 * 300 * (6 - r * 20), 0});
  CHECK(part.standard_error == doctest::Approx(std::sqrt(v0 + v1) / area * 1e4));
  CHECK(part.df == doctest::Approx((v0 + v1) * (v0 + v1) / (v0 * v0 / 2 + v1 * v1)));
  CHECK(part.share == doctest::Approx(400.0 / 500));
  CHECK(part.ground_share == doctest::Approx(500.0 / 900));
}

TEST_CASE("nothing found has an upper limit, one plot has none, excluded ground is apart") {
  std::vector<PlotAndScore> plots = {plot_of(0.9, 0), plot_of(0.9, 0), plot_of(0.1, 3)};
  plots[2].use = PlotUse::excluded;
  const ComparedBands bands = bands_of(plots, {}, 5, settings());
  REQUIRE(bands.parts.size() == 1);
  CHECK(bands.parts[0].occupied == 0);
  CHECK(bands.parts[0].limits->low == 0);
  CHECK(bands.parts[0].limits->high == doctest::Approx(-std::log(0.05) / 40 * 1e4));
  CHECK(bands.excluded.plots == 1);
  CHECK(bands.excluded.occupied == 1);
  CHECK_FALSE(bands.excluded.limits);
  CHECK(bands.excluded.limits_kind == "none: one plot");
  CHECK(bands.no_score.plots == 0);
}

TEST_CASE("weights are ground over plots that are used, and by chance where chances differ") {
  auto made =
      made_season({{.stratum = "a"}, {.stratum = "a"}, {.stratum = "a", .accuracy_m = 30}, {.stratum = "b"}},
                  {{"a", 600}, {"b", 50}, {"c", 10}});
  SpeciesComparison ptub = made->ptub();
  CHECK(ptub.plots[0].weight_m2 == 300);
  CHECK(ptub.plots[1].weight_m2 == 300);
  CHECK(ptub.plots[2].weight_m2 == 0);
  CHECK(ptub.plots[3].weight_m2 == 50);
  CHECK(ptub.cautions.front() == "No plot left in c: what follows does not speak of it.");
  made->counted.weighted = true;
  made->counted.units[0].chance_per_m2 = 0.01;
  made->counted.units[1].chance_per_m2 = 0.03;
  made->counted.units[3].chance_per_m2 = 0.5;
  ptub = made->ptub();
  CHECK(ptub.plots[0].weight_m2 == doctest::Approx(450));
  CHECK(ptub.plots[1].weight_m2 == doctest::Approx(150));
  CHECK(ptub.plots[3].weight_m2 == doctest::Approx(50));
}

TEST_CASE("strata of one plot are taken together for variances") {
  const auto made = made_season({{.stratum = "a"}, {.stratum = "a"}, {.stratum = "b"}, {.stratum = "c"}},
                                {{"a", 600}, {"b", 50}, {"c", 10}});
  const SpeciesComparison ptub = made->ptub();
  CHECK(ptub.plots[0].design == ptub.plots[1].design);
  CHECK(ptub.plots[2].design == ptub.plots[3].design);
  CHECK(ptub.plots[0].design != ptub.plots[2].design);
  const auto lone =
      made_season({{.stratum = "a"}, {.stratum = "a"}, {.stratum = "b"}}, {{"a", 600}, {"b", 50}});
  const SpeciesComparison one = lone->ptub();
  CHECK(one.plots[2].design == one.plots[0].design);
}

}  // namespace parts_test
