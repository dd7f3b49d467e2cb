// Filled forms of the demo valley: what is written is what stands there, and twelve faults are twelve.
#include <doctest/doctest.h>
#include <gdal_priv.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <set>

#include "valley.hpp"
#include "valley_returns.hpp"

namespace returns_test {

using namespace swardline::landscape;

namespace {

std::filesystem::path layers() {
  GDALAllRegister();
  return std::filesystem::path(SWARDLINE_SOURCE_DIR) / "samples" / "ambry-valley" / "layers";
}

std::unique_ptr<OGRGeometry> polygon(double west, double south, double east, double north) {
  auto ring = std::make_unique<OGRLinearRing>();
  for (const auto& [x, y] :
       {std::pair{west, south}, {east, south}, {east, north}, {west, north}, {west, south}})
    ring->addPoint(x, y);
  auto area = std::make_unique<OGRPolygon>();
  area->addRingDirectly(ring.release());
  return area;
}

const TrueHabitat& habitat(const std::string& code) {
  return *std::find_if(true_habitats().begin(), true_habitats().end(),
                       [&](const TrueHabitat& h) { return h.code == code; });
}

/// Quill Prairie's square middle, plots in rows across it, some at its edge.
DrawnSeason prairie() {
  DrawnSeason season;
  season.survey["QPR"] = polygon(761800, 4209800, 762000, 4210000);
  for (int i = 0; i < 16; ++i) {
    DrawnPlot plot;
    plot.name = "QPR" + std::to_string(10 + i) + "X";
    plot.site = "QPR";
    plot.stratum = "QPR|score=75-100|v1";
    plot.status = "planned";
    plot.order = i + 1;
    plot.at = {761801.0 + 12 * i, 4209801.0 + 7 * i};
    plot.axis_deg = 25 * i;
    plot.inside_m2 = 20;
    plot.twice_m2 = i == 0 ? 3 : 0;
    plot.lat = 38;
    plot.lon = -96.02;
    season.plots.push_back(plot);
  }
  return season;
}

}  // namespace

TEST_CASE("plants stay where they are when a site is drawn larger, and in every season") {
  const TrueGround ground(layers());
  const auto small = polygon(761800, 4209800, 762000, 4210000),
             large = polygon(761700, 4209700, 762100, 4210000);
  const auto few = plants_on(habitat("PTUB"), ground, *small),
             many = plants_on(habitat("PTUB"), ground, *large);
  REQUIRE(few.size() > 100);
  CHECK(many.size() > few.size());
  std::set<std::uint64_t> in_large;
  for (const Plant& plant : many) in_large.insert(plant.number);
  CHECK(std::all_of(few.begin(), few.end(), [&](const Plant& p) { return in_large.contains(p.number); }));
  // A plant rests in some seasons and not in all.
  long long stems[2] = {0, 0};
  int both = 0;
  for (const Plant& plant : few) {
    const int a = stems_of(plant, "PTUB", 2027, 1), b = stems_of(plant, "PTUB", 2028, 1);
    stems[0] += a;
    stems[1] += b;
    both += a > 0 && b > 0 ? 1 : 0;
  }
  CHECK(both > 0);
  CHECK(stems[0] != stems[1]);
}

TEST_CASE("a form holds the stems that stand in the plot, and those of them to count twice") {
  const TrueGround ground(layers());
  const DrawnSeason season = prairie();
  std::vector<std::pair<std::string, std::string>> form;
  for (const DrawnPlot& plot : season.plots) form.emplace_back(plot.name, "PTUB");
  const ValleyReturns returns = fill_forms(season, ground, form, 2028);
  const auto plants = plants_on(habitat("PTUB"), ground, *season.survey.at("QPR"));
  long long found = 0;
  int rows = 0;
  for (const TeamReturn& team : returns.teams)
    for (const FormRow& row : team.rows) {
      if (row[form_column("status")] != "counted") continue;
      ++rows;
      const auto plot = std::find_if(season.plots.begin(), season.plots.end(),
                                     [&](const DrawnPlot& p) { return p.name == row[form_column("plot")]; });
      // By GDAL's own polygons instead of turned coordinates.
      OGRLinearRing ring;
      const double turn = plot->axis_deg * 3.14159265358979323846 / 180;
      for (const auto& [across, along] : {std::pair{-1, -5}, {1, -5}, {1, 5}, {-1, 5}, {-1, -5}})
        ring.addPoint(plot->at.x + across * std::cos(turn) + along * std::sin(turn),
                      plot->at.y - across * std::sin(turn) + along * std::cos(turn));
      OGRPolygon belt;
      belt.addRing(&ring);
      int all = 0, twice = 0;
      for (const Plant& plant : plants) {
        const OGRPoint at(plant.at.x, plant.at.y);
        if (!belt.Contains(&at)) continue;
        const int stems = stems_of(plant, "PTUB", 2028, vigour("PTUB", 2028));
        all += stems;
        const OGRPoint opposite(2 * plot->at.x - plant.at.x, 2 * plot->at.y - plant.at.y);
        if (!season.survey.at("QPR")->Contains(&opposite)) twice += stems;
      }
      CHECK(row[form_column("flowering_stems")] == std::to_string(all));
      if (plot->twice_m2 > 0) CHECK(row[form_column("twice_stems")] == std::to_string(twice));
      found += all;
    }
  CHECK(rows == 15);  // one stake is lost in the second season
  CHECK(found > 0);
  REQUIRE(returns.known.size() == 1);
  long long stems = 0;
  for (const Plant& plant : plants) stems += stems_of(plant, "PTUB", 2028, vigour("PTUB", 2028));
  CHECK(returns.known[0].stems == stems);
  CHECK(returns.known[0].survey_m2 == doctest::Approx(40000));
}

}  // namespace returns_test
