// The demo season's sheets.
#include <limits>
#include <set>

#include "season_folder.hpp"

namespace samples_test {

using namespace swardline;
using namespace swardline::testing;

namespace {

constexpr double inf = std::numeric_limits<double>::infinity();
const auto folder_of_sheets =
    std::filesystem::path(SWARDLINE_SOURCE_DIR) / "samples" / "ambry-valley" / "species";

const std::string valley = R"([season]
name = "Valley"
crs = "EPSG:26914"
seed = 2027
[sites]
source = "sites.gpkg"
[layers.cover]
source = "cover.tif"
classes = { 1 = "OW", 2 = "WW", 3 = "WM", 4 = "MP", 5 = "DP", 6 = "GL", 7 = "WD", 8 = "CF", 9 = "OF", 10 = "RD", 11 = "CR", 12 = "DV" }
[layers.bedrock]
source = "bedrock.tif"
classes = { 1 = "DOL", 2 = "SST", 3 = "CHT", 4 = "SND", 5 = "ALL", 6 = "LOE" }
[layers.moisture]
source = "moisture.tif"
unit = "percent"
[layers.canopy]
source = "canopy.tif"
unit = "percent"
[layers.elevation]
source = "elevation.tif"
unit = "m"
[layers.water_distance]
source = "water.tif"
unit = "m"
[sample]
each = 6
)";

Reading demo() {
  std::map<std::string, std::string> sheets;
  for (const auto& entry : std::filesystem::directory_iterator(folder_of_sheets)) {
    sheets[entry.path().stem().string()] = read_whole(entry.path());
  }
  return read(valley, sheets);
}

const Sheet& sheet_of(const Season& season, const std::string& code) {
  for (const Sheet& sheet : season.sheets) {
    if (sheet.code == code) return sheet;
  }
  FAIL("no sheet ", code);
  throw Defect("unreachable");
}

const Factor& factor_of(const Sheet& sheet, const std::string& layer) {
  for (const Factor& factor : sheet.factors) {
    if (factor.layer == layer) return factor;
  }
  FAIL(sheet.code, " has no factor ", layer);
  throw Defect("unreachable");
}

std::vector<double> corners(const Sheet& sheet, const std::string& layer) {
  const auto& t = std::get<Trapezoid>(factor_of(sheet, layer).response);
  return {t.a, t.b, t.c, t.d};
}

}  // namespace

TEST_CASE("the demo's twelve sheets read without a flag, ten of them scored") {
  const Reading reading = demo();
  CHECK(reading.all() == "");
  std::set<std::string> scored, monitored;
  for (const Sheet& sheet : reading.season.sheets) (sheet.scored ? scored : monitored).insert(sheet.code);
  CHECK(scored == std::set<std::string>{"PALU", "PARK", "PCAL", "PCOB", "PDIG", "PGRA", "PHIR", "PPAL",
                                        "PTEN", "PTUB"});
  CHECK(monitored == std::set<std::string>{"PGRC", "PLAX"});
  for (const Sheet& sheet : reading.season.sheets) {
    CAPTURE(sheet.code);
    CHECK(sheet.window);
    CHECK_FALSE(sheet.traits.empty());
    CHECK_FALSE(sheet.look_alikes.empty());
    const std::string text = read_whole(folder_of_sheets / (sheet.code + ".toml"));
    CHECK(text.find("illustrative, from memory; the scenario is invented") != std::string::npos);
  }
}

TEST_CASE("the demo's rules hold the agreed numbers") {
  const Season season = demo().season;
  CHECK(corners(sheet_of(season, "PTUB"), "moisture") == std::vector<double>{20, 26, 38, 46});
  CHECK(corners(sheet_of(season, "PTUB"), "heat") == std::vector<double>{0.75, 0.9, 1.06, 1.15});
  CHECK(corners(sheet_of(season, "PHIR"), "slope") == std::vector<double>{0, 8, inf, inf});
  CHECK(corners(sheet_of(season, "PDIG"), "slope") == std::vector<double>{-inf, -inf, 15, 35});
  CHECK(corners(sheet_of(season, "PALU"), "water_distance") == std::vector<double>{-inf, -inf, 250, 900});
  CHECK(factor_of(sheet_of(season, "PALU"), "water_distance").weight == 2);
  const auto& bedrock = std::get<ClassTable>(factor_of(sheet_of(season, "PCOB"), "bedrock").response);
  CHECK(bedrock.scores ==
        std::map<std::string, double>{{"DOL", 1}, {"LOE", 0.6}, {"CHT", 0.5}, {"SST", 0.1}, {"SND", 0.1}});
  CHECK(bedrock.otherwise == 0);
  const auto& cover = std::get<ClassTable>(factor_of(sheet_of(season, "PCOB"), "cover").response);
  CHECK(cover.excluded == std::set<std::string>{"OW", "CR", "DV"});
  CHECK(cover.scores ==
        std::map<std::string, double>{{"GL", 1}, {"DP", 0.8}, {"RD", 0.5}, {"WD", 0.4}, {"OF", 0.2}});
  for (const auto& [code, limit] : {std::pair{"PTUB", 260.0}, {"PALU", 170.0}, {"PTEN", 190.0}}) {
    REQUIRE(sheet_of(season, code).masks.size() == 1);
    CHECK(sheet_of(season, code).masks[0].keep_below == limit);
  }
  CHECK(sheet_of(season, "PARK").sensitivity == "medium");
}

TEST_CASE("the demo's plans and sheets fit each other") {
  for (const char* name : {"plan.toml", "plan-as-received.toml"}) {
    Reading reading;
    reading.season = read_season(folder_of_sheets.parent_path() / name, reading.flags);
    CHECK_MESSAGE(!reading.flags.stopped(), reading.all());
    CHECK(reading.season.sheets.size() == 12);
    CHECK(reading.season.plan.layers.size() == 6);
  }
}

}  // namespace samples_test
