#include "swardline/store/store.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/error.hpp"
#include "swardline/design/edges.hpp"
#include "swardline/store/geopackage.hpp"
#include "swardline/store/plot_scores.hpp"
#include "swardline/store/runs.hpp"
#include "swardline/store/transects.hpp"

namespace swardline {
namespace {

// In a table of its own: sources of sites may have attributes of any name, and not all of them the same.
void write_site_attributes(OpenStore& store, const Sites& sites) {
  OGRLayer* table = store.make_table("site_attributes",
                                     {{"site", OFTString}, {"attribute", OFTString}, {"value", OFTString}});
  for (const Site& site : sites.sites) {
    for (const auto& [attribute, value] : site.attributes) {
      OGRFeature row(table->GetLayerDefn());
      row.SetField("site", site.code.c_str());
      row.SetField("attribute", attribute.c_str());
      if (!value.empty()) row.SetField("value", value.c_str());
      store.add(table, row);
    }
  }
}

void write_sites(OpenStore& store, const Crs& crs, const Sites& sites) {
  OGRLayer* table = store.make_table("sites",
                                     {{"code", OFTString},
                                      {"name", OFTString},
                                      {"drawn_m2", OFTReal},
                                      {"survey_m2", OFTReal},
                                      {"excluded_m2", OFTReal},
                                      {"excluded_why", OFTString},
                                      {"geodesic_ratio", OFTReal}},
                                     &crs, wkbMultiPolygon);
  for (const Site& site : sites.sites) {
    OGRFeature row(table->GetLayerDefn());
    row.SetField("code", site.code.c_str());
    row.SetField("name", site.name.c_str());
    row.SetField("drawn_m2", site.drawn_m2);
    row.SetField("survey_m2", site.survey_m2);
    row.SetField("excluded_m2", site.excluded_m2);
    std::string why;
    for (const ExcludedPiece& piece : site.excluded)
      why += fmt::format("{}{}: {:.2f} m2", why.empty() ? "" : "; ", piece.reason, piece.area.area());
    row.SetField("excluded_why", why.c_str());
    row.SetField("geodesic_ratio", site.geodesic_ratio);
    set_geometry(row, site.survey, OGRGeometryFactory::forceToMultiPolygon);
    store.add(table, row);
  }
  write_site_attributes(store, sites);
}

// "ha_25_50": hectares of the band 0.25–0.50.
std::vector<std::string> band_columns(const std::vector<double>& bands) {
  std::vector<std::string> names;
  for (std::size_t i = 0; i <= bands.size(); ++i) {
    std::string name = "ha_" + band_id(bands, i);
    std::replace(name.begin(), name.end(), '-', '_');
    names.push_back(std::move(name));
  }
  return names;
}

void write_site_species(OpenStore& store, const ScoreResult& result, const std::vector<double>& bands) {
  const std::vector<std::string> band_names = band_columns(bands);
  std::vector<Column> columns = {{"site", OFTString}, {"code", OFTString}, {"mean_percent", OFTReal}};
  for (const std::string& name : band_names) columns.push_back({name.c_str(), OFTReal});
  for (const char* name : {"ha_excluded", "ha_no_score", "no_score_share", "reweighted_share"})
    columns.push_back({name, OFTReal});
  OGRLayer* table = store.make_table("site_species", columns);
  for (const SiteSpeciesScores& entry : result.table) {
    OGRFeature row(table->GetLayerDefn());
    row.SetField("site", entry.site.c_str());
    row.SetField("code", entry.species.c_str());
    if (!std::isnan(entry.mean)) row.SetField("mean_percent", 100 * entry.mean);
    double all = entry.excluded_m2 + entry.no_score_m2;
    for (std::size_t i = 0; i < band_names.size(); ++i) {
      row.SetField(band_names[i].c_str(), entry.band_m2.at(i) * 1e-4);
      all += entry.band_m2[i];
    }
    row.SetField("ha_excluded", entry.excluded_m2 * 1e-4);
    row.SetField("ha_no_score", entry.no_score_m2 * 1e-4);
    if (all > 0) row.SetField("no_score_share", entry.no_score_m2 / all);
    row.SetField("reweighted_share", entry.reweighted_share);
    store.add(table, row);
  }
}

const char* word(StratumKind kind) {
  switch (kind) {
    case StratumKind::scored:
      return "scored";
    case StratumKind::excluded:
      return "excluded";
    case StratumKind::no_score:
      return "no score";
    case StratumKind::line:
      return "line";
  }
  return "";
}

void write_strata(OpenStore& store, const SeasonDraw& draw) {
  OGRLayer* table = store.make_table("strata", {{"stratum", OFTString},
                                                {"site", OFTString},
                                                {"rule", OFTString},
                                                {"area_m2", OFTReal},
                                                {"frame_m2", OFTReal},
                                                {"edge", OFTString},
                                                {"planned", OFTInteger},
                                                {"spare_planned", OFTInteger},
                                                {"drawn", OFTInteger},
                                                {"spares_drawn", OFTInteger},
                                                {"geodesic_ratio", OFTReal},
                                                {"version", OFTInteger},
                                                {"joined", OFTString},
                                                {"weight_sum_m2", OFTReal},
                                                {"record", OFTString},
                                                {"kind", OFTString}});
  for (const Stratum& stratum : draw.strata) {
    OGRFeature row(table->GetLayerDefn());
    row.SetField("stratum", stratum.id.c_str());
    row.SetField("site", stratum.site.c_str());
    row.SetField("rule", stratum.rule.c_str());
    row.SetField("area_m2", stratum.area_m2());
    row.SetField("frame_m2", stratum.frame_m2());
    const EdgeCertificate& edge = draw.certificate.edge;
    row.SetField("edge", edge.of_transects.empty() ? word(edge.rule) : edge.of_transects.c_str());
    row.SetField("planned", stratum.planned);
    row.SetField("spare_planned", stratum.spares);
    row.SetField("drawn", stratum.drawn);
    row.SetField("spares_drawn", stratum.spares_drawn);
    row.SetField("geodesic_ratio", stratum.geodesic_ratio);
    row.SetField("version", stratum.version);
    row.SetField("joined", stratum.joined.c_str());
    // Nothing where chances are equal: their sum of weights is the area.
    if (stratum.weighted_mm2 > 0) row.SetField("weight_sum_m2", stratum.weight_sum_m2());
    row.SetField("record", draw.certificate.record_fingerprint.c_str());
    row.SetField("kind", word(stratum.kind));
    store.add(table, row);
  }
}

void write_plots(OpenStore& store, const Crs& crs, const SeasonDraw& draw) {
  std::vector<Column> columns = {{"name", OFTString},
                                 {"site", OFTString},
                                 {"stratum", OFTString},
                                 {"order", OFTInteger},
                                 {"spare", OFTInteger},
                                 {"chance_per_m2", OFTReal},
                                 {"weight_m2", OFTReal},
                                 {"east", OFTReal},
                                 {"north", OFTReal},
                                 {"lat", OFTReal},
                                 {"lon", OFTReal},
                                 {"bearing", OFTReal},
                                 {"grid_bearing", OFTReal},
                                 {"inside_m2", OFTReal},
                                 {"twice_m2", OFTReal},
                                 {"tape", OFTString},
                                 {"score", OFTReal},
                                 {"held_down_by", OFTString},
                                 {"status", OFTString},
                                 {"why", OFTString},
                                 {"walk", OFTInteger},
                                 {"metres_from_last", OFTReal},
                                 {"plot_m2", OFTReal},
                                 {"pin_outside_m", OFTReal},
                                 {"side", OFTString},
                                 {"from_m", OFTReal},
                                 {"to_m", OFTReal},
                                 {"panel", OFTString},
                                 {"panel_chance_per_m2", OFTReal},
                                 {"first_season", OFTString}};
  PlotScores scores;
  for (const Plot& plot : draw.plots) scores.look_at(plot);
  scores.add_columns(columns);
  OGRLayer* table = store.make_table("plots", columns, &crs, wkbPoint);
  for (const Plot& plot : draw.plots) {
    OGRFeature row(table->GetLayerDefn());
    row.SetField("name", plot.name.c_str());
    row.SetField("site", plot.site.c_str());
    row.SetField("stratum", plot.stratum.c_str());
    row.SetField("order", plot.order);
    row.SetField("spare", plot.spare ? 1 : 0);
    row.SetField("chance_per_m2", plot.chance_per_m2);
    row.SetField("weight_m2", plot.weight_m2);
    row.SetField("east", plot.east);
    row.SetField("north", plot.north);
    row.SetField("lat", plot.lat);
    row.SetField("lon", plot.lon);
    row.SetField("bearing", plot.bearing_deg);
    row.SetField("grid_bearing", plot.grid_bearing_deg);
    row.SetField("inside_m2", plot.inside_m2);
    row.SetField("twice_m2", plot.twice_m2);
    row.SetField("tape", plot.tape.c_str());
    if (plot.score) row.SetField("score", *plot.score);
    row.SetField("held_down_by", plot.held_down_by.c_str());
    row.SetField("status", plot.status.c_str());
    row.SetField("why", plot.why.c_str());
    row.SetField("walk", plot.walk);
    row.SetField("metres_from_last", plot.metres_from_last);
    row.SetField("plot_m2", plot.plot_m2);
    row.SetField("pin_outside_m", plot.pin_outside_m);
    if (!plot.side.empty()) {
      row.SetField("side", plot.side.c_str());
      row.SetField("from_m", plot.from_m);
      row.SetField("to_m", plot.to_m);
    }
    row.SetField("panel", plot.panel.c_str());
    if (!plot.panel.empty()) row.SetField("panel_chance_per_m2", plot.panel_chance_per_m2);
    row.SetField("first_season", plot.first_season.c_str());
    scores.set(row, plot);
    OGRPoint point(plot.east, plot.north);
    row.SetGeometry(&point);
    store.add(table, row);
  }
}

void write_panels(OpenStore& store, const SeasonDraw& draw) {
  OGRLayer* table = store.make_table("panels", {{"panel", OFTString},
                                                {"stratum", OFTString},
                                                {"plots", OFTInteger},
                                                {"spares", OFTInteger},
                                                {"chance_per_m2", OFTReal},
                                                {"due", OFTString},
                                                {"this_season", OFTInteger}});
  if (!draw.certificate.panels) return;
  for (const StratumPanel& panel : draw.certificate.panels->strata) {
    OGRFeature row(table->GetLayerDefn());
    row.SetField("panel", panel.panel.c_str());
    row.SetField("stratum", panel.stratum.c_str());
    row.SetField("plots", panel.plots);
    row.SetField("spares", panel.spares);
    row.SetField("chance_per_m2", panel.chance_per_m2);
    row.SetField("due", fmt::format("{}", fmt::join(panel.due, " ")).c_str());
    row.SetField("this_season", panel.now ? 1 : 0);
    store.add(table, row);
  }
}

// Names of other seasons stay for ever; this season's are those of its last draw.
void write_names(OpenStore& store, const SeasonDraw& draw, const std::string& season) {
  std::vector<EarlierName> rows;
  std::set<std::string> known;
  const auto add = [&](EarlierName row) {
    if (known.insert(row.name).second) rows.push_back(std::move(row));
  };
  if (OGRLayer* table = store.table("names"))
    for (const auto& row : *table)
      if (row->GetFieldAsString("first_season") != season)
        add({row->GetFieldAsString("name"), row->GetFieldAsString("first_season"),
             row->GetFieldAsString("plot")});
  for (const EarlierName& name : draw.earlier_names) add(name);
  const auto add_unit = [&](const Plot& plot) {
    add({plot.name, plot.first_season.empty() ? season : plot.first_season,
         fmt::format("{}|{}{}", plot.stratum, plot.spare ? "spare " : "", plot.order)});
  };
  for (const Plot& plot : draw.plots) add_unit(plot);
  for (const Transect& transect : draw.transects) add_unit(transect.unit);
  OGRLayer* table =
      store.make_table("names", {{"name", OFTString}, {"first_season", OFTString}, {"plot", OFTString}});
  for (const EarlierName& entry : rows) {
    OGRFeature row(table->GetLayerDefn());
    row.SetField("name", entry.name.c_str());
    row.SetField("first_season", entry.first_season.c_str());
    row.SetField("plot", entry.plot.c_str());
    store.add(table, row);
  }
}

void write_certificate(OpenStore& store, const SeasonDraw& draw, const std::string& season) {
  OGRLayer* table =
      store.make_table("certificate", {{"season", OFTString}, {"seed", OFTString}, {"json", OFTString}});
  OGRFeature row(table->GetLayerDefn());
  row.SetField("season", season.c_str());
  row.SetField("seed", std::to_string(draw.certificate.seed).c_str());
  row.SetField("json", to_json(draw.certificate).c_str());
  store.add(table, row);
}

}  // namespace

void add_run(OpenStore& store, const RunRecord& run) {
  OGRLayer* table = store.table("runs");
  OGRFeature row(table->GetLayerDefn());
  row.SetField("command", run.command.c_str());
  row.SetField("version", run.version.c_str());
  row.SetField("seed", std::to_string(run.seed).c_str());  // 64 bits do not fit SQLite's signed whole numbers
  row.SetField("inputs", run.inputs.c_str());
  row.SetField("started", run.started.c_str());
  row.SetField("finished", run.finished.c_str());
  row.SetField("schema_version", store_schema_version);
  store.add(table, row);
}

Store::Store(std::filesystem::path file) : file_(std::move(file)) {}
Store::~Store() = default;

void Store::check_writable() const {
  if (store_exists(file_)) {
    const OpenStore store(file_, OpenStore::Use::write);  // rolled back: opening is the test
    return;
  }
  const std::filesystem::path folder =
      file_.has_parent_path() ? file_.parent_path() : std::filesystem::path(".");
  if (std::filesystem::exists(folder) && ::access(folder.c_str(), W_OK) != 0)
    throw IoError({folder.string(), 0, {}}, "the store's folder cannot be written",
                  "Make it writable for you, or name another store in the plan: store = \"season.gpkg\".");
}

void Store::write_scores(const Crs& crs, const Sites& sites, const ScoreResult& result,
                         const std::vector<double>& bands, const RunRecord& run) {
  OpenStore store(file_, OpenStore::Use::write);
  write_sites(store, crs, sites);
  write_site_species(store, result, bands);
  add_run(store, run);
  store.commit();
}

void Store::write_draw(const Crs& crs, const Sites& sites, const SeasonDraw& draw, const std::string& season,
                       const RunRecord& run) {
  OpenStore store(file_, OpenStore::Use::write);
  write_sites(store, crs, sites);
  write_strata(store, draw);
  write_plots(store, crs, draw);
  write_transects(store, crs, draw);
  write_panels(store, draw);
  write_names(store, draw, season);
  write_certificate(store, draw, season);
  add_run(store, run);
  store.commit();
}

}  // namespace swardline
