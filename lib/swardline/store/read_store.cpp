#include <fmt/format.h>

#include <utility>

#include "swardline/base/error.hpp"
#include "swardline/store/geopackage.hpp"
#include "swardline/store/plot_scores.hpp"
#include "swardline/store/store.hpp"

namespace swardline {
namespace {

std::string text(const OGRFeature& row, const char* field) { return row.GetFieldAsString(field); }
double number(const OGRFeature& row, const char* field) { return row.GetFieldAsDouble(field); }

Plot read_plot(const OGRFeature& row) {
  Plot plot;
  plot.name = text(row, "name");
  plot.site = text(row, "site");
  plot.stratum = text(row, "stratum");
  plot.order = row.GetFieldAsInteger("order");
  plot.spare = row.GetFieldAsInteger("spare") != 0;
  plot.chance_per_m2 = number(row, "chance_per_m2");
  plot.weight_m2 = number(row, "weight_m2");
  plot.east = number(row, "east");
  plot.north = number(row, "north");
  plot.lat = number(row, "lat");
  plot.lon = number(row, "lon");
  plot.bearing_deg = number(row, "bearing");
  plot.grid_bearing_deg = number(row, "grid_bearing");
  plot.inside_m2 = number(row, "inside_m2");
  plot.twice_m2 = number(row, "twice_m2");
  plot.tape = text(row, "tape");
  const int score = row.GetFieldIndex("score");
  if (row.IsFieldSetAndNotNull(score)) plot.score = row.GetFieldAsDouble(score);
  plot.held_down_by = text(row, "held_down_by");
  plot.status = text(row, "status");
  plot.why = text(row, "why");
  plot.walk = row.GetFieldAsInteger("walk");
  plot.metres_from_last = number(row, "metres_from_last");
  plot.plot_m2 = number(row, "plot_m2");
  plot.pin_outside_m = number(row, "pin_outside_m");
  if (row.GetFieldIndex("panel") >= 0) {  // not in a store of version 1
    plot.panel = text(row, "panel");
    plot.panel_chance_per_m2 = number(row, "panel_chance_per_m2");
    plot.first_season = text(row, "first_season");
  }
  read_plot_scores(row, plot);
  if (row.GetFieldIndex("side") < 0) return plot;  // a store of before there were linear sites
  plot.side = text(row, "side");
  plot.from_m = number(row, "from_m");
  plot.to_m = number(row, "to_m");
  return plot;
}

std::optional<Crs> system_of(OGRLayer& table) {
  const OGRSpatialReference* system = table.GetSpatialRef();
  if (system == nullptr) return {};
  const char* const options[] = {"FORMAT=WKT2_2019", nullptr};
  char* wkt = nullptr;
  const bool written = system->exportToWkt(&wkt, options) == OGRERR_NONE;
  std::optional<Crs> crs;
  if (written) crs = Crs::from_text(wkt);
  CPLFree(wkt);
  return crs;
}

std::optional<std::string> of_last_run(const std::filesystem::path& file, const std::string& command,
                                       const char* column) {
  std::optional<std::string> value;
  if (!store_exists(file)) return value;
  OpenStore store(file, OpenStore::Use::read);
  if (OGRLayer* table = store.table("runs"))
    for (const auto& row : *table)
      if (text(*row, "command") == command) value = text(*row, column);
  return value;
}

}  // namespace

std::set<std::string> Store::names_of_other_seasons(const std::string& season) const {
  std::set<std::string> names;
  if (!store_exists(file_)) return names;
  OpenStore store(file_, OpenStore::Use::read);
  if (OGRLayer* table = store.table("names"))
    for (const auto& row : *table)
      if (text(*row, "first_season") != season) names.insert(text(*row, "name"));
  return names;
}

std::vector<Plot> Store::read_plots() const {
  std::vector<Plot> plots;
  if (!store_exists(file_)) return plots;
  OpenStore store(file_, OpenStore::Use::read);
  if (OGRLayer* table = store.table("plots"))
    for (const auto& row : *table) plots.push_back(read_plot(*row));
  return plots;
}

std::map<std::string, int> Store::read_planned() const {
  std::map<std::string, int> planned;
  if (!store_exists(file_)) return planned;
  OpenStore store(file_, OpenStore::Use::read);
  if (OGRLayer* table = store.table("strata"))
    for (const auto& row : *table) planned[text(*row, "stratum")] = row->GetFieldAsInteger("planned");
  return planned;
}

std::vector<NamedArea> Store::read_survey_areas() const {
  std::vector<NamedArea> areas;
  if (!store_exists(file_)) return areas;
  OpenStore store(file_, OpenStore::Use::read);
  OGRLayer* table = store.table("sites");
  if (table == nullptr) return areas;
  for (const auto& row : *table) {
    NamedArea area{text(*row, "code"), text(*row, "name"), {}};
    if (const OGRGeometry* geometry = row->GetGeometryRef()) {
      std::vector<unsigned char> wkb(geometry->WkbSize());
      if (geometry->exportToWkb(wkbNDR, wkb.data(), wkbVariantIso) != OGRERR_NONE)
        throw Defect("a survey area in the store cannot be read");
      area.area = from_wkb(wkb);
    }
    areas.push_back(std::move(area));
  }
  return areas;
}

void Store::check_drawn_for(const Plan& plan, const Crs& crs) const {
  if (!store_exists(file_)) return;
  OpenStore store(file_, OpenStore::Use::read);
  const auto refuse = [&](const std::string& what, const std::string& theirs, const std::string& ours) {
    throw InputError(
        {file_.string(), 0, {}}, fmt::format("{} {}, but the plan says {}.", what, theirs, ours),
        fmt::format("Draw again (swardline draw {}), or put the plan back as it was.", plan.file.string()));
  };
  for (const auto& [name, what] :
       {std::pair{"plots", "the plots are in"}, {"sites", "the survey areas are in"}}) {
    OGRLayer* table = store.table(name);
    if (table == nullptr) continue;
    const std::optional<Crs> theirs = system_of(*table);
    if (theirs && !theirs->same_as(crs)) refuse(what, theirs->name(), crs.name());
  }
  OGRLayer* table = store.table("certificate");
  const OGRFeatureUniquePtr row{table == nullptr ? nullptr : table->GetNextFeature()};
  if (!row) return;
  if (text(*row, "season") != plan.name)
    refuse("the plots were drawn for the season", "\"" + text(*row, "season") + "\"",
           "\"" + plan.name + "\"");
  if (text(*row, "seed") != std::to_string(plan.seed))
    refuse("the plots were drawn with seed", text(*row, "seed"), std::to_string(plan.seed));
}

std::optional<std::string> Store::read_certificate() const {
  if (!store_exists(file_)) return {};
  OpenStore store(file_, OpenStore::Use::read);
  OGRLayer* table = store.table("certificate");
  if (table == nullptr) return {};
  const OGRFeatureUniquePtr row{table->GetNextFeature()};
  if (!row) return {};
  return text(*row, "json");
}

std::optional<std::string> Store::inputs_of_last(const std::string& command) const {
  return of_last_run(file_, command, "inputs");
}

std::optional<std::string> Store::finished_of_last(const std::string& command) const {
  return of_last_run(file_, command, "finished");
}

}  // namespace swardline
