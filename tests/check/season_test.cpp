#include <cstdlib>

#include "made_season.hpp"
#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"

namespace season_test {

using namespace check_test;
using swardline::Severity;

namespace {

/// A copy of the demo season, gone when the test ends.
class Demo {
 public:
  Demo() {
    std::string pattern = (std::filesystem::temp_directory_path() / "swardline-demo-XXXXXX").string();
    REQUIRE(mkdtemp(pattern.data()) != nullptr);
    folder_ = pattern;
    std::filesystem::copy(std::filesystem::path(SWARDLINE_SOURCE_DIR) / "samples" / "ambry-valley", folder_,
                          std::filesystem::copy_options::recursive);
  }
  ~Demo() {
    std::error_code ignored;
    std::filesystem::remove_all(folder_, ignored);
  }
  Demo(const Demo&) = delete;
  Demo& operator=(const Demo&) = delete;
  [[nodiscard]] const std::filesystem::path& folder() const { return folder_; }
  [[nodiscard]] swardline::CheckResult check(const std::string& plan) const {
    return swardline::check_season(folder_ / plan, {2, {}});
  }

 private:
  std::filesystem::path folder_;
};

bool any_has(const std::vector<std::string>& lines, const std::string& piece) {
  for (const std::string& line : lines)
    if (has(line, piece)) return true;
  return false;
}

}  // namespace

TEST_CASE("the demo as received shows what was planted in it, in one pass") {
  const Demo demo;
  const auto result = demo.check("plan-as-received.toml");
  CHECK_FOUND(result, stop, "no coordinate system", "quill-prairie.shp has no coordinate system");
  CHECK_FOUND(result, stop, "overlapping sites", "GRV and HDR overlap by 0.6 ha");
  CHECK_FOUND(result, note, "mended", "site GRV: self-crossing ring");
  CHECK_FOUND(result, ask, "looks private", "attribute \"owner\"");
  CHECK_FOUND(result, note, "zone edge", "SKP lie across 96° W");
  CHECK_FOUND(result, ask, "layer stops short", "of NBK");
  CHECK_MESSAGE(of(result, "access point of no site").empty(), "a file that was not read is said once");
  CHECK(any_has(result.routes, "skep-east.gpkg: NAD83 / UTM zone 15N to NAD83 / UTM zone 14N"));
  CHECK(any_has(result.sites, "Flintlatch Glade: 0.11 ha drawn"));
  CHECK(result.verdict == "not usable");
}

TEST_CASE("the demo put right can be used, and says what it rests on") {
  const Demo demo;
  const auto result = demo.check("plan.toml");
  CHECK_MESSAGE(!result.flags.stopped(), all(result));
  CHECK(any_has(result.sites,
                "Candlerock Glade: 3.1 ha drawn, 0.4 ha water, 0.2 ha no entry; 2.5 ha will be surveyed."));
  CHECK(any_has(result.routes, "quill-prairie.shp: NAD27"));
  const auto ponds = of(result, "water newer than the layer");
  REQUIRE(!ponds.empty());
  CHECK(has(ponds[0].meaning, "cut out as water at CND"));
  CHECK(of(result, "looks private").empty());
  CHECK(result.verdict == "usable with a warning");
}

TEST_CASE("the demo with Quill Prairie declared in the wrong datum is found by its known patch") {
  const Demo demo;
  const auto plan = demo.folder() / "plan.toml";
  std::string text = swardline::read_whole(plan);
  const auto at = text.find("EPSG:26714");
  REQUIRE(at != std::string::npos);
  swardline::write_whole(plan, text.replace(at, 10, "EPSG:26914"));
  const auto result = demo.check("plan.toml");
  // NADCON (NOAA Technical Memorandum NOS NGS-50) moves zone 14 numbers hereabouts by some 211 m.
  CHECK_FOUND(result, ask, "looks like another datum", "QPR sits 21");
  CHECK_FOUND(result, ask, "looks like another datum", "looks like NAD27 read as NAD83 / UTM zone 14N");
}

TEST_CASE("everything wrong is found at once, the worst first") {
  MadeSeason season;
  season.rasters["moisture.tif"].kind = "UInt16";
  season.rasters["moisture.tif"].value = [](int col, int) { return col * 612 / 159; };
  season.rasters["cover.tif"].value = [](int col, int) { return col < 3 ? 57 : 1; };
  season.rasters["elevation.tif"].west = MadeSeason::west + 5;
  season.vectors["sites.gpkg"].features = {
      {square(760200, 4210000, 300), {{"code", "MAR"}, {"name", "March Field"}, {"phone", "1"}}},
      {square(760400, 4210000, 300), {{"code", "SKP"}, {"name", "Skep"}, {"phone", "2"}}},
      {square(761700, 4210000, 100), {{"code", "FAR"}, {"name", "Far Field"}, {"phone", "3"}}}};
  season.change_plan("seed = 2027", "seed = 2027\nknown = \"nowhere.gpkg\"");
  season.vectors["parking.gpkg"].features.resize(1);
  season.vectors["parking.gpkg"].features[0].fields["site"] = "SKP";
  season.sheets["PTUB.toml"] += "[[factor]]\nlayer = \"canopy\"\ntrapezoid = [20, 26, 38, 46]\n";
  const auto result = season.check();
  for (const char* check :
       {"range does not fit unit", "unknown class", "cells do not line up", "looks private",
        "code that spreadsheets change", "overlapping sites", "site outside the layers",
        "file cannot be opened", "layer missing", "class not met", "layer warped", "no access point"})
    CHECK_MESSAGE(!of(result, check).empty(), std::string(check) << " is missing from\n" << all(result));
  Severity last = Severity::stop;
  for (const swardline::Flag& flag : result.flags.all()) {
    CHECK(int(flag.severity) >= int(last));
    last = flag.severity;
    CHECK_MESSAGE(!flag.meaning.empty(), flag.check);
    if (flag.severity != Severity::note)
      CHECK_MESSAGE(!flag.remedy.empty(), flag.check << ": " << flag.meaning);
  }
}

TEST_CASE("the same finding on many features of a file is one line") {
  MadeSeason season;
  season.vectors["parking.gpkg"].features.clear();
  for (int i = 0; i < 6; ++i)
    season.vectors["parking.gpkg"].features.push_back({point(760200, 4210000), {{"site", "QPX"}}});
  const auto result = season.check();
  const auto found = of(result, "access point of no site");
  REQUIRE_MESSAGE(found.size() == 1, all(result));
  CHECK(found[0].place.text() == "parking.gpkg, feature 1, feature 2, feature 3 and 3 more");
}

TEST_CASE("an output folder that cannot be written is said before any work") {
  MadeSeason season;
  season.change_plan("seed = 2027", "seed = 2027\nout = \"/proc/out\"");
  CHECK_FOUND(season.check(), stop, "output cannot be written", "the folder /proc cannot be written.");
}

TEST_CASE("a geographic plan system stops, and names the zone of the sites") {
  MadeSeason season;
  season.change_plan("EPSG:26914", "EPSG:4326");
  CHECK_FOUND(season.check(), stop, "plan system is geographic", "EPSG:32614");
}

TEST_CASE("a plan that is not there or no TOML ends the check") {
  const MadeSeason season;
  season.write();
  CHECK_THROWS_AS((void)swardline::check_season(season / "nothing.toml", {1, {}}), swardline::Error);
  CHECK_THROWS_AS((void)swardline::check_season(season / "sites.gpkg", {1, {}}), swardline::InputError);
}

TEST_CASE("checking changes no file") {
  const MadeSeason season;
  season.write();
  const auto names = [&] {
    std::map<std::string, std::uintmax_t> sizes;
    for (const auto& entry : std::filesystem::recursive_directory_iterator(season / ""))
      if (entry.is_regular_file()) sizes[entry.path().string()] = entry.file_size();
    return sizes;
  };
  const auto before = names();
  (void)swardline::check_season(season / "plan.toml", {1, {}});
  CHECK(names() == before);
}

}  // namespace season_test
