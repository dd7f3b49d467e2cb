#include <fmt/format.h>

#include <cmath>

#include "made_season.hpp"
#include "swardline/geo/crs.hpp"

namespace register_test {

using namespace check_test;

namespace {

void exclude(MadeSeason& season, const std::string& reason, const std::string& wkt, double buffer_m = 0) {
  const std::string file = reason.substr(0, 3) + ".gpkg";
  season.vectors[file].features.push_back({wkt, {}});
  season.add_to_plan(fmt::format("\n[[sites.exclude]]\nsource = \"{}\"\nreason = \"{}\"\nbuffer_m = {}\n",
                                 file, reason, buffer_m));
}

MadeFeature site(const std::string& code, const std::string& name, const std::string& wkt) {
  return {wkt, {{"code", code}, {"name", name}}};
}

}  // namespace

TEST_CASE("a sound season raises nothing and is ready") {
  const MadeSeason season;
  const auto result = season.check();
  CHECK_MESSAGE(result.flags.all().empty(), all(result));
  CHECK(result.verdict == "ready");
  CHECK(result.sites ==
        std::vector<std::string>{"Quill Prairie: 9.0 ha drawn; 9.0 ha will be surveyed.",
                                 "Skep Sand Prairie: 9.0 ha drawn; 9.0 ha will be surveyed."});
  REQUIRE(result.layers.size() == 3);
  CHECK(result.layers[0] == "cover: MP 61.7 %, GL 37.5 %, OW 0.8 %; on the grid");
  CHECK(result.layers[1] == "moisture: 10–57 percent; on the grid");
  CHECK(result.layers[2] == "elevation: 250–488.5 m; on the grid");
  REQUIRE(result.sheets.size() == 1);
  CHECK(has(result.sheets[0], "moisture"));
}

TEST_CASE("the survey area is told in words, by reason") {
  MadeSeason season;
  exclude(season, "water", square(760200, 4210000, 100));
  exclude(season, "no entry", square(760250, 4210000, 100));  // half of it is water already
  const auto result = season.check();
  REQUIRE(result.sites.size() == 2);
  CHECK(result.sites[0] ==
        "Quill Prairie: 9.0 ha drawn, 1.0 ha water, 0.5 ha no entry; 7.5 ha will be surveyed.");
}

TEST_CASE("codes that become dates or numbers stop") {
  for (const auto& [code, becomes] :
       {std::pair{"MAR", "date"}, {"1E5", "number"}, {"007", "number"}, {"TRUE", "truth value"}}) {
    MadeSeason season;
    season.vectors["sites.gpkg"].features[0] = site(code, "Quill Prairie", square(760200, 4210000, 300));
    CHECK_FOUND(season.check(), stop, "code that spreadsheets change",
                fmt::format("code {} becomes a {} in spreadsheets", code, becomes));
  }
}

TEST_CASE("codes with letters that are read as digits are a note, and two that look alike are asked about") {
  MadeSeason season;
  season.vectors["sites.gpkg"].features = {site("QPO", "Quill Prairie", square(760200, 4210000, 300)),
                                           site("QP0", "Skep Sand Prairie", square(760900, 4210300, 300))};
  const auto result = season.check();
  CHECK_FOUND(result, ask, "codes that look alike", "codes QP0 and QPO are one code to a tired eye");
  CHECK_FOUND(result, note, "code with I, O, 0 or 1", "QP0 and QPO hold I, O, 0 or 1");
}

TEST_CASE("codes whose plots would have the same names, or none, stop") {
  MadeSeason season;
  season.vectors["sites.gpkg"].features = {site("AB", "Quill Prairie", square(760200, 4210000, 300)),
                                           site("a/b", "Skep Sand Prairie", square(760900, 4210300, 300))};
  season.vectors["parking.gpkg"].features = {{point(760190, 4210100), {{"site", "AB"}}},
                                             {point(760890, 4210400), {{"site", "a/b"}}}};
  const auto same = season.check();
  CHECK_FOUND(same, stop, "codes with the same plot names",
              "codes AB and a/b give the same plot names: both begin with AB there.");
  season.vectors["sites.gpkg"].features[1].fields["code"] = "Ü-ß";
  CHECK_FOUND(season.check(), stop, "code without a plot name", "code Ü-ß has no letter A to Z and no digit");
}

TEST_CASE("near-duplicate names are asked about") {
  MadeSeason season;
  season.vectors["sites.gpkg"].features.push_back(site("QPT", "Quil Prairie", square(760200, 4209600, 100)));
  CHECK_FOUND(season.check(), ask, "names nearly alike", "may be one site under two spellings");
}

TEST_CASE("one code twice is joined and said; with another name it stops") {
  MadeSeason season;
  season.vectors["sites.gpkg"].features.push_back(site("QPR", "Quill Prairie", square(760500, 4210000, 100)));
  CHECK_FOUND(season.check(), note, "parts joined", "the parts are joined into one site");
  season.vectors["sites.gpkg"].features[2].fields["name"] = "Tanyard Field";
  CHECK_FOUND(season.check(), stop, "one code, two names", "Give one of the two sites another code.");
}

TEST_CASE("overlapping sites stop with their hectares") {
  MadeSeason season;
  season.vectors["sites.gpkg"].features.push_back(site("GRV", "Gravel Slough", square(760400, 4210000, 200)));
  CHECK_FOUND(season.check(), stop, "overlapping sites",
              "GRV and QPR overlap by 2.0 ha: that ground would be drawn and counted twice.");
}

TEST_CASE("a self-crossing ring is mended and said") {
  MadeSeason season;
  season.vectors["sites.gpkg"].features[0].wkt =
      "POLYGON((760200 4210000,760500 4210300,760500 4210000,760200 4210300,760200 4210000))";
  const auto result = season.check();
  CHECK_FOUND(result, note, "mended", "self-crossing ring at 760350.0 4210150.0");
  CHECK(of(result, "mended")[0].place.text() == "sites.gpkg, feature 1");
}

TEST_CASE("a sliver under one plot is asked about") {
  MadeSeason season;
  season.vectors["sites.gpkg"].features.push_back(
      site("SLV", "Sliver",
           "POLYGON((760200 4209600,760203 4209600,760203 4209603,760200 4209603,760200 4209600))"));
  CHECK_FOUND(season.check(), ask, "holds less than one plot",
              "SLV: 9.0 m² will be surveyed and one plot is 20.0 m²");
}

TEST_CASE("a pond the cover does not know is said, and stays cut out") {
  MadeSeason season;
  exclude(season, "pond", square(760250, 4210050, 60));
  const auto result = season.check();
  CHECK_FOUND(
      result, note, "water newer than the layer",
      "cover shows MP on 0.36 ha of the 0.36 ha cut out as pond at QPR: is the water newer than the layer?");
  CHECK(of(result, "water newer than the layer")[0].place.text().find("plan.toml:") == 0);
  CHECK(result.verdict == "ready");
}

TEST_CASE("a pond the cover shows, and ground cut out for another reason, raise nothing") {
  MadeSeason season;
  // The cover's pond is at 760,600–760,700 E, 4,210,200–4,210,400 N.
  season.vectors["sites.gpkg"].features[0].wkt = square(760500, 4210150, 300);
  exclude(season, "water", square(760600, 4210200, 100), 3);
  exclude(season, "no entry", square(760500, 4210150, 50));
  const auto result = season.check();
  CHECK_MESSAGE(result.flags.all().empty(), all(result));
}

TEST_CASE("water inside a longer word is no water") {
  MadeSeason season;
  exclude(season, "watershed works", square(760250, 4210050, 60));
  CHECK(of(season.check(), "water newer than the layer").empty());
}

TEST_CASE("an attribute about a person that is not listed as private is asked about once for all files") {
  MadeSeason season;
  for (MadeFeature& feature : season.vectors["sites.gpkg"].features) feature.fields["Owner_Name"] = "N. Body";
  season.vectors["more.gpkg"].features = {site("TNY", "Tanyard Field", square(760200, 4209600, 100))};
  season.vectors["more.gpkg"].features[0].fields["Owner_Name"] = "N. Body";
  season.change_plan("source = \"sites.gpkg\"", "source = [\"sites.gpkg\", \"more.gpkg\"]");
  const auto result = season.check();
  CHECK_FOUND(result, ask, "looks private",
              "attribute \"Owner_Name\" of more.gpkg and sites.gpkg may be about a person");
  CHECK_MESSAGE(!has(all(result), "Body"), "what the attribute holds is not printed");
  season.change_plan("[\"sites.gpkg\", \"more.gpkg\"]",
                     "[\"sites.gpkg\", \"more.gpkg\"]\nprivate = [\"Owner_Name\"]");
  CHECK(of(season.check(), "looks private").empty());
}

TEST_CASE("sites across the edge of the plan's zone, or beyond it, are said") {
  // 96 W at 38 N in zone 14's numbers, from PROJ.
  const swardline::Point edge =
      swardline::Route(swardline::Crs::wgs84(), swardline::Crs::from_text("EPSG:26914")).forward({-96, 38});
  MadeSeason season;
  for (auto& [name, raster] : season.rasters) {
    raster.west = std::round(edge.x / 10) * 10 - 800;
    raster.north = 4211000;
  }
  season.vectors["sites.gpkg"].features = {
      site("QPR", "Quill Prairie", square(edge.x - 700, 4210000, 300)),
      site("SKP", "Skep Sand Prairie", square(edge.x - 150, 4210000, 300)),
      site("TNY", "Tanyard Field", square(edge.x + 300, 4210000, 300))};
  CHECK_FOUND(
      season.check(), note, "zone edge",
      "SKP lies across 96° W, an edge of UTM zones and TNY lies in another UTM zone; the plan's numbers are "
      "zone 14 throughout.");
}

}  // namespace register_test
