#include <doctest/doctest.h>

#include <fstream>

#include "valley.hpp"

namespace places_test {

using namespace swardline;
using namespace habitat_test;

namespace {

void set_cell(Valley& valley, int x, int y, const std::map<std::string, double>& values) {
  for (const auto& [layer, value] : values) {
    Raster& raster = valley.rasters.at(layer);
    raster.values[std::size_t(y) * std::size_t(raster.cols) + std::size_t(x)] = value;
    valley.write(layer);
  }
}

Point middle(const Valley& valley, int x, int y) {
  const Raster& any = valley.rasters.at("cover");
  return {any.x0 + 10 * x + 5, any.y1 - 10 * y - 5};
}

/// The four places scored by hand in the rule's tests.
void plant_four(Valley& valley) {
  set_cell(valley, 10, 10,
           {{"moisture", 14}, {"cover", 6}, {"bedrock", 1}, {"warmth", 1.02}, {"canopy", 35}});
  set_cell(valley, 20, 10,
           {{"moisture", 20}, {"cover", 7}, {"bedrock", 3}, {"warmth", 0.90}, {"canopy", 55}});
  set_cell(valley, 30, 10,
           {{"moisture", 14}, {"cover", 1}, {"bedrock", 1}, {"warmth", 1.02}, {"canopy", 35}});
  set_cell(valley, 40, 10,
           {{"moisture", 255}, {"cover", 6}, {"bedrock", 1}, {"warmth", 1.02}, {"canopy", 35}});
}

std::string told(const Valley& valley, int x, int y) {
  Flags flags;
  const Layers layers = valley.open(flags);
  flags.throw_if_stopped();
  return in_words(explain(valley.season, layers, middle(valley, x, y)), valley.season, "Here");
}

std::string feature(const std::string& properties, const std::string& geometry) {
  return R"({"type":"Feature","properties":{)" + properties + R"(},"geometry":)" + geometry + "}";
}
std::string point_at(Point at) {
  return R"({"type":"Point","coordinates":[)" + std::to_string(at.x) + "," + std::to_string(at.y) + "]}";
}
void write_patches(Valley& valley, const std::vector<std::string>& features) {
  const std::filesystem::path path = valley.folder / "patches.geojson";
  std::ofstream out(path);
  out << R"({"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::26914"}},)"
      << R"("features":[)";
  for (std::size_t i = 0; i < features.size(); ++i) out << (i ? "," : "") << features[i];
  out << "]}";
  valley.season.plan.known = SourceSpec{path, "", "", {"plan.toml", 5, "known"}};
}
std::vector<PatchScore> patches_of(const Valley& valley, Flags& flags) {
  const Layers layers = valley.open(flags);
  return score_patches(valley.season, layers, Crs::from_text(valley.season.plan.crs), flags);
}

}  // namespace

TEST_CASE("A place is explained factor by factor, with what holds it down first") {
  Valley valley(60, 50);
  plant_four(valley);
  valley.season.sheets[0].factors[3].why = "no flowers under closed woods";
  const std::string a = told(valley, 10, 10);
  CHECK(a.find("PCOB Penstemon cobaea: 0.914. Held down by canopy.") != std::string::npos);
  CHECK(a.find("canopy (modifying, weight 2): 35 % gives 0.71. Why: no flowers under closed woods.") !=
        std::string::npos);
  CHECK(a.find("moisture (limiting): 14 % gives 1.00.") != std::string::npos);
  const std::string b = told(valley, 20, 10);
  CHECK(b.find("PCOB Penstemon cobaea: 0.325. Held down by cover.") != std::string::npos);
  const auto cover = b.find("cover (limiting): WD gives 0.40."), canopy = b.find("55 % gives 0.14"),
             warmth = b.find("0.9 gives 0.67");
  REQUIRE(warmth != std::string::npos);
  CHECK(cover < canopy);
  CHECK(canopy < warmth);
}

TEST_CASE("The three kinds of nothing never read alike") {
  Valley valley(60, 50);
  plant_four(valley);
  set_cell(valley, 50, 10,
           {{"moisture", 14}, {"cover", 8}, {"bedrock", 1}, {"warmth", 1.02}, {"canopy", 35}});
  const std::string excluded = told(valley, 30, 10), missing = told(valley, 40, 10),
                    zero = told(valley, 50, 10);
  CHECK(excluded.find("PCOB Penstemon cobaea: Excluded: cover OW.") != std::string::npos);
  CHECK(excluded.find("No score") == std::string::npos);
  CHECK(missing.find("PCOB Penstemon cobaea: No score: moisture has no data here.") != std::string::npos);
  CHECK(missing.find("moisture (limiting): no data.") != std::string::npos);
  CHECK(missing.find("Excluded") == std::string::npos);
  CHECK(zero.find("PCOB Penstemon cobaea: 0.000. Held down by cover.") != std::string::npos);
  CHECK(zero.find("CF, not listed, gives 0.00.") != std::string::npos);
}

TEST_CASE("Beyond the layers there is no score, and a value in no legend is told") {
  Valley valley(60, 50);
  CHECK(told(valley, -400, 10).find("No score: moisture has no data here.") != std::string::npos);
  set_cell(valley, 3, 3, {{"cover", 57}, {"moisture", 30}, {"bedrock", 1}});
  CHECK(told(valley, 3, 3).find("No score: cover (value 57 is in no legend).") != std::string::npos);
}

TEST_CASE("A mask says the value and what it keeps") {
  Valley valley(60, 50);
  set_cell(valley, 5, 5, {{"moisture", 30}, {"cover", 3}, {"elevation", 312}});
  const std::string text = told(valley, 5, 5);
  CHECK(text.find("PTUB Penstemon tubaeflorus: Excluded: elevation at or above 260.") != std::string::npos);
  CHECK(text.find("elevation (mask): 312 m, and only ground below 260 m is scored.") != std::string::npos);
}

TEST_CASE("Known patches are scored at their point or best-covered cell, and ranked by species") {
  Valley valley(60, 50);
  plant_four(valley);
  const Point a = middle(valley, 10, 10);
  // A polygon mostly over the first cell, touching its neighbours.
  std::string ring;
  for (const auto& [dx, dy] :
       {std::pair{-6, -5}, std::pair{6, -5}, std::pair{6, 5}, std::pair{-6, 5}, std::pair{-6, -5}})
    ring += (ring.empty() ? "[" : ",[") + std::to_string(a.x + dx) + "," + std::to_string(a.y + dy) + "]";
  write_patches(valley,
                {feature(R"("name":"ford","species":"PCOB","here":"yes")", point_at(middle(valley, 20, 10))),
                 feature(R"("name":"ledge","species":"PCOB","here":"yes")",
                         R"({"type":"Polygon","coordinates":[[)" + ring + "]]}"),
                 feature(R"("name":"pond","species":"PCOB","here":"no")", point_at(middle(valley, 30, 10))),
                 feature(R"("name":"gap","species":"PCOB","here":"No")", point_at(middle(valley, 40, 10)))});
  Flags flags;
  const std::vector<PatchScore> patches = patches_of(valley, flags);
  CHECK(flags.all().empty());  // known not to be on excluded ground is as it should be
  REQUIRE(patches.size() == 4);
  CHECK(patches[0].patch == "ledge");
  CHECK(patches[0].rank == 1);
  CHECK(percent(patches[0].cell.score) == 91);
  CHECK(valley.season.sheets[0].factors[*patches[0].cell.held_down_by].layer == "canopy");
  CHECK(patches[1].patch == "ford");
  CHECK(patches[1].rank == 2);
  CHECK(patches[1].here);
  CHECK(patches[2].patch == "pond");
  CHECK(patches[2].cell.outcome == Outcome::excluded);
  CHECK(patches[2].rank == 3);
  CHECK_FALSE(patches[2].here);
  CHECK(patches[3].cell.outcome == Outcome::no_score);
  CHECK(patches[3].rank == 0);
}

TEST_CASE("A plant known to be where its rule excludes the ground is asked about") {
  Valley valley(60, 50);
  plant_four(valley);
  write_patches(
      valley, {feature(R"("name":"ford","species":"PCOB","here":"yes")", point_at(middle(valley, 20, 10))),
               feature(R"("name":"pond","species":"PCOB","here":"yes")", point_at(middle(valley, 30, 10)))});
  Flags flags;
  (void)patches_of(valley, flags);
  REQUIRE(flags.all().size() == 1);
  CHECK(flags.all()[0].severity == Severity::ask);
  CHECK(flags.all()[0].meaning ==
        "PCOB is known to grow at patch pond, and its rule excludes that ground (cover OW).");
}

TEST_CASE("Patches that cannot be used are stopped one by one, with the nearest code") {
  Valley valley(60, 50);
  const std::string place = point_at(middle(valley, 1, 1));
  write_patches(valley,
                {feature(R"("species":"PCOB","here":"maybe")", place),
                 feature(R"("species":"PCBO","here":"yes")", place),
                 feature(R"("species":"PCOB","here":"yes")",
                         R"({"type":"LineString","coordinates":[[600005,4199995],[600105,4199905]]})")});
  Flags flags;
  CHECK(patches_of(valley, flags).empty());
  CHECK(flags.count(Severity::stop) == 3);
  CHECK(flags.all()[1].remedy.find("PCOB") != std::string::npos);
}

TEST_CASE("Patches without the attribute are a STOP that names it") {
  Valley valley(60, 50);
  write_patches(valley, {feature(R"("species":"PCOB")", point_at(middle(valley, 1, 1)))});
  Flags flags;
  CHECK(patches_of(valley, flags).empty());
  REQUIRE(flags.count(Severity::stop) == 1);
  CHECK(flags.all().back().meaning.find("\"here\"") != std::string::npos);
}

TEST_CASE("A season without known patches has none to score") {
  Valley valley(60, 50);
  Flags flags;
  CHECK(patches_of(valley, flags).empty());
  CHECK(flags.all().empty());
}

}  // namespace places_test
