#include "swardline/store/visits.hpp"

#include <cmath>
#include <unordered_map>

namespace swardline {
namespace {

/// What rows of one visit agree in.
struct VisitKey {
  std::uint32_t file = 0;
  std::int32_t plot = -1, observer = -1, sheet = -1;
  Day date = no_day;
  bool operator==(const VisitKey&) const = default;
};

struct KeyHash {
  std::size_t operator()(const VisitKey& key) const {
    std::uint64_t hash = key.file;
    for (const std::int32_t part : {key.plot, key.observer, key.sheet, key.date})
      hash = (hash ^ std::uint32_t(part)) * 0x9E3779B97F4A7C15ULL + (hash >> 29);
    return std::size_t(hash ^ (hash >> 32));
  }
};

void fill_in(ReturnedVisit& visit, const ReturnRow& row) {
  if (visit.start < 0) visit.start = row.start;
  if (visit.finish < 0) visit.finish = row.finish;
  if (visit.second_observer < 0) visit.second_observer = row.second_observer;
  if (visit.fate == Fate::none) visit.fate = row.fate;
  if (std::isnan(visit.lat) && !std::isnan(row.lat) && !std::isnan(row.lon)) {
    visit.lat = row.lat;
    visit.lon = row.lon;
    visit.fix_accuracy_m = row.fix_accuracy_m;
  }
}

}  // namespace

bool is_untouched(const ReturnRow& row) {
  return row.unread == 0 && row.date == no_day && row.observer < 0 && row.second_observer < 0 &&
         row.start < 0 && row.finish < 0 && row.fate == Fate::none && row.stems < 0 && row.twice_stems <= 0 &&
         row.rosettes < 0 && std::isnan(row.lat) && std::isnan(row.lon) && !row.has_photo;
}

bool speaks_of_species(const ReturnRow& row) {
  return row.species >= 0 || row.cannot_read(ReturnColumn::species) || row.stems >= 0 ||
         row.cannot_read(ReturnColumn::flowering_stems) || row.rosettes >= 0;
}

VisitsFound find_visits(const Returns& returns) {
  VisitsFound found;
  found.visit_of_row.reserve(returns.rows.size());
  TextPool unknown;
  // Visits of one key that say different things of what became of the plot follow one another.
  std::unordered_map<VisitKey, std::vector<std::int32_t>, KeyHash> known;
  for (const ReturnRow& row : returns.rows) {
    if (row.left_out || is_untouched(row)) {
      found.visit_of_row.push_back(-1);
      continue;
    }
    VisitKey key{row.at.file, row.plot, row.observer, row.sheet, row.date};
    if (key.plot < 0) key.plot = -2 - unknown.index_of(returns.original(row.at, ReturnColumn::plot));
    std::vector<std::int32_t>& same = known[key];
    std::int32_t visit = -1;
    for (const std::int32_t candidate : same) {
      const Fate fate = found.visits[std::size_t(candidate)].fate;
      if (row.fate == Fate::none || fate == Fate::none || fate == row.fate) {
        visit = candidate;
        break;
      }
    }
    if (visit < 0) {
      visit = std::int32_t(found.visits.size());
      same.push_back(visit);
      ReturnedVisit fresh;
      fresh.at = row.at;
      fresh.plot = row.plot;
      fresh.observer = row.observer;
      fresh.sheet = row.sheet;
      fresh.date = row.date;
      found.visits.push_back(fresh);
    }
    fill_in(found.visits[std::size_t(visit)], row);
    found.visit_of_row.push_back(visit);
  }
  return found;
}

}  // namespace swardline
