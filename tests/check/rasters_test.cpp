#include <cmath>
#include <limits>

#include "made_season.hpp"
#include "swardline/base/files.hpp"

namespace rasters_test {

using namespace check_test;

namespace {

constexpr double degrees_in_radian = 180 / 3.14159265358979323846;

/// Ground that rises by this in 1,000 over all of the made layers.
void tilt(MadeSeason& season, double rise) {
  season.rasters["elevation.tif"].value = [rise](int col, int) { return 300 + rise * 10 * col; };
}

void add_layer(MadeSeason& season, const std::string& name, const std::string& unit,
               const std::function<double(int, int)>& value) {
  MadeRaster& raster = season.rasters[name + ".tif"];
  raster.kind = "Float32";
  raster.has_nodata = false;
  raster.value = value;
  season.add_to_plan("\n[layers." + name + "]\nsource = \"" + name + ".tif\"\nunit = \"" + unit + "\"\n");
}

}  // namespace

TEST_CASE("percent scaled by ten stops and says the scale") {
  MadeSeason season;
  season.rasters["moisture.tif"].kind = "UInt16";
  season.rasters["moisture.tif"].has_nodata = false;
  season.rasters["moisture.tif"].value = [](int col, int) { return col * 612 / 159; };
  const auto result = season.check();
  CHECK_FOUND(result, stop, "range does not fit unit", "moisture runs 0–612: expected percent (0–100).");
  CHECK_FOUND(result, stop, "range does not fit unit", "Scaled by 10? Set scale = 0.1.");
  CHECK(of(result, "range does not fit unit")[0].place.text().find("plan.toml:") == 0);
  CHECK(result.verdict == "not usable");
}

TEST_CASE("a suggested scale counts the scale already there") {
  MadeSeason season;
  season.rasters["moisture.tif"].kind = "UInt16";
  season.rasters["moisture.tif"].value = [](int col, int) { return 10 + col * 300 / 159; };
  season.change_plan("unit = \"percent\"", "unit = \"percent\"\nscale = 2");
  CHECK_FOUND(season.check(), stop, "range does not fit unit", "Set scale = 0.2.");
}

TEST_CASE("fractions declared percent are asked about") {
  MadeSeason season;
  season.rasters["moisture.tif"].kind = "Float32";
  season.rasters["moisture.tif"].value = [](int col, int) { return 0.1 + col / 200.0; };
  CHECK_FOUND(season.check(), ask, "range does not fit unit", "A fraction from 0 to 1? Set scale = 100.");
}

TEST_CASE("percent declared a fraction stops") {
  MadeSeason season;
  season.change_plan("unit = \"percent\"", "unit = \"fraction\"");
  CHECK_FOUND(season.check(), stop, "range does not fit unit",
              "In percent? Set scale = 0.01 or unit = \"percent\".");
}

TEST_CASE("heights in feet beyond any summit stop") {
  MadeSeason season;
  tilt(season, 0);
  season.rasters["elevation.tif"].value = [](int col, int) { return 9000 + 20 * col; };
  CHECK_FOUND(season.check(), stop, "range does not fit unit", "In feet? Set scale = 0.3048.");
}

TEST_CASE("distances in metres have no highest value") {
  MadeSeason season;
  add_layer(season, "water_distance", "m", [](int col, int) { return 100.0 * col; });
  const auto result = season.check();
  CHECK_MESSAGE(result.flags.all().empty(), all(result));
}

TEST_CASE("slope in percent declared degrees stops where it passes 90") {
  MadeSeason season;
  add_layer(season, "slope", "degrees", [](int col, int) { return double(col); });
  CHECK_FOUND(season.check(), stop, "range does not fit unit", "45 % is 24 degrees");
}

TEST_CASE("slope in percent declared degrees is found from elevation where the range tells nothing") {
  MadeSeason season;
  tilt(season, 0.45);
  add_layer(season, "slope", "degrees", [](int, int) { return 45.0; });
  // atan(0.45) = 24.228 degrees: 45 is off by 20.8.
  const auto result = season.check();
  CHECK_FOUND(result, ask, "slope against elevation", "slope differs by 20.8 degrees");
  CHECK_FOUND(result, ask, "slope against elevation", "by 0.0 if it is in percent");
}

TEST_CASE("slope that agrees with elevation is no finding, in either unit") {
  for (const std::string unit : {"degrees", "percent"}) {
    MadeSeason season;
    tilt(season, 0.45);
    const double value = unit == "percent" ? 45 : std::atan(0.45) * degrees_in_radian;
    add_layer(season, "slope", unit, [value](int, int) { return value; });
    const auto result = season.check();
    CHECK_MESSAGE(result.flags.all().empty(), all(result));
  }
}

TEST_CASE("elevation in feet is found from a slope layer") {
  MadeSeason season;
  tilt(season, 0.3 / 0.3048);
  add_layer(season, "slope", "degrees", [](int, int) { return std::atan(0.3) * degrees_in_radian; });
  CHECK_FOUND(season.check(), ask, "slope against elevation", "if elevation is in feet");
}

TEST_CASE("missing data stored as 0 is asked about, with the cells") {
  MadeSeason season;
  season.rasters["moisture.tif"].value = [](int col, int row) {
    return row < 4 && col < 100 ? 0 : 20 + col / 4;
  };
  const auto result = season.check();
  CHECK_FOUND(result, ask, "zeros", "400 cells of moisture are exactly 0 and the next value is 20");
}

TEST_CASE("zeros that belong to a scale are no finding") {
  MadeSeason steps;  // 0, 10, 20 … as canopies are often estimated
  steps.rasters["moisture.tif"].value = [](int col, int) { return col / 16 * 10; };
  const auto coarse = steps.check();
  CHECK_MESSAGE(of(coarse, "zeros").empty(), all(coarse));
  MadeSeason smooth;
  smooth.rasters["moisture.tif"].value = [](int col, int) { return col / 2; };
  const auto fine = smooth.check();
  CHECK_MESSAGE(fine.flags.all().empty(), all(fine));
}

TEST_CASE("missing data stored as a number the unit cannot have is named with its cells") {
  MadeSeason season;
  season.rasters["moisture.tif"].has_nodata = false;
  season.rasters["moisture.tif"].value = [](int col, int row) { return row < 2 ? 255 : 10 + col / 4; };
  season.rasters["elevation.tif"].value = [](int col, int row) { return row == 0 ? -9999 : 250 + col; };
  const auto result = season.check();
  const auto found = of(result, "missing data as a number");
  REQUIRE_MESSAGE(found.size() == 2, all(result));
  CHECK(has(found[0].meaning, "320 cells of moisture are 255, which no percent can be"));
  CHECK(has(found[0].remedy, "declare 255 as no data"));
  CHECK(has(found[1].meaning, "160 cells of elevation are -9999, which no height can be"));
  CHECK(of(result, "range does not fit unit").empty());
}

TEST_CASE("a class in no legend stops with its cells") {
  MadeSeason season;
  season.rasters["cover.tif"].value = [](int col, int row) {
    return row < 43 && col < 28 ? 57 : 1 + col % 3;
  };
  CHECK_FOUND(season.check(), stop, "unknown class", "cover value 57 (1,204 cells) is in no legend.");
}

TEST_CASE("an averaged class layer is one finding, not one for every value") {
  MadeSeason season;
  season.rasters["cover.tif"].value = [](int col, int) { return 1 + col; };
  const auto result = season.check();
  CHECK_FOUND(result, stop, "unknown class", "and 152 more are in no legend. Averaging a class layer");
}

TEST_CASE("a class the legend names and the raster lacks is a note") {
  MadeSeason season;
  season.rasters["cover.tif"].value = [](int col, int) { return col < 150 ? 1 : 3; };
  const auto result = season.check();
  CHECK_FOUND(result, note, "class not met", "layer cover has no cell of GL.");
  CHECK(result.verdict == "ready");
}

TEST_CASE("classes on decimals are refused") {
  MadeSeason season;
  season.rasters["cover.tif"].kind = "Float32";
  CHECK_FOUND(season.check(), stop, "classes on decimals", "averaging makes values nobody defined");
}

TEST_CASE("a layer that stops short of a site says the share and the hectares") {
  MadeSeason season;
  // SKP is 760,900–761,200 E: without the columns from 761,110 on, 90 of its 300 m are missing: 2.7 ha.
  season.rasters["moisture.tif"].cols = 111;
  season.rasters["moisture.tif"].value = [](int col, int) { return 10 + col / 3; };
  const auto result = season.check();
  CHECK_FOUND(result, ask, "layer stops short", "moisture has no data on 30.0 % of SKP (2.7 ha).");
  CHECK(result.verdict == "usable with a warning");
}

TEST_CASE("layers that stop at the same place are said together") {
  MadeSeason season;
  for (const char* name : {"moisture.tif", "cover.tif"}) season.rasters[name].cols = 111;
  CHECK_FOUND(season.check(), ask, "layer stops short",
              "cover and moisture have no data on 30.0 % of SKP (2.7 ha).");
}

TEST_CASE("a site outside the layers stops") {
  MadeSeason season;
  season.vectors["sites.gpkg"].features.push_back(
      {square(761700, 4210000, 200), {{"code", "FAR"}, {"name", "Far Field"}}});
  CHECK_FOUND(season.check(), stop, "site outside the layers",
              "FAR lies wholly where cover, moisture and elevation have no data.");
}

TEST_CASE("a layer with nothing in it stops") {
  MadeSeason season;
  season.rasters["moisture.tif"].value = [](int, int) { return 255; };
  const auto result = season.check();
  CHECK_FOUND(result, stop, "no data at all", "layer moisture has no cell with data.");
  CHECK_MESSAGE(of(result, "site outside the layers").empty(), all(result));
}

TEST_CASE("infinite and not-a-number cells count as no data, and the infinite ones are said") {
  MadeSeason season;
  MadeRaster& moisture = season.rasters["moisture.tif"];
  moisture.kind = "Float32";
  moisture.has_nodata = false;
  moisture.value = [](int col, int row) {
    if (row == 0) return std::numeric_limits<double>::quiet_NaN();
    if (row == 1) return std::numeric_limits<double>::infinity();
    return 10.0 + col / 4;
  };
  const auto result = season.check();
  CHECK_FOUND(result, ask, "cells beyond any number",
              "layer moisture has 160 infinite cells (the first at column 0, row 1): taken as no data.");
  CHECK(result.flags.all().size() == 1);
  CHECK(result.layers[1] == "moisture: 10–49 percent; no data on 320 cells (1.2 %); on the grid");
}

TEST_CASE("numbers too large for a cell are named, not taken for declared missing data") {
  MadeSeason season;
  MadeRaster& moisture = season.rasters["moisture.tif"];
  moisture.kind = "Float64";
  moisture.has_nodata = false;
  moisture.value = [](int, int) { return 1e301; };
  const auto result = season.check();
  CHECK_FOUND(result, ask, "cells beyond any number",
              "layer moisture has 25,600 cells beyond 3.4e38 (the first at column 0, row 0)");
  CHECK_FOUND(result, stop, "no data at all", "What its cells hold is no number that a measure can have");
}

TEST_CASE("a truncated raster is named and hides nothing about the others") {
  MadeSeason season;
  season.rasters["elevation.tif"].value = [](int, int) { return 20000; };
  season.write();
  const std::string whole = swardline::read_whole(season / "moisture.tif");
  swardline::write_whole(season / "moisture.tif", whole.substr(0, whole.size() / 2));
  const auto result = swardline::check_season(season / "plan.toml", {2, {}});
  CHECK_FOUND(result, stop, "layer cannot be read", "moisture.tif");
  CHECK(of(result, "range does not fit unit").size() == 1);
}

TEST_CASE("the same is found by one thread and by three") {
  MadeSeason season;
  season.rasters["cover.tif"].value = [](int col, int row) { return (col * 7 + row * 3) % 11; };
  season.rasters["moisture.tif"].value = [](int col, int row) { return row % 40 == 0 ? 0 : 20 + col / 4; };
  const auto one = season.check(1);
  const auto three = season.check(3);
  CHECK(all(one) == all(three));
  CHECK(one.layers == three.layers);
}

}  // namespace rasters_test
