#include <fmt/format.h>

#include <algorithm>
#include <mutex>

#include "made_season.hpp"

namespace sites_only_test {

using namespace check_test;
using swardline::CellsChecked;
using swardline::CheckResult;

namespace {

CheckResult at_sites(const MadeSeason& season, std::int64_t* read = nullptr) {
  season.write();
  std::mutex guard;
  return swardline::check_season(season / "plan.toml",
                                 {2,
                                  [&](std::string_view stage, std::int64_t, std::int64_t all) {
                                    const std::lock_guard lock(guard);
                                    if (read != nullptr && stage.find("reading layers") == 0) *read = all;
                                  },
                                  CellsChecked::at_sites});
}

/// Layers of 16 km: the sites lie in their first blocks.
void widen(MadeSeason& season) {
  for (const char* name : {"cover.tif", "moisture.tif", "elevation.tif"}) {
    season.rasters[name].cols = 1600;
    season.rasters[name].rows = 1600;
  }
  season.rasters["moisture.tif"].value = [](int col, int) { return 10 + col % 47; };
}

}  // namespace

TEST_CASE("at the sites only their ground is looked at, and nothing is said of the rest") {
  MadeSeason season;
  widen(season);
  season.rasters["cover.tif"].value = [](int col, int) { return col >= 1500 ? 57 : 1; };
  season.rasters["moisture.tif"].value = [](int col, int row) { return row < 1000 ? 20 + col % 40 : 0; };
  const CheckResult everywhere = season.check();
  CHECK_FOUND(everywhere, stop, "unknown class", "cover value 57 (160,000 cells) is in no legend.");
  CHECK(of(everywhere, "class not met").size() == 1);
  CHECK(of(everywhere, "zeros").size() == 1);
  const CheckResult here = at_sites(season);
  CHECK_MESSAGE(here.flags.all().empty(), all(here));
  CHECK(here.layers[0] == "cover: looked at by the sites; on the grid");
}

TEST_CASE("at the sites what is wrong there is found") {
  MadeSeason season;
  widen(season);
  season.rasters["cover.tif"].value = [](int col, int) { return col < 60 ? 57 : 1; };
  season.rasters["moisture.tif"].value = [](int, int) { return 120; };
  season.rasters["elevation.tif"].cols = 111;
  const CheckResult result = at_sites(season);
  CHECK_FOUND(result, stop, "unknown class", "cover value 57 (");
  CHECK_FOUND(result, stop, "unknown class", " cells by the sites) is in no legend.");
  CHECK_FOUND(result, stop, "range does not fit unit", "expected percent");
  CHECK_FOUND(result, ask, "layer stops short", "elevation has no data on 30.0 % of SKP (2.7 ha).");
}

TEST_CASE("at the sites a layer that reaches none of them stops, empty there or not") {
  MadeSeason season;
  widen(season);
  season.rasters["moisture.tif"].value = [](int col, int) { return col < 1000 ? 255 : 20; };
  CHECK_FOUND(at_sites(season), stop, "layer outside the sites",
              "layer moisture has no data on any of the 2 sites.");
}

TEST_CASE("at the sites the cells read are bounded, and shares of a thinned site are not claimed") {
  MadeSeason season;
  season.add_to_plan("\n[grid]\ncell_m = 0.05\n");  // 36 million cells in 1,152 blocks of 12.8 m at each site
  season.rasters["moisture.tif"].cols = 111;        // 30 % of SKP without
  season.rasters["elevation.tif"].cols = 85;        // ends before SKP
  std::int64_t read = 0;
  const CheckResult result = at_sites(season, &read);
  CHECK(read > 3 * 16);
  CHECK(read <= 3 * 64);
  CHECK_MESSAGE(of(result, "layer stops short").empty(), all(result));
  CHECK_FOUND(result, stop, "site outside the layers", "SKP lies wholly where elevation has no data.");
}

TEST_CASE("more cells than any season can have stop before they are read, with the cell that would do") {
  MadeSeason season;
  season.add_to_plan("\n[grid]\ncell_m = 0.004\n");
  // Two sites of 9 ha: 180,000 m² / 0.000016 m² = 11.25 billion; √(180,000 / 10^10) = 0.0042 m.
  for (const CellsChecked cells : {CellsChecked::all, CellsChecked::at_sites}) {
    season.write();
    const CheckResult result = swardline::check_season(season / "plan.toml", {1, {}, cells});
    CHECK_FOUND(result, stop, "too many cells", "the survey areas hold 11,250,000,000 cells of 0.004 m");
    CHECK_FOUND(result, stop, "too many cells", "Set cell_m under [grid] to 0.01 or more.");
  }
}

TEST_CASE("cells larger than any site stop with one finding, and the files are still read") {
  MadeSeason season;
  season.add_to_plan("\n[grid]\ncell_m = 100000\n");
  season.rasters["moisture.tif"].value = [](int, int) { return 120; };
  const CheckResult result = season.check();
  CHECK_FOUND(result, stop, "cells too large", "cells of 100,000 m give every site one value");
  CHECK_FOUND(result, stop, "range does not fit unit", "expected percent");
  CHECK(result.flags.count(swardline::Severity::stop) == 2);
}

TEST_CASE("a finer grid than the files' does not multiply what is counted in them") {
  MadeSeason season;
  season.add_to_plan("\n[grid]\ncell_m = 2\n");
  season.rasters["cover.tif"].value = [](int col, int row) {
    return row < 43 && col < 28 ? 57 : 1 + col % 3;
  };
  CHECK_FOUND(season.check(), stop, "unknown class", "cover value 57 (1,204 cells) is in no legend.");
}

TEST_CASE("a site wider than any survey's stops") {
  MadeSeason season;
  season.vectors["sites.gpkg"].features.push_back(
      {"POLYGON((760200 4209000,3760200 4209000,3760200 4209100,760200 4209100,760200 4209000))",
       {{"code", "FAR"}, {"name", "Far Field"}}});
  for (const CellsChecked cells : {CellsChecked::all, CellsChecked::at_sites}) {
    season.write();
    const CheckResult result = swardline::check_season(season / "plan.toml", {1, {}, cells});
    CHECK_FOUND(result, stop, "site too wide", "FAR is 3,000 km across; a site may be 1,000 km.");
  }
}

}  // namespace sites_only_test
