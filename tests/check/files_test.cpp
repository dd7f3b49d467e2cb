#include <filesystem>

#include "made_season.hpp"
#include "swardline/base/files.hpp"

namespace files_test {

using namespace check_test;

TEST_CASE("a store that is no store stops, and nothing is done to it") {
  MadeSeason season;
  season.write();
  swardline::write_whole(season / "garbage.gpkg", "not a database");
  season.change_plan("seed = 2027", "seed = 2027\nstore = \"garbage.gpkg\"");
  CHECK_FOUND(season.check(), stop, "store is no store",
              "named as the store, is not a GeoPackage. Name another");
  CHECK(swardline::read_whole(season / "garbage.gpkg") == "not a database");
  season.change_plan("garbage.gpkg", "sites.gpkg");
  CHECK_FOUND(season.check(), stop, "store is no store", "is a GeoPackage, but not a season's store.");
  season.change_plan("store = \"sites.gpkg\"", "store = \"species\"");
  CHECK_FOUND(season.check(), stop, "store is no store", "is a folder.");
}

TEST_CASE("what stands where output must go stops, each thing by its name") {
  MadeSeason season;
  season.write();
  std::filesystem::create_directories(season / "out/certificate.json");
  for (const char* name : {"score", "held-down", "styles", "maps", "points"})
    swardline::write_whole(season / ("out/" + std::string(name)), "in the way");
  const auto result = season.check();
  const auto found = of(result, "output cannot be written");
  REQUIRE_MESSAGE(found.size() == 6, all(result));
  CHECK(has(found[0].meaning, "out/score is a file, where a folder of the output is needed."));
  CHECK(has(found[5].meaning, "out/certificate.json is a folder, where a file of the output is needed."));
}

TEST_CASE("an output folder that is a file says so") {
  MadeSeason season;
  season.write();
  swardline::write_whole(season / "out", "in the way");
  CHECK_FOUND(season.check(), stop, "output cannot be written",
              "out is a file, where a folder for the output");
}

}  // namespace files_test
