#include <doctest/doctest.h>

#include <cmath>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "valley.hpp"

namespace season_test {

using namespace swardline;
using namespace habitat_test;

namespace {

const SiteSpeciesScores& row_of(const ScoreResult& result, const std::string& site,
                                const std::string& species) {
  for (const SiteSpeciesScores& row : result.table)
    if (row.site == site && row.species == species) return row;
  FAIL("no row ", site, " ", species);
  return result.table.front();
}

double all_m2(const SiteSpeciesScores& row) {
  double all = row.excluded_m2 + row.no_score_m2;
  for (const double m2 : row.band_m2) all += m2;
  return all;
}

void check_same(const ScoreResult& a, const ScoreResult& b) {
  REQUIRE(a.table.size() == b.table.size());
  for (std::size_t i = 0; i < a.table.size(); ++i) {
    CHECK(a.table[i].site == b.table[i].site);
    CHECK(a.table[i].species == b.table[i].species);
    CHECK(a.table[i].band_m2 == b.table[i].band_m2);
    CHECK(a.table[i].excluded_m2 == b.table[i].excluded_m2);
    CHECK(a.table[i].no_score_m2 == b.table[i].no_score_m2);
    CHECK(a.table[i].reweighted_share == b.table[i].reweighted_share);
    CHECK(
        (a.table[i].mean == b.table[i].mean || (std::isnan(a.table[i].mean) && std::isnan(b.table[i].mean))));
  }
}

}  // namespace

TEST_CASE("Every cell of the maps is what the formula gives, written out by hand") {
  const Valley valley;
  const ScoreResult result = valley.score(valley.options());
  REQUIRE(result.files.size() == 4);
  const int cols = valley.rasters.at("cover").cols, rows = valley.rasters.at("cover").rows;
  int scored = 0;
  for (const auto& [code, by_hand] :
       {std::pair{"PCOB", &cobaea_by_hand}, std::pair{"PTUB", &tubaeflorus_by_hand}}) {
    const std::vector<double> map =
        read_raster(valley.options().out / "score" / (std::string(code) + ".tif"));
    REQUIRE(map.size() == std::size_t(cols * rows));
    for (int y = 0; y < rows; ++y)
      for (int x = 0; x < cols; ++x) {
        const double hundred = by_hand(valley, x, y), got = map[std::size_t(y * cols + x)];
        if (std::isnan(hundred)) {
          REQUIRE(got == 255);
          continue;
        }
        ++scored;
        if (std::abs(hundred - std::floor(hundred) - 0.5) > 1e-3) REQUIRE(got == std::floor(hundred + 0.5));
      }
  }
  CHECK(scored > cols * rows / 2);
}

TEST_CASE("One thread and several give the same pixels and the same table") {
  const Valley valley;
  const ScoreResult one = valley.score(valley.options(1));
  for (const int threads : {2, 5}) {
    const ScoreResult many = valley.score(valley.options(threads));
    check_same(one, many);
    REQUIRE(one.files.size() == many.files.size());
    for (std::size_t f = 0; f < one.files.size(); ++f)
      CHECK(read_raster(one.files[f]) == read_raster(many.files[f]));
    CHECK(one.fingerprint == many.fingerprint);
  }
}

TEST_CASE("Tables alone are the same as tables with maps, and write nothing") {
  const Valley valley;
  const ScoreResult with = valley.score(valley.options(1));
  ScoreOptions options = valley.options(3);
  options.maps = false;
  const ScoreResult without = valley.score(options);
  check_same(with, without);
  CHECK(without.files.empty());
  CHECK_FALSE(std::filesystem::exists(options.out));
}

TEST_CASE("A site's areas add up to its polygon's, and 'all' to the union of the sites") {
  Valley valley;
  ScoreOptions options = valley.options();
  options.maps = false;
  const ScoreResult result = valley.score(options);
  for (const NamedArea& site : valley.sites)
    for (const char* code : {"PCOB", "PTUB"})
      CHECK(all_m2(row_of(result, site.code, code)) == doctest::Approx(site.area.area()).epsilon(1e-6));
  // Quill Prairie and Candlerock overlap: that ground counts once.
  const Geometry together = united({valley.sites[0].area, valley.sites[1].area, valley.sites[2].area});
  CHECK(together.area() <
        valley.sites[0].area.area() + valley.sites[1].area.area() + valley.sites[2].area.area() - 1000);
  CHECK(all_m2(row_of(result, "all", "PCOB")) == doctest::Approx(together.area()).epsilon(1e-6));
  CHECK(result.table.front().site == "QPR");
  CHECK(result.table.back().site == "all");
}

TEST_CASE("Hectares per band are those of the cells cut with the polygon, one by one") {
  Valley valley(60, 50);
  const Raster& any = valley.rasters.at("cover");
  const Geometry area =
      polygon({{any.x0 + 33, any.y1 - 41}, {any.x0 + 555, any.y1 - 77}, {any.x0 + 303, any.y1 - 455}});
  valley.sites = {{"QPR", "Quill Prairie", area}};
  ScoreOptions options = valley.options();
  options.maps = false;
  const ScoreResult result = valley.score(options);
  const SiteSpeciesScores& row = row_of(result, "QPR", "PCOB");
  std::vector<double> bands(4);
  double weighted = 0, scored = 0, none = 0, reweighted = 0;
  for (int y = 0; y < 50; ++y)
    for (int x = 0; x < 60; ++x) {
      const Box box{any.x0 + x * 10, any.y1 - y * 10 - 10, any.x0 + x * 10 + 10, any.y1 - y * 10};
      const double m2 = intersection(area, box_polygon(box)).area();
      const double hundred = cobaea_by_hand(valley, x, y);
      if (std::isnan(hundred)) {
        none += m2;
        continue;
      }
      const int percent = int(std::floor(hundred + 0.5));
      bands[band_of(options.bands, percent)] += m2;
      weighted += m2 * percent / 100.0;
      scored += m2;
      if (valley.value("canopy", x, y).none || valley.value("warmth", x, y).none) reweighted += m2;
    }
  for (std::size_t b = 0; b < 4; ++b) CHECK(row.band_m2[b] == doctest::Approx(bands[b]).epsilon(1e-6));
  CHECK(row.excluded_m2 + row.no_score_m2 == doctest::Approx(none).epsilon(1e-6));
  CHECK(row.excluded_m2 > 0);
  CHECK(row.no_score_m2 > 0);
  CHECK(row.mean == doctest::Approx(weighted / scored).epsilon(1e-6));
  CHECK(row.reweighted_share == doctest::Approx(reweighted / scored).epsilon(1e-6));
  CHECK(row.reweighted_share > 0);
}

TEST_CASE("Ground of a site beyond the layers has no score and still counts") {
  Valley valley(60, 50);
  const Raster& any = valley.rasters.at("cover");
  const Geometry area = box_polygon({any.x0 - 335, any.y1 - 200, any.x0 + 105, any.y1 + 1234.5});
  valley.sites = {{"PEL", "Pell Road", area}};
  for (const bool maps : {true, false}) {
    ScoreOptions options = valley.options();
    options.maps = maps;
    const ScoreResult result = valley.score(options);
    const SiteSpeciesScores& row = row_of(result, "PEL", "PTUB");
    CHECK(all_m2(row) == doctest::Approx(area.area()).epsilon(1e-6));
    CHECK(row.no_score_m2 > area.area() - 105.0 * 200);
    CHECK(row.no_score_m2 < area.area());
  }
}

TEST_CASE("A class value no legend names fails the run with value and cell count, and leaves no file") {
  Valley valley;
  Raster& cover = valley.rasters.at("cover");
  int planted = 0;
  for (std::size_t i = 11; i < cover.values.size() && planted < 1204; i += 61, ++planted)
    cover.values[i] = 57;
  cover.values[5] = 99;
  REQUIRE(planted == 1204);
  valley.write("cover");
  for (const int threads : {1, 2}) {
    const ScoreOptions options = valley.options(threads);
    std::string what;
    try {
      (void)valley.score(options);
    } catch (const InputError& error) {
      what = error.what();
    }
    CHECK(what.find("cover values 57 (1,204 cells) and 99 (1 cell) are in no legend.") != std::string::npos);
    CHECK(what.find("[layers.cover]") != std::string::npos);
    for (const char* kind : {"score", "held-down"})
      for (const auto& file : std::filesystem::directory_iterator(options.out / kind))
        FAIL("left behind: ", file.path());
  }
}

TEST_CASE("One unknown value reads as a sentence") {
  Valley valley(60, 50);
  valley.rasters.at("cover").values[77] = 57;
  valley.write("cover");
  std::string what;
  try {
    (void)valley.score(valley.options());
  } catch (const InputError& error) {
    what = error.what();
  }
  CHECK(what.find("cover value 57 (1 cell) is in no legend.") != std::string::npos);
}

TEST_CASE("The fingerprint changes with a number of a rule, and a season without scored species says so") {
  Valley valley(60, 50);
  ScoreOptions options = valley.options();
  options.maps = false;
  const std::string before = valley.score(options).fingerprint;
  std::get<Trapezoid>(valley.season.sheets[0].factors[0].response).a = 4.5;
  CHECK(valley.score(options).fingerprint != before);
  for (Sheet& sheet : valley.season.sheets) sheet.scored = false;
  CHECK(valley.score(valley.options()).files.empty());
  CHECK(valley.score(options).table.empty());
}

TEST_CASE("A site of which much has no score is pointed out once, with the species") {
  Valley valley(60, 50);
  const Raster& any = valley.rasters.at("cover");
  valley.sites = {
      {"PEL", "Pell Road", box_polygon({any.x0 - 500, any.y1 - 200, any.x0 + 105, any.y1})},
      {"QPR", "Quill Prairie", box_polygon({any.x0 + 10, any.y1 - 400, any.x0 + 505, any.y1 - 10})}};
  ScoreOptions options = valley.options();
  options.maps = false;
  Flags flags;
  const Layers layers = valley.open(flags);
  const Model model = Model::compile(valley.season, layers, flags);
  (void)score_season(valley.season, layers, model, valley.sites, options, flags);
  REQUIRE(flags.count(Severity::ask) == 1);
  for (const Flag& flag : flags.all()) {
    if (flag.severity != Severity::ask) continue;
    CHECK(flag.place.item == "PEL");
    CHECK(flag.meaning.find("no score for PCOB and PTUB") != std::string::npos);
  }
}

}  // namespace season_test
