#include "swardline/store/read_season_record.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

#include "swardline/base/flag.hpp"
#include "swardline/store/columns.hpp"

namespace swardline {
namespace {

/// Minutes after midnight of "09:30"; -1 for anything else.
int minutes_of_day(std::string_view text) {
  const auto digit = [&](std::size_t i) { return text[i] >= '0' && text[i] <= '9'; };
  if (text.size() != 5 || text[2] != ':' || !digit(0) || !digit(1) || !digit(3) || !digit(4)) return -1;
  return (text[0] - '0') * 600 + (text[1] - '0') * 60 + (text[3] - '0') * 10 + (text[4] - '0');
}

std::set<std::string, std::less<>> drawn_names(OpenStore& store) {
  std::set<std::string, std::less<>> names;
  for (const char* name : {"plots", "transects"}) {
    OGRLayer* table = store.table(name);
    if (table == nullptr) continue;
    ColumnReader rows(store, table, {"name"});
    while (rows.next()) names.emplace(rows.text(0));
  }
  return names;
}

void read_visits_on_record(OpenStore& store, SeasonOnRecord& record) {
  OGRLayer* table = store.table("visits");
  if (table == nullptr) return;
  const auto known = drawn_names(store);
  std::map<std::tuple<std::string, std::string, std::string>, std::size_t> seen;
  ColumnReader rows(store, table, {"plot", "date", "start", "finish", "observer", "second_observer"});
  while (rows.next()) {
    if (!known.contains(rows.text(0))) continue;
    const int start = minutes_of_day(rows.text(2)), finish = minutes_of_day(rows.text(3));
    VisitOnRecord visit{std::string(rows.text(0)), std::string(rows.text(1)), std::string(rows.text(4)),
                        std::string(rows.text(5)), start >= 0 && finish >= start ? finish - start : -1};
    const auto [at, first] = seen.try_emplace({visit.plot, visit.day, visit.observer}, record.visits.size());
    if (first) {
      record.visits.push_back(std::move(visit));
      continue;
    }
    VisitOnRecord& known_visit = record.visits[at->second];
    known_visit.minutes = std::max(known_visit.minutes, visit.minutes);
    if (known_visit.second_observer.empty()) known_visit.second_observer = visit.second_observer;
  }
}

void read_flags_on_record(OpenStore& store, SeasonOnRecord& record) {
  OGRLayer* table = store.table("flags");
  if (table == nullptr) return;
  const auto rank = [](std::string_view severity) {
    return severity == word(Severity::stop) ? 0 : severity == word(Severity::ask) ? 1 : 2;
  };
  std::map<std::tuple<int, int, std::string>, FlagsOnRecord> sums;
  ColumnReader rows(store, table, {"number", "check", "severity", "state"});
  while (rows.next()) {
    const std::string check(rows.text(1)), severity(rows.text(2));
    FlagsOnRecord& sum = sums[{rank(severity), int(rows.whole(0, 0)), check}];
    sum.number = int(rows.whole(0, 0));
    sum.check = check;
    sum.severity = severity;
    const std::string_view state = rows.text(3);
    ++(state == "open" ? sum.open : state == "confirmed" ? sum.confirmed : sum.listed);
  }
  for (auto& [key, sum] : sums) record.flags.push_back(std::move(sum));
}

void read_corrections_on_record(OpenStore& store, SeasonOnRecord& record) {
  OGRLayer* table = store.table("corrections");
  if (table == nullptr) return;
  std::set<std::string> people;
  ColumnReader rows(store, table, {"who", "when"});
  while (rows.next()) {
    ++record.corrections;
    people.emplace(rows.text(0));
    const std::string day(rows.text(1).substr(0, 10));
    if (record.first_correction.empty() || day < record.first_correction) record.first_correction = day;
    record.last_correction = std::max(record.last_correction, day);
  }
  record.corrected_by = int(people.size());
}

}  // namespace

SeasonOnRecord read_season_record(const std::filesystem::path& file) {
  SeasonOnRecord record;
  if (!store_exists(file)) return record;
  OpenStore store(file, OpenStore::Use::read);
  read_visits_on_record(store, record);
  read_flags_on_record(store, record);
  read_corrections_on_record(store, record);
  if (OGRLayer* table = store.table("returns")) {
    ColumnReader rows(store, table, {"original", "fingerprint", "received", "rows"});
    while (rows.next())
      record.files.push_back({std::string(rows.text(0)), std::string(rows.text(1)), std::string(rows.text(2)),
                              rows.whole(3, 0)});
  }
  if (OGRLayer* table = store.table("runs")) {
    // Few rows; features turn numbers and times into text.
    for (const auto& row : *table)
      record.runs.push_back({row->GetFieldAsString("command"), row->GetFieldAsString("version"),
                             row->GetFieldAsString("inputs"), row->GetFieldAsString("seed"),
                             row->GetFieldAsString("started"), row->GetFieldAsString("finished")});
  }
  return record;
}

}  // namespace swardline
