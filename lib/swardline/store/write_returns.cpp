#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <unordered_map>

#include "swardline/base/error.hpp"
#include "swardline/returns/flag_list.hpp"
#include "swardline/store/day_text.hpp"
#include "swardline/store/geopackage.hpp"
#include "swardline/store/returned.hpp"
#include "swardline/store/rows.hpp"
#include "swardline/store/runs.hpp"
#include "swardline/store/visits.hpp"

namespace swardline {
namespace {

void write_files(OpenStore& store, const Returns& returns) {
  RowWriter rows(store, store.make_table("returns", {{"file", OFTString},
                                                     {"original", OFTString},
                                                     {"fingerprint", OFTString},
                                                     {"received", OFTString},
                                                     {"version", OFTInteger},
                                                     {"rows", OFTInteger}}));
  std::vector<long long> number(returns.files.size(), 0);
  for (const ReturnRow& row : returns.rows) ++number.at(row.at.file);
  for (std::size_t i = 0; i < returns.files.size(); ++i) {
    const ReceivedFile& file = returns.files[i];
    rows.text(0, file.file);
    rows.text(1, file.original);
    rows.text(2, file.fingerprint);
    rows.text(3, file.received);
    rows.whole(4, file.version);
    rows.whole(5, number[i]);
    rows.next();
  }
  rows.finish();
}

// Fixes are put on the map only within this distance of the plots: swapped axes must not spread it over the
// globe.
constexpr double near_plots_m = 50000;

class FixesOnMap {
 public:
  explicit FixesOnMap(const Expected& expected) {
    if (!expected.crs || expected.plots.empty()) return;
    route_.emplace(Crs::wgs84(), *expected.crs);
    box_ = {expected.plots.front().east, expected.plots.front().north, expected.plots.front().east,
            expected.plots.front().north};
    for (const ExpectedPlot& plot : expected.plots) {
      box_.x0 = std::min(box_.x0, plot.east);
      box_.y0 = std::min(box_.y0, plot.north);
      box_.x1 = std::max(box_.x1, plot.east);
      box_.y1 = std::max(box_.y1, plot.north);
    }
  }
  [[nodiscard]] std::optional<Point> at(double lat, double lon) const {
    if (!route_ || !(std::abs(lat) <= 90) || !(std::abs(lon) <= 180)) return {};
    try {
      const Point point = route_->forward({lon, lat});
      const bool near = point.x > box_.x0 - near_plots_m && point.x < box_.x1 + near_plots_m &&
                        point.y > box_.y0 - near_plots_m && point.y < box_.y1 + near_plots_m;
      if (near) return point;
    } catch (const InputError&) {  // outside what the projection can hold
    }
    return {};
  }

 private:
  std::optional<Route> route_;
  Box box_{};
};

const std::vector<Column> visit_columns = {
    {"visit", OFTInteger},   {"file", OFTString},      {"row", OFTInteger},
    {"plot", OFTString},     {"date", OFTString},      {"start", OFTString},
    {"finish", OFTString},   {"observer", OFTString},  {"second_observer", OFTString},
    {"fix_lat", OFTReal},    {"fix_lon", OFTReal},     {"fix_accuracy_m", OFTReal},
    {"fix_east", OFTReal},   {"fix_north", OFTReal},   {"status", OFTString},
    {"sheet", OFTString},    {"plot_cell", OFTString}, {"date_cell", OFTString},
    {"lat_cell", OFTString}, {"lon_cell", OFTString},  {"status_cell", OFTString}};

void write_visits(OpenStore& store, const ReturnedSeason& season, const std::vector<ReturnedVisit>& visits) {
  const Expected& expected = season.expected;
  const Returns& returns = season.returns;
  OGRLayer* table = store.make_table("visits", visit_columns, expected.crs ? &*expected.crs : nullptr,
                                     expected.crs ? wkbPoint : wkbNone);
  const FixesOnMap map(expected);
  OGRFeature row(table->GetLayerDefn());
  const auto text = [&row](int column, const std::string& value) {
    if (!value.empty()) row.SetField(column, value.c_str());
  };
  const auto real = [&row](int column, double value) {
    if (!std::isnan(value)) row.SetField(column, value);
  };
  const auto pooled = [&](int column, std::int32_t index) {
    if (index >= 0) row.SetField(column, returns.texts.text(index).c_str());
  };
  std::array<std::string, 5> cells;
  constexpr std::array<ReturnColumn, 5> columns = {ReturnColumn::plot, ReturnColumn::visit_date,
                                                   ReturnColumn::lat, ReturnColumn::lon,
                                                   ReturnColumn::status};
  for (std::size_t i = 0; i < visits.size(); ++i) {
    const ReturnedVisit& visit = visits[i];
    row.Reset();
    row.SetField(0, int(i) + 1);
    text(1, returns.files.at(visit.at.file).file);
    row.SetField(2, int(visit.at.row));
    if (visit.plot >= 0) text(3, expected.plots.at(std::size_t(visit.plot)).name);
    text(4, day_text(visit.date));
    text(5, time_text(visit.start));
    text(6, time_text(visit.finish));
    pooled(7, visit.observer);
    pooled(8, visit.second_observer);
    real(9, visit.lat);
    real(10, visit.lon);
    real(11, visit.fix_accuracy_m);
    if (visit.fate != Fate::none) row.SetField(14, word(visit.fate));
    pooled(15, visit.sheet);
    returns.originals(visit.at, columns, cells);
    for (std::size_t c = 0; c < columns.size(); ++c) text(16 + int(c), cells[c]);
    if (const auto fix = map.at(visit.lat, visit.lon)) {
      row.SetField(12, fix->x);
      row.SetField(13, fix->y);
      OGRPoint point(fix->x, fix->y);
      row.SetGeometry(&point);
    }
    store.add(table, row);
  }
}

long long write_counts(OpenStore& store, const ReturnedSeason& season,
                       const std::vector<std::int32_t>& visit_of) {
  const Returns& returns = season.returns;
  RowWriter rows(store,
                 store.make_table("counts", {{"visit", OFTInteger},           {"row", OFTInteger},
                                             {"species", OFTString},          {"certainty", OFTString},
                                             {"stems", OFTInteger},           {"twice_stems", OFTInteger},
                                             {"rosettes", OFTInteger},        {"method", OFTString},
                                             {"area_searched_m2", OFTReal},   {"frames", OFTInteger},
                                             {"frame_m2", OFTReal},           {"tape_m", OFTReal},
                                             {"station", OFTInteger},         {"phase", OFTString},
                                             {"photo", OFTInteger},           {"use", OFTString},
                                             {"species_cell", OFTString},     {"stems_cell", OFTString},
                                             {"twice_stems_cell", OFTString}, {"rosettes_cell", OFTString},
                                             {"area_cell", OFTString}}));
  std::array<std::string, 5> cells;
  constexpr std::array<ReturnColumn, 5> columns = {ReturnColumn::species, ReturnColumn::flowering_stems,
                                                   ReturnColumn::twice_stems, ReturnColumn::rosettes,
                                                   ReturnColumn::area_searched_m2};
  const auto whole = [&rows](int column, int number) {
    if (number >= 0) rows.whole(column, number);
  };
  long long written = 0;
  for (std::size_t i = 0; i < returns.rows.size(); ++i) {
    const ReturnRow& row = returns.rows[i];
    if (!speaks_of_species(row)) continue;
    if (visit_of[i] >= 0) rows.whole(0, visit_of[i] + 1);
    rows.whole(1, row.at.row);
    if (row.species >= 0) rows.text(2, season.season.sheets[std::size_t(row.species)].code);
    rows.word(3, word(row.certainty));
    whole(4, row.stems);
    whole(5, row.twice_stems);
    whole(6, row.rosettes);
    rows.word(7, word(row.method));
    // As the cell has it, not as the nearest float.
    rows.real(8,
              std::isnan(row.area_searched_m2) ? NAN : std::round(double(row.area_searched_m2) * 1e4) / 1e4);
    whole(9, row.frames);
    rows.real(10, std::isnan(row.frame_m2) ? NAN : std::round(double(row.frame_m2) * 1e4) / 1e4);
    rows.real(11, std::isnan(row.tape_m) ? NAN : std::round(double(row.tape_m) * 1e3) / 1e3);
    whole(12, row.station);
    if (row.phase != Phase::none) rows.word(13, word(row.phase));
    rows.whole(14, row.has_photo ? 1 : 0);
    rows.word(15, row.left_out ? "left out" : word(season.uses[i]));
    returns.originals(row.at, columns, cells);
    for (std::size_t c = 0; c < columns.size(); ++c) rows.text(16 + int(c), cells[c]);
    rows.next();
    ++written;
  }
  rows.finish();
  return written;
}

void write_flags(OpenStore& store, const ReturnedSeason& season) {
  RowWriter rows(store, store.make_table("flags", {{"number", OFTInteger},
                                                   {"check", OFTString},
                                                   {"severity", OFTString},
                                                   {"file", OFTString},
                                                   {"row", OFTInteger},
                                                   {"rows", OFTString},
                                                   {"plot", OFTString},
                                                   {"column", OFTString},
                                                   {"value", OFTString},
                                                   {"reason", OFTString},
                                                   {"next_step", OFTString},
                                                   {"state", OFTString}}));
  for (const ReturnFlag& flag : season.flags) {
    rows.whole(0, flag.check);
    rows.word(1, name_of(flag));
    rows.word(2, word(flag.severity));
    if (!flag.rows.empty()) {
      rows.text(3, season.returns.files.at(flag.rows.front().file).file);
      rows.whole(4, flag.rows.front().row);
      rows.text(5, row_ranges(flag.rows));
    }
    if (flag.plot >= 0) rows.text(6, season.expected.plots.at(std::size_t(flag.plot)).name);
    rows.word(7, word(flag.column));
    rows.text(8, flag.value);
    rows.text(9, flag.reason);
    rows.text(10, flag.next_step);
    rows.word(11, state_of(flag));
    rows.next();
  }
  rows.finish();
}

void write_corrections(OpenStore& store, const Returns& returns) {
  RowWriter rows(store, store.make_table("corrections", {{"file", OFTString},
                                                         {"row", OFTInteger},
                                                         {"column", OFTString},
                                                         {"old", OFTString},
                                                         {"new", OFTString},
                                                         {"who", OFTString},
                                                         {"when", OFTString},
                                                         {"why", OFTString},
                                                         {"evidence", OFTString}}));
  for (const Correction& correction : returns.corrections) {
    rows.text(0, correction.file);
    rows.whole(1, correction.row);
    rows.text(2, correction.column);
    rows.text(3, correction.old_text);
    rows.text(4, correction.new_text);
    rows.text(5, correction.who);
    rows.text(6, correction.when);
    rows.text(7, correction.why);
    rows.text(8, correction.evidence);
    rows.next();
  }
  rows.finish();
}

// A row for every site and species, so that a store tells by itself what was looked for where.
void write_searched(OpenStore& store, const ReturnedSeason& season) {
  RowWriter rows(
      store,
      store.make_table("searched", {{"site", OFTString}, {"species", OFTString}, {"searched", OFTInteger}}));
  for (const auto& [site, sheets] : season.expected.searched) {
    for (std::size_t s = 0; s < season.season.sheets.size(); ++s) {
      rows.text(0, site);
      rows.text(1, season.season.sheets[s].code);
      rows.whole(2, std::find(sheets.begin(), sheets.end(), s) != sheets.end() ? 1 : 0);
      rows.next();
    }
  }
  rows.finish();
}

}  // namespace

ReturnedRows write_returns(const std::filesystem::path& file, const ReturnedSeason& season,
                           const RunRecord& run) {
  if (season.uses.size() != season.returns.rows.size())
    throw Defect("not every row that was received has been judged");
  const VisitsFound found = find_visits(season.returns);
  OpenStore store(file, OpenStore::Use::write);
  write_files(store, season.returns);
  write_visits(store, season, found.visits);
  const long long counts = write_counts(store, season, found.visit_of_row);
  write_flags(store, season);
  write_corrections(store, season.returns);
  write_searched(store, season);
  add_run(store, run);
  store.commit();
  return {std::int64_t(found.visits.size()), counts};
}

KnownReturns known_returns(const std::filesystem::path& file) {
  KnownReturns known;
  if (!store_exists(file)) return known;
  OpenStore store(file, OpenStore::Use::read);
  if (OGRLayer* files = store.table("returns"))
    for (const auto& row : *files) known.files.emplace_back(row->GetFieldAsString("file"));
  if (OGRLayer* corrections = store.table("corrections")) known.corrections = corrections->GetFeatureCount();
  return known;
}

std::string inputs_of_returns(const std::filesystem::path& file) {
  std::string inputs;
  if (!store_exists(file)) return inputs;
  OpenStore store(file, OpenStore::Use::read);
  if (store.table("counts") == nullptr) return inputs;
  for (const auto& run : *store.table("runs"))
    for (const char* command : {"receive", "correct", "returns"})
      if (std::string(run->GetFieldAsString("command")) == command) inputs = run->GetFieldAsString("inputs");
  return inputs;
}

bool estimated_since_received(const std::filesystem::path& file) {
  if (!store_exists(file)) return false;
  OpenStore store(file, OpenStore::Use::read);
  bool estimated = false;
  for (const auto& run : *store.table("runs")) {
    const std::string command = run->GetFieldAsString("command");
    if (command == "estimate") estimated = true;
    if (command == "receive") estimated = false;
  }
  return estimated;
}

}  // namespace swardline
