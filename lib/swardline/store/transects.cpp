#include "swardline/store/transects.hpp"

#include <fmt/format.h>

#include <map>

#include "swardline/base/error.hpp"
#include "swardline/store/plot_scores.hpp"
#include "swardline/store/store.hpp"

namespace swardline {
namespace {

Geometry line_of(const OGRFeature& row) {
  const OGRGeometry* geometry = row.GetGeometryRef();
  if (geometry == nullptr) return from_wkt("MULTILINESTRING EMPTY");
  std::vector<unsigned char> wkb(geometry->WkbSize());
  if (geometry->exportToWkb(wkbNDR, wkb.data(), wkbVariantIso) != OGRERR_NONE)
    throw Defect("a transect in the store cannot be read");
  return from_wkb(wkb);
}

OGRLayer* make_transects(OpenStore& store, const Crs& crs, PlotScores& scores) {
  std::vector<Column> columns = {{"name", OFTString},
                                 {"site", OFTString},
                                 {"stratum", OFTString},
                                 {"kind", OFTString},
                                 {"order", OFTInteger},
                                 {"spare", OFTInteger},
                                 {"chance_per_m2", OFTReal},
                                 {"weight_m2", OFTReal},
                                 {"start_ground_m2", OFTReal},
                                 {"bearing", OFTReal},
                                 {"bearing_magnetic", OFTReal},
                                 {"grid_bearing", OFTReal},
                                 {"length_m", OFTReal},
                                 {"tape_m", OFTReal},
                                 {"parts", OFTString},
                                 {"inside_m2", OFTReal},
                                 {"twice_m2", OFTReal},
                                 {"east", OFTReal},
                                 {"north", OFTReal},
                                 {"lat", OFTReal},
                                 {"lon", OFTReal},
                                 {"end_lat", OFTReal},
                                 {"end_lon", OFTReal},
                                 {"stake_out", OFTString},
                                 {"status", OFTString},
                                 {"why", OFTString},
                                 {"walk", OFTInteger},
                                 {"metres_from_last", OFTReal}};
  scores.add_columns(columns);
  return store.make_table("transects", columns, &crs, wkbMultiLineString);
}

void add_transect(OpenStore& store, OGRLayer* table, const Transect& transect, const PlotScores& scores) {
  const Plot& unit = transect.unit;
  OGRFeature row(table->GetLayerDefn());
  row.SetField("name", unit.name.c_str());
  row.SetField("site", unit.site.c_str());
  row.SetField("stratum", unit.stratum.c_str());
  row.SetField("kind", unit.spare ? "spare" : "planned");
  row.SetField("order", unit.order);
  row.SetField("spare", unit.spare ? 1 : 0);
  row.SetField("chance_per_m2", unit.chance_per_m2);
  row.SetField("weight_m2", unit.weight_m2);
  row.SetField("start_ground_m2", transect.start_ground_m2);
  row.SetField("bearing", unit.bearing_deg);
  if (transect.magnetic_bearing_deg) row.SetField("bearing_magnetic", *transect.magnetic_bearing_deg);
  row.SetField("grid_bearing", unit.grid_bearing_deg);
  row.SetField("length_m", transect.length_m);
  row.SetField("tape_m", transect.tape_m);
  row.SetField("parts", transect.parts.c_str());
  row.SetField("inside_m2", unit.inside_m2);
  row.SetField("twice_m2", unit.twice_m2);
  row.SetField("east", unit.east);
  row.SetField("north", unit.north);
  row.SetField("lat", unit.lat);
  row.SetField("lon", unit.lon);
  row.SetField("end_lat", transect.end_lat);
  row.SetField("end_lon", transect.end_lon);
  row.SetField("stake_out", transect.stake_out.c_str());
  row.SetField("status", unit.status.c_str());
  row.SetField("why", unit.why.c_str());
  row.SetField("walk", unit.walk);
  row.SetField("metres_from_last", unit.metres_from_last);
  scores.set(row, unit);
  set_geometry(row, transect.line, OGRGeometryFactory::forceToMultiLineString);
  store.add(table, row);
}

void add_reference(OpenStore& store, OGRLayer* table, const ReferenceLine& line) {
  OGRFeature row(table->GetLayerDefn());
  row.SetField("name", line.name.c_str());
  row.SetField("site", line.site.c_str());
  row.SetField("kind", "reference");
  row.SetField("length_m", line.length_m);
  if (line.tape_m) row.SetField("tape_m", *line.tape_m);
  row.SetField("lat", line.lat);
  row.SetField("lon", line.lon);
  row.SetField("status", "reference");
  row.SetField("why", "placed by hand: no chance, kept out of estimates");
  set_geometry(row, line.line, OGRGeometryFactory::forceToMultiLineString);
  store.add(table, row);
}

void write_stations(OpenStore& store, const Crs& crs, const SeasonDraw& draw) {
  OGRLayer* table = store.make_table("stations",
                                     {{"transect", OFTString},
                                      {"number", OFTInteger},
                                      {"tape_m", OFTReal},
                                      {"on_the_way_back", OFTInteger},
                                      {"inside_m2", OFTReal},
                                      {"twice_m2", OFTReal},
                                      {"lat", OFTReal},
                                      {"lon", OFTReal}},
                                     &crs, wkbPoint);
  for (const Transect& transect : draw.transects) {
    for (const TransectStation& station : transect.stations) {
      OGRFeature row(table->GetLayerDefn());
      row.SetField("transect", transect.unit.name.c_str());
      row.SetField("number", station.number);
      row.SetField("tape_m", station.tape_m);
      row.SetField("on_the_way_back", station.folded ? 1 : 0);
      row.SetField("inside_m2", station.inside_m2);
      row.SetField("twice_m2", station.twice_m2);
      row.SetField("lat", station.lat);
      row.SetField("lon", station.lon);
      OGRPoint point(station.east, station.north);
      row.SetGeometry(&point);
      store.add(table, row);
    }
  }
}

Transect read_transect(const OGRFeature& row) {
  const auto text = [&](const char* field) { return std::string(row.GetFieldAsString(field)); };
  const auto number = [&](const char* field) { return row.GetFieldAsDouble(field); };
  Transect transect;
  Plot& unit = transect.unit;
  unit.name = text("name");
  unit.site = text("site");
  unit.stratum = text("stratum");
  unit.kind = "transect start";
  unit.order = row.GetFieldAsInteger("order");
  unit.spare = row.GetFieldAsInteger("spare") != 0;
  unit.chance_per_m2 = number("chance_per_m2");
  unit.weight_m2 = number("weight_m2");
  unit.bearing_deg = number("bearing");
  unit.grid_bearing_deg = number("grid_bearing");
  unit.inside_m2 = number("inside_m2");
  unit.twice_m2 = number("twice_m2");
  unit.east = number("east");
  unit.north = number("north");
  unit.lat = number("lat");
  unit.lon = number("lon");
  unit.status = text("status");
  unit.why = text("why");
  unit.walk = row.GetFieldAsInteger("walk");
  unit.metres_from_last = number("metres_from_last");
  unit.tape = fmt::format("lay {:.1f} m", number("tape_m"));
  read_plot_scores(row, unit);
  transect.start_ground_m2 = number("start_ground_m2");
  const int magnetic = row.GetFieldIndex("bearing_magnetic");
  if (row.IsFieldSetAndNotNull(magnetic)) transect.magnetic_bearing_deg = row.GetFieldAsDouble(magnetic);
  transect.length_m = number("length_m");
  transect.tape_m = number("tape_m");
  transect.parts = text("parts");
  transect.stake_out = text("stake_out");
  transect.line = line_of(row);
  transect.end_lat = number("end_lat");
  transect.end_lon = number("end_lon");
  return transect;
}

TransectStation read_station(const OGRFeature& row) {
  TransectStation station;
  station.number = row.GetFieldAsInteger("number");
  station.tape_m = row.GetFieldAsDouble("tape_m");
  station.folded = row.GetFieldAsInteger("on_the_way_back") != 0;
  station.inside_m2 = row.GetFieldAsDouble("inside_m2");
  station.twice_m2 = row.GetFieldAsDouble("twice_m2");
  station.lat = row.GetFieldAsDouble("lat");
  station.lon = row.GetFieldAsDouble("lon");
  if (const OGRGeometry* at = row.GetGeometryRef()) {
    station.east = at->toPoint()->getX();
    station.north = at->toPoint()->getY();
  }
  return station;
}

bool is_reference(const OGRFeature& row) { return std::string(row.GetFieldAsString("kind")) == "reference"; }

}  // namespace

void write_transects(OpenStore& store, const Crs& crs, const SeasonDraw& draw) {
  const bool any = !draw.transects.empty() || !draw.reference_lines.empty();
  if (!any && store.table("transects") == nullptr) return;
  PlotScores scores;
  for (const Transect& transect : draw.transects) scores.look_at(transect.unit);
  OGRLayer* table = make_transects(store, crs, scores);
  for (const Transect& transect : draw.transects) add_transect(store, table, transect, scores);
  for (const ReferenceLine& line : draw.reference_lines) add_reference(store, table, line);
  write_stations(store, crs, draw);
}

std::vector<Transect> Store::read_transects() const {
  std::vector<Transect> transects;
  if (!store_exists(file_)) return transects;
  OpenStore store(file_, OpenStore::Use::read);
  OGRLayer* table = store.table("transects");
  if (table == nullptr) return transects;
  for (const auto& row : *table)
    if (!is_reference(*row)) transects.push_back(read_transect(*row));
  std::map<std::string, std::vector<TransectStation>> stations;
  if (OGRLayer* frames = store.table("stations"))
    for (const auto& row : *frames) stations[row->GetFieldAsString("transect")].push_back(read_station(*row));
  for (Transect& transect : transects) transect.stations = std::move(stations[transect.unit.name]);
  return transects;
}

std::vector<ReferenceLine> Store::read_reference_lines() const {
  std::vector<ReferenceLine> lines;
  if (!store_exists(file_)) return lines;
  OpenStore store(file_, OpenStore::Use::read);
  OGRLayer* table = store.table("transects");
  if (table == nullptr) return lines;
  for (const auto& row : *table) {
    if (!is_reference(*row)) continue;
    ReferenceLine line;
    line.name = row->GetFieldAsString("name");
    line.site = row->GetFieldAsString("site");
    line.length_m = row->GetFieldAsDouble("length_m");
    const int tape = row->GetFieldIndex("tape_m");
    if (row->IsFieldSetAndNotNull(tape)) line.tape_m = row->GetFieldAsDouble(tape);
    line.lat = row->GetFieldAsDouble("lat");
    line.lon = row->GetFieldAsDouble("lon");
    line.line = line_of(*row);
    lines.push_back(std::move(line));
  }
  return lines;
}

}  // namespace swardline
