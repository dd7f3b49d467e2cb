// A small season with a store, for tests of what comes back: written by the library, read by SQLite itself.
#pragma once

#include <doctest/doctest.h>
#include <unistd.h>

#include <filesystem>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "asked_of_sqlite.hpp"
#include "swardline/base/files.hpp"
#include "swardline/grid/layers.hpp"
#include "swardline/returns/ledger.hpp"
#include "swardline/returns/read_returns.hpp"
#include "swardline/store/returned.hpp"

namespace swardline::testing {

namespace fs = std::filesystem;

inline const char* const heading =
    "plot,visit_date,observer,species,certainty,flowering_stems,twice_stems,count_method,area_searched_m2,"
    "status,lat,lon,"
    "fix_accuracy_m,sheet_id\n";
inline constexpr Day july_1 = 21000;  // 2027-07-01: days since 1970-01-01, by Python's datetime

/// One site of eight planned plots and three spares, two species; plot 2 at an edge.
struct Made {
  fs::path folder = fs::temp_directory_path() / ("swardline-returned-" + std::to_string(::getpid()));
  Season season;
  Crs crs = Crs::from_text("EPSG:26914");
  EdgeRule edge = EdgeRule::walk_through;

  Made() {
    set_up_gdal();
    fs::remove_all(folder);
    fs::create_directories(folder / "returns");
    Plan& plan = season.plan;
    plan.folder = folder;
    plan.file = folder / "plan.toml";
    plan.name = "Test 2027";
    plan.store = (folder / "season.gpkg").string();
    plan.returns.folder = folder / "returns";
    plan.seed = 7;
    for (const char* code : {"PDIG", "PTUB"}) {
      Sheet sheet;
      sheet.code = code;
      sheet.name = code;
      season.sheets.push_back(sheet);
    }
  }
  ~Made() { fs::remove_all(folder); }
  Made(const Made&) = delete;
  Made& operator=(const Made&) = delete;

  [[nodiscard]] fs::path store() const { return season.plan.store; }
  static std::string name(int n) { return "QPR" + std::string(n < 10 ? "0" : "") + std::to_string(n); }

  [[nodiscard]] SeasonDraw drawn() const {
    SeasonDraw draw;
    draw.certificate.seed = 7;
    draw.certificate.edge.rule = edge;
    draw.certificate.unit_area_m2 = 20;
    Stratum stratum;
    stratum.id = "QPR|score=50-75|v1";
    stratum.site = "QPR";
    stratum.area_mm2 = stratum.frame_mm2 = 420000LL * 1000000;
    stratum.planned = 8;
    stratum.geodesic_ratio = 1.0004;
    draw.strata.push_back(stratum);
    for (int i = 1; i <= 11; ++i) {
      Plot plot;
      plot.spare = i > 8;
      plot.name = name(plot.spare ? i + 42 : i);
      plot.site = "QPR";
      plot.stratum = stratum.id;
      plot.order = plot.spare ? i - 8 : i;
      plot.status = plot.spare ? "spare" : "planned";
      plot.east = 700000 + 10 * i;
      plot.north = 4200000;
      plot.lat = 37.9;
      plot.lon = -96.7;
      plot.plot_m2 = 20;
      plot.inside_m2 = i == 2 ? 14 : 20;
      plot.twice_m2 = i == 2 ? 5 : 0;
      plot.chance_per_m2 = 8 / 420000.0;
      plot.bearing_deg = 40;
      plot.percent = {{"PDIG", 80}};
      plot.held_down = {{"PDIG", "canopy"}, {"PTUB", i == 1 ? "excluded: cover OW" : "no data: moisture"}};
      draw.plots.push_back(plot);
    }
    return draw;
  }
  [[nodiscard]] Sites sites() const {
    Site site;
    site.code = "QPR";
    site.name = "Quill Prairie";
    site.attributes = {{"habitat", "prairie"}};
    site.drawn = site.survey = box_polygon({700000, 4200000, 700600, 4200700});
    site.survey_m2 = 420000;
    Sites sites;
    sites.sites.push_back(site);
    return sites;
  }
  void draw() const {
    Store(store()).write_draw(crs, sites(), drawn(), season.plan.name, {"draw", "0.1", "x", "", "", 7});
  }
  [[nodiscard]] Expected expected() const {
    Flags flags;
    Expected read = read_expected(season, crs, july_1, flags);
    CHECK(flags.all().empty());
    return read;
  }
  /// Takes the rows in as a file, with none in doubt but those `judge` says so of.
  void receive(const std::string& rows, const std::function<Use(const ReturnRow&)>& judge = {}) const {
    write_whole(folder / "given.csv", heading + rows);
    Flags flags;
    (void)take_in({folder / "given.csv"}, season.plan, july_1, flags);
    const Expected all = expected();
    const Returns returns = read_returns(season, all, flags, 1);
    CHECK_FALSE(flags.stopped());
    std::vector<Use> uses;
    for (const ReturnRow& row : returns.rows) uses.push_back(judge ? judge(row) : Use::used);
    (void)write_returns(store(), {season, all, returns, {}, uses}, {"receive", "0.1", "in", "", "", 7});
  }
  std::string ask(const std::string& sql) const { return ::ask(store(), sql); }
};

inline const EvaluatedUnit& unit(const EvaluatedSeason& season, const std::string& name) {
  for (const EvaluatedUnit& unit : season.units)
    if (unit.name == name) return unit;
  FAIL("no unit " << name);
  return season.units.front();
}

}  // namespace swardline::testing
