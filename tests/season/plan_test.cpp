// What a plan reads as.
#include <cmath>

#include "season_folder.hpp"

namespace plan_test {

using namespace swardline;
using namespace swardline::testing;

TEST_CASE("a short plan reads with its defaults and nothing is flagged") {
  const Reading reading = read_plan_only(sound_plan);
  CHECK(reading.all() == "");
  const Plan& plan = reading.season.plan;
  CHECK(plan.name == "Test");
  CHECK(plan.crs == "EPSG:26914");
  CHECK(plan.crs_place.text() == "plan.toml:3");
  CHECK(plan.seed == 2027);
  CHECK(plan.store == (plan.folder / "season.gpkg").string());
  CHECK(plan.out == plan.folder / "out");
  CHECK_FALSE(plan.known);
  REQUIRE(plan.sites.sources.size() == 1);
  CHECK(plan.sites.sources[0].file == plan.folder / "sites.gpkg");
  CHECK(plan.sites.sources[0].place.text() == "plan.toml:6");
  CHECK(plan.sites.code == "code");
  CHECK(plan.strata.by == std::vector<std::string>{"site", "score"});
  CHECK(plan.strata.bands == std::vector<double>{0.25, 0.5, 0.75});
  CHECK(plan.sample.total == 24);
  CHECK_FALSE(plan.sample.each);
  CHECK(plan.sample.shape == UnitShape::belt);
  CHECK(plan.sample.allocation == Allocation::proportional);
  CHECK(plan.sample.least_per_stratum == 4);
  CHECK(plan.sample.spares == 0.5);
  CHECK_FALSE(plan.sample.bearing_deg);
  CHECK(plan.points.name_profile == "free");
  CHECK(plan.points.formats == std::vector<std::string>{"gpx"});
}

TEST_CASE("layers keep the plan's order, and know classes from measures") {
  const std::string swapped =
      with(sound_plan, "[layers.cover]",
           "[layers.water_distance]\nsource=\"w.tif\"\nscale=0.5\nband=2\n[layers.cover]");
  const Reading reading = read_plan_only(swapped);
  CHECK(reading.all() == "");
  const Plan& plan = reading.season.plan;
  REQUIRE(plan.layers.size() == 4);
  CHECK(plan.layers[0].name == "water_distance");
  CHECK(plan.layers[0].scale == 0.5);
  CHECK(plan.layers[0].band == 2);
  CHECK(plan.layers[1].name == "cover");
  CHECK(plan.layers[1].is_classes());
  CHECK(plan.layers[1].classes == std::map<long long, std::string>{{1, "OW"}, {2, "WM"}, {3, "MP"}});
  CHECK(plan.layers[2].name == "moisture");
  CHECK_FALSE(plan.layers[2].is_classes());
  CHECK(plan.layer("moisture") == &plan.layers[2]);
  CHECK(plan.layer("canopy") == nullptr);
}

TEST_CASE("a source is a file name, a table, or a list of both; absolute names stay") {
  const std::string plan = with(
      sound_plan, "source = \"sites.gpkg\"",
      "source = [\"a/../a.gpkg\", { file = \"/data/b.gpkg\", layer = \"drawn\", crs = \"EPSG:26714\" }]\n"
      "only = [\"QPR\"]\nprivate = [\"owner\"]\n"
      "exclude = [{ source = \"ponds.gpkg\", buffer_m = 3, reason = \"water\" }]\n"
      "access.start = { file = \"parking.gpkg\" }");
  const Reading reading = read_plan_only(plan);
  CHECK(reading.all() == "");
  const SitesSpec& sites = reading.season.plan.sites;
  REQUIRE(sites.sources.size() == 2);
  CHECK(sites.sources[0].file == reading.season.plan.folder / "a.gpkg");
  CHECK(sites.sources[1].file == "/data/b.gpkg");
  CHECK(sites.sources[1].layer == "drawn");
  CHECK(sites.sources[1].crs == "EPSG:26714");
  CHECK(sites.only == std::vector<std::string>{"QPR"});
  CHECK(sites.private_attributes == std::vector<std::string>{"owner"});
  REQUIRE(sites.exclusions.size() == 1);
  CHECK(sites.exclusions[0].buffer_m == 3);
  CHECK(sites.exclusions[0].reason == "water");
  REQUIRE(sites.access.start);
  CHECK(sites.access.start->file == reading.season.plan.folder / "parking.gpkg");
  CHECK_FALSE(sites.access.barriers);
}

TEST_CASE("a profile of names may be written as a number, and a plot's size as one") {
  const Reading reading =
      read_plan_only(sound_plan +
                     "shape = \"circle\"\nsize_m = 5\nbearing = 45\n[points]\nname_profile = 6\nas = "
                     "[\"csv\", \"kml\", \"csv\"]\n");
  CHECK(reading.all() == "");
  CHECK(reading.season.plan.points.name_profile == "6");
  CHECK(reading.season.plan.points.formats == std::vector<std::string>{"csv", "kml"});
  CHECK(reading.season.plan.sample.shape == UnitShape::circle);
  CHECK(reading.season.plan.sample.size_m[0] == 5);
  CHECK(reading.season.plan.sample.bearing_deg == 45);
}

TEST_CASE("a plot's area and its farthest point follow from its shape") {
  SampleSpec sample;
  sample.shape = UnitShape::belt;
  sample.size_m = {6, 8};
  CHECK(sample.unit_area_m2() == 48);
  CHECK(sample.reach_m() == 5);  // half the diagonal of 6 by 8
  sample.shape = UnitShape::square;
  sample.size_m = {2, 2};
  CHECK(sample.unit_area_m2() == 4);
  CHECK(sample.reach_m() == doctest::Approx(std::sqrt(2.0)));
  sample.shape = UnitShape::circle;
  sample.size_m = {10, 10};
  CHECK(sample.unit_area_m2() == doctest::Approx(314.159265));
  CHECK(sample.reach_m() == 10);
}

TEST_CASE("sheets come by code, whatever their files are named, and only those the pattern names") {
  const auto sheet = [](const std::string& code) {
    return "code = \"" + code + "\"\nname = \"N\"\nscored = false\n";
  };
  const Reading reading = read(with(sound_plan, "seed = 2027", "seed = 2027\nspecies = \"species/s*.toml\"") +
                                   "[strata]\nby = [\"site\"]\n",
                               {{"s1", sheet("PZZZ")}, {"s2", sheet("PAAA")}, {"x", sheet("PXXX")}});
  CHECK(reading.all() == "");
  REQUIRE(reading.season.sheets.size() == 2);
  CHECK(reading.season.sheets[0].code == "PAAA");
  CHECK(reading.season.sheets[0].file == "species/s2.toml");
  CHECK(reading.season.sheets[1].code == "PZZZ");
}

TEST_CASE("a new season folder reads without a flag, and a folder in use is left alone") {
  const TemporaryFolder folder;
  const auto season_folder = folder.path() / "new" / "season";
  start_season(season_folder);
  Flags flags;
  const Season season = read_season(season_folder / "plan.toml", flags);
  CHECK(flags.all().empty());
  CHECK(season.sheets.size() == 2);
  CHECK(season.plan.sample.each == 6);
  const std::string layers = read_whole(season_folder / "layers" / "README.txt");
  for (const LayerSpec& layer : season.plan.layers) {
    CHECK_MESSAGE(layers.find(layer.source.filename().string()) != std::string::npos, layer.name);
  }
  CHECK(layers.find(season.plan.sites.sources.at(0).file.filename().string()) != std::string::npos);
  CHECK_THROWS_WITH_AS(
      start_season(season_folder),
      (season_folder.string() + ": the folder is not empty. Name a new folder for the season.").c_str(),
      IoError);
  CHECK_THROWS_AS(start_season(season_folder / "plan.toml"), IoError);
}

TEST_CASE("commented-out lines of a new plan are keys that read") {
  const TemporaryFolder folder;
  start_season(folder.path());
  std::string text = read_whole(folder.path() / "plan.toml"), open;
  std::size_t opened = 0;
  for (std::size_t at = 0; at < text.size();) {
    const auto end = text.find('\n', at);
    std::string line = text.substr(at, end - at);
    // "# key = value" and "# [table]" are lines to open; prose is not.
    const auto equals = line.find(" = ");
    const bool table = line.starts_with("# [");
    if (line.starts_with("# ") &&
        (table || (equals != std::string::npos &&
                   line.substr(2, line.find(' ', 2) - 2).find_first_not_of("abcdefghijklmnopqrstuvwxyz_") ==
                       std::string::npos &&
                   line.find_first_not_of(' ', line.find(' ', 2)) == line.find('=')))) {
      line = line.substr(2);
      ++opened;
    }
    open += line + '\n';
    at = end + 1;
  }
  CHECK(opened >= 8);
  folder.write("plan.toml", open);
  Flags flags;
  const Season season = read_season(folder.path() / "plan.toml", flags);
  CHECK_MESSAGE(flags.all().empty(), (flags.all().empty() ? "" : flags.all()[0].meaning));
  CHECK(season.plan.known);
  CHECK(season.plan.sites.exclusions.size() == 1);
  CHECK(season.plan.sites.access.start);
  CHECK(season.plan.grid.cell_m == 10);
}

}  // namespace plan_test
