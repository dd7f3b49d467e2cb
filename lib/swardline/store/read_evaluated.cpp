#include <cpl_json.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/error.hpp"
#include "swardline/design/edges.hpp"
#include "swardline/store/columns.hpp"
#include "swardline/store/evaluated_parts.hpp"
#include "swardline/store/returned.hpp"

namespace swardline {
namespace {

double or_else(double value, double otherwise) { return std::isnan(value) ? otherwise : value; }

void read_certificate(OpenStore& store, EvaluatedSeason& season) {
  OGRLayer* table = store.table("certificate");
  if (table == nullptr) return;
  ColumnReader rows(store, table, {"season", "json"});
  if (!rows.next()) return;
  season.season = rows.text(0);
  CPLJSONDocument json;
  if (json.LoadMemory(std::string(rows.text(1))))
    season.unit_area_m2 = json.GetRoot().GetDouble("unit_area_m2", 0);
}

void read_sites(OpenStore& store, EvaluatedSeason& season) {
  OGRLayer* table = store.table("sites");
  if (table == nullptr) return;
  if (const OGRSpatialReference* system = table->GetSpatialRef()) {
    char* wkt = nullptr;
    const char* const options[] = {"FORMAT=WKT2_2019", nullptr};
    if (system->exportToWkt(&wkt, options) == OGRERR_NONE) season.crs = wkt;
    CPLFree(wkt);
  }
  std::map<std::string, std::size_t> site_of;
  ColumnReader rows(store, table, {"code", "name", "survey_m2", "geodesic_ratio"});
  while (rows.next()) {
    site_of[std::string(rows.text(0))] = season.sites.size();
    season.sites.push_back(
        {std::string(rows.text(0)), std::string(rows.text(1)), rows.real(2), or_else(rows.real(3), 1), {}});
  }
  OGRLayer* attributes = store.table("site_attributes");
  if (attributes == nullptr) return;
  ColumnReader values(store, attributes, {"site", "attribute", "value"});
  while (values.next())
    if (const auto site = site_of.find(std::string(values.text(0))); site != site_of.end())
      season.sites[site->second].attributes[std::string(values.text(1))] = values.text(2);
}

std::optional<EdgeRule> rule_named(std::string_view name) {
  for (const EdgeRule rule : {EdgeRule::walk_through, EdgeRule::grown_frame, EdgeRule::fold_back,
                              EdgeRule::inside_area, EdgeRule::inner_margin})
    if (name == word(rule)) return rule;
  return {};
}

// A store of before version 3 does not say it.
std::string kind_by_name(const std::string& stratum, const std::string& rule) {
  if (rule.starts_with("segments of ")) return "line";
  if (stratum.find("excluded") != std::string::npos) return "excluded";
  return stratum.find("no-score") != std::string::npos ? "no score" : "scored";
}

void read_strata(OpenStore& store, EvaluatedSeason& season) {
  OGRLayer* table = store.table("strata");
  if (table == nullptr) return;
  ColumnReader rows(store, table,
                    {"stratum", "site", "rule", "area_m2", "frame_m2", "edge", "planned", "geodesic_ratio",
                     "weight_sum_m2", "kind"});
  while (rows.next()) {
    EvaluatedStratum stratum;
    stratum.id = rows.text(0);
    stratum.site = rows.text(1);
    stratum.area_m2 = rows.real(3);
    stratum.frame_m2 = or_else(rows.real(4), stratum.area_m2);
    stratum.geodesic_ratio = or_else(rows.real(7), 1);
    stratum.planned = int(rows.whole(6, 0));
    stratum.kind =
        rows.is_null(9) ? kind_by_name(stratum.id, std::string(rows.text(2))) : std::string(rows.text(9));
    season.weighted = season.weighted || rows.real(8) > 0;
    // Of transects the words are others: what is folded back counts as often as it is walked, and clipped
    // lines start on ground that gives every square metre its chance, so that what is inside is enough.
    const std::string_view edge = rows.text(5);
    season.edge = rule_named(edge).value_or(
        edge.find("folded") != std::string_view::npos ? EdgeRule::fold_back : EdgeRule::inside_area);
    season.strata.push_back(std::move(stratum));
  }
}

// What a season was searched for, and so its species. A store without returns knows those it scored.
void read_searched(OpenStore& store, EvaluatedDraft& draft) {
  EvaluatedSeason& season = draft.season;
  OGRLayer* table = store.table("searched");
  OGRLayer* scored = store.table("site_species");
  const char* column = table != nullptr ? "species" : "code";
  if (table == nullptr) table = scored;
  if (table == nullptr) return;
  {
    ColumnReader rows(store, table, {column});
    while (rows.next()) season.species.emplace_back(rows.text(0));
  }
  std::sort(season.species.begin(), season.species.end());
  season.species.erase(std::unique(season.species.begin(), season.species.end()), season.species.end());
  for (std::size_t s = 0; s < season.species.size(); ++s)
    draft.species_of[season.species[s]] = std::int32_t(s);
  if (table == scored) return;
  ColumnReader rows(store, table, {"site", "species", "searched"});
  while (rows.next()) {
    std::vector<bool>& species = draft.searched[std::string(rows.text(0))];
    species.resize(season.species.size());
    if (rows.whole(2, 0) != 0) species[std::size_t(draft.species_of.find(rows.text(1))->second)] = true;
  }
}

struct UnitStatus {
  bool due = true;
  std::string status, why;
};

EvaluatedUnit unit_of(const ColumnReader& rows, UnitStatus& status) {
  EvaluatedUnit unit;
  unit.name = rows.text(0);
  unit.site = rows.text(1);
  unit.stratum = rows.text(2);
  unit.order = int(rows.whole(3, 0));
  unit.spare = rows.whole(4, 0) != 0;
  unit.chance_per_m2 = rows.real(5);
  unit.east = rows.real(6);
  unit.north = rows.real(7);
  unit.lat = rows.real(8);
  unit.lon = rows.real(9);
  unit.bearing_deg = rows.real(10);
  unit.inside_m2 = or_else(rows.real(11), 0);
  unit.twice_m2 = or_else(rows.real(12), 0);
  status.status = rows.text(13);
  status.due = status.status == "planned" || status.status == "spare";
  status.why = rows.text(14);
  return unit;
}

const std::vector<std::string> unit_columns = {"name",          "site",      "stratum",  "order",  "spare",
                                               "chance_per_m2", "east",      "north",    "lat",    "lon",
                                               "bearing",       "inside_m2", "twice_m2", "status", "why"};

void add_unit(EvaluatedDraft& draft, EvaluatedUnit unit, UnitGround ground, const UnitStatus& status) {
  ground.due = status.due;
  ground.whole = {unit.plot_m2, unit.inside_m2, unit.twice_m2};
  unit.fate = status.due ? "no return" : status.status;
  if (!status.due) unit.why = status.status;
  unit.in_use = status.due && !unit.spare;
  draft.unit_of[unit.name] = std::int32_t(draft.season.units.size());
  draft.season.units.push_back(std::move(unit));
  draft.ground.push_back(std::move(ground));
}

void read_plots(OpenStore& store, EvaluatedDraft& draft) {
  OGRLayer* table = store.table("plots");
  if (table == nullptr) return;
  std::vector<std::string> columns = unit_columns;
  columns.insert(columns.end(), {"panel", "plot_m2", "side"});
  ColumnReader rows(store, table, columns);
  while (rows.next()) {
    UnitStatus status;
    EvaluatedUnit unit = unit_of(rows, status);
    unit.panel = rows.text(15);
    unit.plot_m2 = or_else(rows.real(16), draft.season.unit_area_m2);
    UnitGround ground;
    // A segment is its own ground whatever the rule for plots is.
    const bool segment = !rows.text(17).empty();
    ground.rule = segment ? EdgeRule::walk_through : draft.season.edge;
    ground.outside = !segment && ground.rule == EdgeRule::grown_frame && unit.inside_m2 <= 0;
    add_unit(draft, std::move(unit), std::move(ground), status);
  }
}

void read_transects(OpenStore& store, EvaluatedDraft& draft) {
  OGRLayer* table = store.table("transects");
  if (table == nullptr) return;
  const std::size_t first = draft.season.units.size();
  std::vector<std::string> columns = unit_columns;
  columns.emplace_back("kind");
  {
    ColumnReader rows(store, table, columns);
    while (rows.next()) {
      if (rows.text(15) == "reference") continue;  // without a chance
      UnitStatus status;
      EvaluatedUnit unit = unit_of(rows, status);
      unit.plot_m2 = draft.season.unit_area_m2;
      UnitGround ground;
      ground.rule = draft.season.edge;
      add_unit(draft, std::move(unit), std::move(ground), status);
    }
  }
  if (draft.season.units.size() > first) draft.season.unit = SampleUnit::transect;
  OGRLayer* stations = store.table("stations");
  if (stations == nullptr) return;
  ColumnReader rows(store, stations, {"transect", "number", "inside_m2", "twice_m2"});
  while (rows.next()) {
    const auto unit = draft.unit_of.find(rows.text(0));
    const std::int64_t number = rows.whole(1, 0);
    if (unit == draft.unit_of.end() || number < 1 || number > 30000) continue;
    std::vector<SearchGround>& all = draft.ground[std::size_t(unit->second)].stations;
    all.resize(std::max(all.size(), std::size_t(number)));
    const double inside = or_else(rows.real(2), 0);
    all[std::size_t(number) - 1] = {inside, inside, or_else(rows.real(3), 0)};
  }
}

}  // namespace

EvaluatedDraft read_drawn(OpenStore& store) {
  EvaluatedDraft draft;
  read_certificate(store, draft.season);
  read_sites(store, draft.season);
  read_strata(store, draft.season);
  read_searched(store, draft);
  read_plots(store, draft);
  read_transects(store, draft);
  for (EvaluatedUnit& unit : draft.season.units) unit.counts.resize(draft.season.species.size());
  return draft;
}

EvaluatedSeason read_evaluated(const std::filesystem::path& file) {
  if (!store_exists(file))
    throw InputError({file.string(), 0, {}}, "is not there.", "Draw, and receive what was counted, first.");
  OpenStore store(file, OpenStore::Use::read);
  EvaluatedDraft draft = read_drawn(store);
  if (draft.season.units.empty()) throw InputError({file.string(), 0, {}}, "holds no plots.", "Draw first.");
  join_counts(store, draft);
  return std::move(draft.season);
}

}  // namespace swardline
