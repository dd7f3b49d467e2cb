#include "made_season.hpp"

namespace alignment_test {

using namespace check_test;

TEST_CASE("rasters half a cell off the others are asked about, with the metres") {
  MadeSeason season;
  season.rasters["moisture.tif"].west = MadeSeason::west + 5;
  season.rasters["moisture.tif"].north = MadeSeason::north - 5;
  const auto result = season.check();
  CHECK_FOUND(result, ask, "cells do not line up",
              "moisture lies half a cell off cover (5 m east-west, 5 m north-south)");
  CHECK(of(result, "cells do not line up")[0].place.text().find("plan.toml:") == 0);
  CHECK_FOUND(result, note, "layer warped", "layer moisture: warped");
}

TEST_CASE("the one layer that is off is named, also when the plan names it first") {
  MadeSeason season;
  season.rasters["cover.tif"].west = MadeSeason::west + 2.5;
  CHECK_FOUND(season.check(), ask, "cells do not line up", "cover lies 0.25 of a cell off moisture");
}

TEST_CASE("cells of another size are warped and said, and not asked about") {
  MadeSeason season;
  MadeRaster& moisture = season.rasters["moisture.tif"];
  moisture.cell = 32;
  moisture.cols = moisture.rows = 50;
  moisture.value = [](int col, int) { return 10 + col; };
  const auto result = season.check();
  CHECK_FOUND(result, note, "layer warped", "32 m cells, bilinear");
  CHECK_MESSAGE(of(result, "cells do not line up").empty(), all(result));
  CHECK(result.verdict == "ready");
}

TEST_CASE("a whole-cell offset between rasters of one cell size is no fault") {
  MadeSeason season;
  season.rasters["moisture.tif"].west = MadeSeason::west - 120;
  season.rasters["moisture.tif"].cols = 180;
  season.rasters["moisture.tif"].value = [](int col, int) { return 10 + col / 4; };
  CHECK_MESSAGE(of(season.check(), "cells do not line up").empty(), "");
}

TEST_CASE("a raster in another system is warped with its route and accuracy printed") {
  MadeSeason season;
  MadeRaster& moisture = season.rasters["moisture.tif"];
  moisture.crs = "EPSG:26714";  // NAD27 / UTM zone 14N
  moisture.west = 759800;
  moisture.north = 4211200;
  moisture.cols = moisture.rows = 220;
  moisture.value = [](int col, int) { return 10 + col / 5; };
  const auto result = season.check();
  REQUIRE_MESSAGE(result.routes.size() == 1, all(result));
  CHECK(has(result.routes[0], "moisture.tif: "));
  CHECK(has(result.routes[0], "accuracy"));
  // With the datum grid installed the route is good to centimetres and nothing is asked.
  const auto coarse = of(result, "coarse datum route");
  CHECK(coarse.size() == (has(result.routes[0], "not installed") ? 1 : 0));
}

TEST_CASE("a raster in another place than the rest stops, and the land between is not read") {
  MadeSeason season;
  season.rasters["moisture.tif"].west = MadeSeason::west - 500000;
  const auto result = season.check();
  CHECK_FOUND(result, stop, "layer lies apart", "moisture lies 500 km west of cover");
  CHECK_FOUND(result, stop, "layer outside the sites", "moisture has no data on any of the 2 sites");
  CHECK_MESSAGE(of(result, "site outside the layers").empty(), all(result));
}

TEST_CASE("a file that names its own unit must agree with the plan") {
  MadeSeason season;
  season.rasters["elevation.tif"].unit = "ft";
  CHECK_FOUND(season.check(), stop, "unit declared twice",
              "in feet (\"ft\"), and the plan says m. If the file");
  season.change_plan("unit = \"m\"", "unit = \"m\"\nscale = 0.3048");
  CHECK(of(season.check(), "unit declared twice").empty());
  season.rasters["elevation.tif"].unit = "metre";
  season.change_plan("\nscale = 0.3048", "");
  const auto result = season.check();
  CHECK_MESSAGE(result.flags.all().empty(), all(result));
}

TEST_CASE("a raster without a coordinate system stops, and the others are still looked at") {
  MadeSeason season;
  season.rasters["moisture.tif"].crs = "";
  season.rasters["elevation.tif"].unit = "feet";
  const auto result = season.check();
  CHECK_FOUND(result, stop, "no coordinate system",
              "layer moisture has no coordinate system. Nothing was guessed.");
  CHECK(of(result, "unit declared twice").size() == 1);
}

}  // namespace alignment_test
