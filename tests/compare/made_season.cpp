#include "made_season.hpp"

#include <doctest/doctest.h>
#include <fmt/format.h>

namespace compare_test {

using namespace swardline;
using habitat_test::Raster;

namespace {

constexpr int side = 40;  // cells; plots stand three cells apart

double cover_value(const std::string& code) {
  for (const auto& [value, name] : habitat_test::cover_classes())
    if (name == code) return double(value);
  return 255;
}

Raster raster_of(double elsewhere, Raster::Type type) {
  Raster raster;
  raster.cols = raster.rows = side;
  raster.values.assign(std::size_t(side) * side, elsewhere);
  raster.type = type;
  return raster;
}

}  // namespace

Comparison Made::compare(const CompareOptions& options) const {
  return compare_scores(season, layers, model, counted, options);
}

SpeciesComparison Made::ptub(const CompareOptions& options) const {
  Comparison comparison = compare(options);
  REQUIRE(comparison.species.size() == 1);
  return comparison.species.front();
}

std::unique_ptr<Made> made_season(const std::vector<MadePlot>& plots,
                                  const std::map<std::string, double>& ground_m2) {
  auto made = std::make_unique<Made>();
  std::map<std::string, Raster> rasters = {{"moisture", raster_of(30, Raster::Type::byte)},
                                           {"cover", raster_of(3, Raster::Type::byte)},
                                           {"canopy", raster_of(10, Raster::Type::byte)},
                                           {"heat", raster_of(1, Raster::Type::real)},
                                           {"elevation", raster_of(200, Raster::Type::byte)}};
  EvaluatedSeason& counted = made->counted;
  counted.species = {"PTUB"};
  counted.year = 2027;
  counted.unit_area_m2 = 20;
  for (const auto& [id, area] : ground_m2) counted.strata.push_back({id, "CND", "scored", area, area, 1, 10});
  for (std::size_t i = 0; i < plots.size(); ++i) {
    const MadePlot& plot = plots[i];
    const int col = 1 + 3 * int(i % 13), row = 1 + 3 * int(i / 13);
    REQUIRE(row < side);
    const std::size_t cell = std::size_t(row) * side + std::size_t(col);
    rasters["moisture"].values[cell] = plot.moisture;
    rasters["cover"].values[cell] = cover_value(plot.cover);
    rasters["canopy"].values[cell] = plot.canopy;
    rasters["heat"].values[cell] = plot.heat;
    EvaluatedUnit unit;
    unit.name = fmt::format("P{:03}", i + 1);
    unit.site = "CND";
    unit.stratum = plot.stratum;
    unit.in_use = unit.evaluated = true;
    unit.fate = "counted";
    unit.east = 600000 + 10 * col + 5;
    unit.north = 4200000 - 10 * row - 5;
    unit.bearing_deg = 90;
    unit.plot_m2 = unit.inside_m2 = 20;
    unit.fix_accuracy_m = plot.accuracy_m;
    unit.fix_east = unit.east + plot.fix_away_m;
    unit.fix_north = unit.north;
    unit.counts = {{plot.stems, plot.not_certain, plot.area_m2, plot.searched}};
    counted.units.push_back(unit);
  }
  for (const auto& [name, raster] : rasters)
    habitat_test::write_raster(made->folder / (name + ".tif"), raster);
  Sheet sheet = habitat_test::ptub();
  sheet.version = 3;
  made->season =
      habitat_test::season_in(made->folder, {sheet}, {"moisture", "cover", "canopy", "heat", "elevation"});
  Flags flags;
  const Crs crs = Crs::from_text(made->season.plan.crs);
  made->layers = Layers::open(made->season.plan, crs, layers_needed(made->season), flags);
  made->model = Model::compile(made->season, made->layers, flags);
  REQUIRE_FALSE(flags.stopped());
  return made;
}

std::unique_ptr<Made> story_of_the_glade() {
  std::vector<MadePlot> plots;
  const auto add = [&](int number, const MadePlot& like, const std::vector<double>& stems) {
    for (int i = 0; i < number; ++i) {
      plots.push_back(like);
      plots.back().stems = std::size_t(i) < stems.size() ? stems[std::size_t(i)] : 0;
    }
  };
  // Canopy of 32 % and a heat load of 1.078 respond at 0.8 each, so G = 0.8: with cover 0.3 the score is
  // 0.3^0.6 · 0.8^0.4 = 0.444, with cover 0.8 it is 0.8.
  const MadePlot glade{.stratum = "low", .canopy = 32, .heat = 1.078, .cover = "GL"};
  add(12, glade, {4, 7, 12});
  add(16, {.stratum = "high", .cover = "WM"}, {1, 2, 3, 4, 5, 6, 7, 8, 9, 10});
  add(8, {.stratum = "high", .cover = "MP"}, {2, 4, 6, 8, 10});
  add(4, {.stratum = "high", .canopy = 32, .heat = 1.078, .cover = "WD"}, {1});
  add(11, {.stratum = "low", .cover = "DP"}, {});
  add(5, {.stratum = "low", .cover = "CF"}, {});
  add(2, {.stratum = "low", .cover = "OW"}, {});
  add(1, {.stratum = "low", .moisture = 255}, {});
  add(1, {.stratum = "high", .cover = "WM", .accuracy_m = 14}, {5});
  return made_season(plots, {{"low", 200000}, {"high", 40000}});
}

}  // namespace compare_test
