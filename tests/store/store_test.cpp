#include "swardline/store/store.hpp"

#include <doctest/doctest.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cmath>
#include <csignal>
#include <fstream>
#include <memory>
#include <regex>
#include <set>
#include <string>

#include "asked_of_sqlite.hpp"
#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/grid/layers.hpp"
#include "swardline/habitat/band_colours.hpp"

namespace store_test {

using namespace swardline;
namespace fs = std::filesystem;

namespace {

struct TempFolder {
  fs::path path = fs::temp_directory_path() / ("swardline-store-" + std::to_string(::getpid()));
  TempFolder() {
    set_up_gdal();
    fs::remove_all(path);
    fs::create_directories(path);
  }
  ~TempFolder() { fs::remove_all(path); }
};

const Crs& utm14() {
  static const Crs crs = Crs::from_text("EPSG:26914");
  return crs;
}

Sites one_site() {
  Site site;
  site.code = "QPR";
  site.name = "Quill Prairie";
  site.drawn = site.survey = box_polygon({700000, 4200000, 700600, 4200700});
  site.drawn_m2 = site.survey_m2 = 420000;
  Sites sites;
  sites.sites.push_back(site);
  return sites;
}

SeasonDraw draw_of(int plots) {
  SeasonDraw draw;
  draw.certificate.seed = 18446744073709551615ULL;
  Stratum stratum;
  stratum.id = "QPR|score=50-75|v1";
  stratum.site = "QPR";
  stratum.area_mm2 = 420000LL * 1000000;
  stratum.frame_mm2 = 440000LL * 1000000;
  draw.certificate.edge.rule = EdgeRule::grown_frame;
  stratum.planned = plots + 1;  // one did not fit
  stratum.drawn = plots;
  stratum.spares = 2;
  stratum.geodesic_ratio = 1.0004;
  draw.strata.push_back(stratum);
  for (int i = 1; i <= plots; ++i) {
    Plot plot;
    plot.name = "QPR" + std::to_string(100 + i);
    plot.site = "QPR";
    plot.stratum = stratum.id;
    plot.order = i;
    plot.east = 700000 + i;
    plot.north = 4200000 + 2 * i;
    plot.lat = 37.9;
    plot.lon = -96.7;
    plot.plot_m2 = 20;
    plot.pin_outside_m = i == 7 ? 1.25 : 0;
    if (i % 2 == 0) plot.score = 0.5;
    draw.plots.push_back(plot);
  }
  return draw;
}

RunRecord run_of(const char* command) {
  return {command, "0.1.0", "abc", "2027-03-01T00:00:00Z", "2027-03-01T00:00:01Z", 2027};
}

}  // namespace

TEST_CASE("a draw is read back as it was written, empty scores stay empty") {
  const TempFolder folder;
  Store store(folder.path / "season.gpkg");
  CHECK(store.read_plots().empty());
  store.write_draw(utm14(), one_site(), draw_of(7), "Test 2027", run_of("draw"));
  const std::vector<Plot> plots = store.read_plots();
  REQUIRE(plots.size() == 7);
  CHECK(plots[6].name == "QPR107");
  CHECK(plots[6].north == 4200014);
  CHECK(plots[6].plot_m2 == 20);
  CHECK(plots[6].pin_outside_m == 1.25);
  CHECK(ask(folder.path / "season.gpkg", "select edge, area_m2, frame_m2 from strata") ==
        "grown-frame|420000.0|440000.0");
  CHECK_FALSE(plots[0].score.has_value());
  CHECK(plots[1].score == 0.5);
  CHECK(store.read_planned() == std::map<std::string, int>{{"QPR|score=50-75|v1", 8}});
  CHECK(ask(folder.path / "season.gpkg",
            "select planned, spare_planned, drawn, spares_drawn, geodesic_ratio from strata") ==
        "8|2|7|0|1.0004");
  CHECK(store.read_survey_areas().at(0).area.area() == doctest::Approx(420000));
  CHECK(store.inputs_of_last("draw") == "abc");
  CHECK_FALSE(store.inputs_of_last("score").has_value());
  CHECK(store.names_of_other_seasons("Test 2027").empty());
  CHECK(store.names_of_other_seasons("Test 2028").size() == 7);
  CHECK(ask(folder.path / "season.gpkg", "select seed from certificate") == "18446744073709551615");
}

TEST_CASE("writing again replaces the tables, keeps other seasons' names and adds to the runs") {
  const TempFolder folder;
  Store store(folder.path / "season.gpkg");
  store.write_draw(utm14(), one_site(), draw_of(7), "Test 2027", run_of("draw"));
  store.write_draw(utm14(), one_site(), draw_of(3), "Test 2028", run_of("draw"));
  CHECK(store.read_plots().size() == 3);
  CHECK(store.names_of_other_seasons("Test 2028").size() == 7);
  CHECK(ask(folder.path / "season.gpkg", "select count(*) from runs") == "2");
}

TEST_CASE("plots keep their panel, its chance and the season that named them; names of kept seasons stay") {
  const TempFolder folder;
  Store store(folder.path / "season.gpkg");
  SeasonDraw draw = draw_of(3);
  draw.plots[0].panel = "B2";
  draw.plots[0].panel_chance_per_m2 = 0.00125;
  draw.plots[0].first_season = "Test 2026";
  draw.plots[1].status = "resting";
  draw.earlier_names = {{"QPR101", "Test 2026", "QPR|v1|1"}, {"QPR90A", "Test 2025", "x"}};
  draw.certificate.record_fingerprint = "00ff";
  PanelTable panels;
  panels.strata.push_back({"QPR|score=50-75|v1", "B2", 3, 1, 0.00125, {2028, 2032}, true});
  draw.certificate.panels = panels;
  store.write_draw(utm14(), one_site(), draw, "Test 2027", run_of("draw"));
  const std::vector<Plot> plots = store.read_plots();
  CHECK(plots[0].panel == "B2");
  CHECK(plots[0].panel_chance_per_m2 == 0.00125);
  CHECK(plots[0].first_season == "Test 2026");
  CHECK(plots[0].due());
  CHECK_FALSE(plots[1].due());
  const fs::path file = folder.path / "season.gpkg";
  CHECK(ask(file, "select name, first_season from names order by name") ==
        "QPR101|Test 2026\nQPR102|Test 2027\nQPR103|Test 2027\nQPR90A|Test 2025");
  CHECK(ask(file, "select record from strata") == "00ff");
  CHECK(ask(file, "select panel, plots, spares, chance_per_m2, due, this_season from panels") ==
        "B2|3|1|0.00125|2028 2032|1");
  // A redraw replaces this season's names only.
  store.write_draw(utm14(), one_site(), draw_of(0), "Test 2027", run_of("draw"));
  CHECK(ask(file, "select name from names order by name") == "QPR101\nQPR90A");
}

TEST_CASE("a process killed right after the commit leaves index, extent and counts right") {
  const TempFolder folder;
  const fs::path file = folder.path / "season.gpkg";
  const pid_t child = fork();
  if (child == 0) {
    Store(file).write_draw(utm14(), one_site(), draw_of(50), "Test 2027", run_of("draw"));
    kill(getpid(), SIGKILL);  // no destructor, no close of the driver manager
  }
  int status = 0;
  waitpid(child, &status, 0);
  REQUIRE(WIFSIGNALED(status));
  CHECK(ask(file, "pragma integrity_check") == "ok");
  CHECK(ask(file, "select count(*) from plots") == "50");
  CHECK(ask(file, "select feature_count from gpkg_ogr_contents where table_name='plots'") == "50");
  CHECK(ask(file, "select count(*) from rtree_plots_point") == "50");
  CHECK(ask(file, "select max_x, max_y from gpkg_contents where table_name='plots'") == "700050.0|4200100.0");
}

TEST_CASE("a store another program left in write-ahead mode is taken over without loss") {
  const TempFolder folder;
  const fs::path file = folder.path / "season.gpkg";
  Store store(file);
  store.write_draw(utm14(), one_site(), draw_of(7), "Test 2027", run_of("draw"));
  CHECK(ask(file,
            "pragma journal_mode=wal; insert into names(name, first_season) values('OLD01A','Test 2020')") ==
        "wal");
  store.write_draw(utm14(), one_site(), draw_of(4), "Test 2027", run_of("draw"));
  CHECK(ask(file, "pragma journal_mode") == "delete");
  CHECK(store.names_of_other_seasons("Test 2027").count("OLD01A") == 1);
}

TEST_CASE("a store in write-ahead mode that another program has open is refused, and stays as it was") {
  const TempFolder folder;
  const fs::path file = folder.path / "season.gpkg";
  Store(file).write_draw(utm14(), one_site(), draw_of(7), "Test 2027", run_of("draw"));
  const std::string command = "sqlite3 '" + file.string() + "' > /dev/null 2>&1";
  FILE* other = popen(command.c_str(), "w");
  std::fputs("pragma journal_mode=wal;\nbegin immediate;\nupdate names set plot='x';\n", other);
  std::fflush(other);
  for (int i = 0; i < 100 && !fs::exists(file.string() + "-wal"); ++i) usleep(50000);
  REQUIRE(fs::exists(file.string() + "-wal"));
  CHECK_THROWS_AS(Store(file).write_draw(utm14(), one_site(), draw_of(4), "Test 2027", run_of("draw")),
                  IoError);
  CHECK(Store(file).read_plots().size() == 7);
  pclose(other);  // its transaction ends with its input
}

TEST_CASE("what is not a store of ours is refused with a remedy and left alone") {
  const TempFolder folder;
  const fs::path text = folder.path / "text.gpkg";
  write_whole(text, "not a database at all, but long enough to look at");
  CHECK_THROWS_AS(Store(text).write_draw(utm14(), one_site(), draw_of(1), "S", run_of("draw")), IoError);
  CHECK(read_whole(text).substr(0, 3) == "not");

  const fs::path other = folder.path / "other.gpkg";
  ask(other, "create table x(a)");
  CHECK_THROWS_AS(Store(other).write_draw(utm14(), one_site(), draw_of(1), "S", run_of("draw")), IoError);

  const fs::path newer = folder.path / "newer.gpkg";
  Store(newer).write_draw(utm14(), one_site(), draw_of(1), "S", run_of("draw"));
  ask(newer, "update runs set schema_version = 99");
  CHECK_THROWS_AS(Store(newer).write_draw(utm14(), one_site(), draw_of(1), "S", run_of("draw")), IoError);

  const fs::path orphan = folder.path / "orphan.gpkg";
  write_whole(orphan.string() + "-journal", "left behind");
  CHECK_THROWS_AS(Store(orphan).write_draw(utm14(), one_site(), draw_of(1), "S", run_of("draw")), IoError);
  CHECK_FALSE(fs::exists(orphan));
}

TEST_CASE("site table: hectares per band and the share without a score") {
  const TempFolder folder;
  ScoreResult result;
  SiteSpeciesScores row{"QPR", "PDIG", 0.4, {10000, 20000}, 5000, 5000, 0.25};
  result.table.push_back(row);
  row.mean = std::nan("");
  result.table.push_back(row);
  Store(folder.path / "season.gpkg").write_scores(utm14(), one_site(), result, {0.5}, run_of("score"));
  CHECK(ask(folder.path / "season.gpkg",
            "select ha_0_50, ha_50_100, ha_excluded, no_score_share from site_species limit 1") ==
        "1.0|2.0|0.5|0.125");
  CHECK(ask(folder.path / "season.gpkg", "select count(*) from site_species where mean_percent is null") ==
        "1");
}

// OGC 02-070 (Styled Layer Descriptor 1.0.0), schema of RasterSymbolizer, from memory: ColorMap has
// ColorMapEntry elements and no attributes; an entry has color, opacity, quantity and label.
TEST_CASE("styles are well-formed and hold nothing the standard does not have") {
  const TempFolder folder;
  const std::vector<fs::path> files = write_styles(folder.path / "styles", {0.25, 0.5, 0.75});
  CHECK(files.size() == 4);
  const std::regex attribute("([a-z]+)=\"");
  for (const fs::path& file : files) {
    CHECK(std::system(("xmllint --noout '" + file.string() + "'").c_str()) == 0);
    const std::string sld = read_whole(file);
    if (sld.find("<RasterSymbolizer>") == std::string::npos) continue;
    CHECK(sld.find("<ColorMap>") != std::string::npos);
    const std::set<std::string> known = {"color", "opacity", "quantity", "label"};
    for (std::size_t at = sld.find("<ColorMapEntry"); at != std::string::npos;
         at = sld.find("<ColorMapEntry", at + 1)) {
      const std::string entry = sld.substr(at, sld.find("/>", at) - at);
      for (std::sregex_iterator it(entry.begin(), entry.end(), attribute), end; it != end; ++it)
        CHECK_MESSAGE(known.contains((*it)[1]), entry);
    }
  }
}

TEST_CASE("a map reader that runs between entries shows every value in its band's colour") {
  const TempFolder folder;
  const std::vector<double> bands = {0.25, 0.5, 0.7};
  (void)write_styles(folder.path / "styles", bands);
  for (const auto& [name, unit] : {std::pair{"score.sld", 100.0}, std::pair{"score-float.sld", 1.0}}) {
    const std::string sld = read_whole(folder.path / "styles" / name);
    std::vector<std::pair<double, std::array<int, 3>>> entries;
    const std::regex entry("color=\"#([0-9a-f]{6})\"( opacity=\"0\")? quantity=\"([0-9.]+)\"");
    bool clear = false;
    for (std::sregex_iterator it(sld.begin(), sld.end(), entry), end; it != end; ++it) {
      const int rgb = std::stoi((*it)[1], nullptr, 16);
      if ((*it)[2].matched) {
        clear = true;
        CHECK((*it)[3] == "255");
      } else {
        entries.push_back({std::stod((*it)[3]), {rgb >> 16, (rgb >> 8) & 255, rgb & 255}});
      }
    }
    CHECK(clear == (unit > 1));  // Float32 maps have NaN
    REQUIRE(entries.size() == 8);
    int grey_before = 256 * 3;
    for (int percent = 0; percent <= 100; ++percent) {
      const double value = percent * unit / 100;
      std::size_t i = 0;
      while (i + 2 < entries.size() && entries[i + 1].first < value - 1e-12) ++i;
      const double share = (value - entries[i].first) / (entries[i + 1].first - entries[i].first);
      std::string colour = "#";
      int grey = 0;
      for (std::size_t c = 0; c < 3; ++c) {
        const int mixed = int(
            std::lround(entries[i].second[c] + share * (entries[i + 1].second[c] - entries[i].second[c])));
        char hex[3];
        std::snprintf(hex, sizeof hex, "%02x", unsigned(mixed) & 255U);
        colour += hex;
        grey += mixed;
      }
      CHECK_MESSAGE(colour == band_fill(band_of(bands, percent), 4), name, " ", percent);
      CHECK(grey <= grey_before);
      grey_before = grey;
    }
  }
}

}  // namespace store_test
