// A season of a few sites on made rasters, whose scores are known in closed form.
#pragma once

#include <cmath>
#include <string>
#include <vector>

#include "made_inputs.hpp"
#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/design/draw_season.hpp"
#include "swardline/design/strata.hpp"

namespace swardline {

/// Layers of 10 m over 760,000–761,600 E, 4,209,400–4,211,000 N; a block edge of the global grid
/// runs through at 760,320 E and 4,209,920 N. Moisture rises by one percent per column, from 1; no data in
/// the rows south of 4,209,600. Cover is meadow (WM) in the north and glade (GL) in the south of
/// 4,210,300, with a pond (OW) at 760,600–760,700 E, 4,210,200–4,210,400 N.
class SmallSeason {
 public:
  static constexpr double west = 760000, north = 4211000, cell = 10;

  SmallSeason() {
    Plan& plan = season.plan;
    plan.file = folder_ / "plan.toml";
    plan.folder = folder_.path();
    plan.name = "Small season";
    plan.crs = "EPSG:26914";
    plan.seed = 2027;
    plan.sites.place = {"plan.toml", 10, ""};
    plan.strata.place = {"plan.toml", 30, "[strata]"};
    plan.sample.place = {"plan.toml", 40, "[sample]"};
    plan.sample.each = 6;
    LayerSpec moisture, cover;
    moisture.name = "moisture";
    moisture.source = folder_ / "moisture.tif";
    moisture.unit = "percent";
    cover.name = "cover";
    cover.source = folder_ / "cover.tif";
    cover.classes = {{1, "WM"}, {2, "GL"}, {3, "OW"}};
    plan.layers = {moisture, cover};
    season.sheets = {sheet("PDIG", {{0, 0.4}, {100, 0.4}}), sheet("PTUB", {{0, 0}, {100, 1}})};
  }

  /// Percent of PTUB; PDIG has 40 wherever there is a score.
  static int moisture_at(double x, double y) {
    if (y < 4209600) return 255;
    return std::min(100, 1 + int(std::floor((x - west) / cell)));
  }
  static int cover_at(double x, double y) {
    if (x > 760600 && x < 760700 && y > 4210200 && y < 4210400) return 3;
    return y > 4210300 ? 1 : 2;
  }

  void add_site(const std::string& code, const std::string& wkt, const std::string& habitat = "prairie") {
    sites_.push_back({wkt, {{"code", code}, {"name", "Site " + code}, {"habitat", habitat}}});
  }
  void exclude(const std::string& reason, const std::string& wkt) {
    const auto file = folder_ / ("out" + std::to_string(season.plan.sites.exclusions.size()) + ".gpkg");
    make_vectors(file, season.plan.crs, {{wkt, {}}});
    season.plan.sites.exclusions.push_back({{file, "", "", {}}, 0, reason});
  }
  /// `margin` more cells on every side of the layers.
  void make_layers(int margin = 0, int unnamed_class_cells = 0) {
    const Point corner{west - margin * cell, north + margin * cell};
    const int side = 160 + 2 * margin;
    const auto at = [&](int col, int row) {
      return Point{corner.x + (col + 0.5) * cell, corner.y - (row + 0.5) * cell};
    };
    make_raster(folder_ / "moisture.tif", season.plan.crs, corner, cell, side, side,
                [&](int col, int row) { return std::max(0, moisture_at(at(col, row).x, at(col, row).y)); });
    int left = unnamed_class_cells;
    make_raster(folder_ / "cover.tif", season.plan.crs, corner, cell, side, side,
                [&](int col, int row) { return left-- > 0 ? 57 : cover_at(at(col, row).x, at(col, row).y); });
  }

  SeasonDraw draw(int threads = 1) {
    open();
    return draw_season(season, crs(), *sites, *layers, *model, access, {threads, {}, record, kept}, flags);
  }
  SeasonStrata strata(int threads = 1) {
    open();
    return SeasonStrata::make(season, *sites, *layers, *model, threads, {}, flags, record);
  }
  [[nodiscard]] Crs crs() const { return Crs::from_text(season.plan.crs); }
  [[nodiscard]] const Site& site(const std::string& code) const {
    for (const Site& s : sites->sites) {
      if (s.code == code) return s;
    }
    throw Defect("no site " + code);
  }

  Season season;
  Flags flags;
  std::optional<Sites> sites;
  std::optional<Layers> layers;
  std::optional<Model> model;
  Access access;
  KeptPlots kept;
  RecordOptions record;  ///< none is kept unless `keep_record` is called

  void keep_record() { record = {folder_ / "record", false, "2027-03-02"}; }
  void clear_sites() { sites_.clear(); }
  /// The score of PTUB by moisture, from now on.
  void change_rule(const std::vector<std::pair<double, double>>& points) {
    season.sheets[1].factors[0].response = Polyline{points};
    // Rules are told apart by their files' contents.
    write_whole(folder_ / "PTUB.toml",
                std::to_string(points.back().second) + "#" + std::to_string(points.front().first));
  }
  [[nodiscard]] std::filesystem::path folder() const { return folder_.path(); }

 private:
  static Sheet sheet(const std::string& code, const std::vector<std::pair<double, double>>& points) {
    Sheet made;
    made.code = code;
    made.file = code + ".toml";
    made.combine.rule = Rule::lowest;
    Factor moisture;
    moisture.layer = "moisture";
    moisture.response = Polyline{points};
    Factor cover;
    cover.layer = "cover";
    cover.response = ClassTable{{{"WM", 1.0}, {"GL", 1.0}}, {"OW"}, std::nullopt};
    made.factors = {moisture, cover};
    return made;
  }

  void open() {
    if (!std::filesystem::exists(folder_ / "moisture.tif")) make_layers();
    const auto file = folder_ / "sites.gpkg";
    std::filesystem::remove(file);
    make_vectors(file, season.plan.crs, sites_);
    season.plan.sites.sources = {{file, "", "", {}}};
    sites = read_sites(season.plan, crs(), flags);
    layers = Layers::open(season.plan, crs(), layers_for_draw(season), flags);
    model = Model::compile(season, *layers, flags);
    for (const Flag& flag : flags.all()) {
      if (flag.severity == Severity::stop) FAIL(flag.check << ": " << flag.meaning);
    }
  }

  TestFolder folder_;
  std::vector<MadeFeature> sites_;
};

}  // namespace swardline
