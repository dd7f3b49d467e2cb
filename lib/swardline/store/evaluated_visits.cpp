#include "swardline/store/evaluated_visits.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "swardline/store/columns.hpp"
#include "swardline/store/day_text.hpp"

namespace swardline {
namespace {

using Visits = std::span<const VisitOfUnit>;

/// Sheets of one observer and day are one visit, named by the first of them.
void find_events(std::vector<VisitOfUnit>& visits) {
  std::size_t day = 0;  // where this unit's day begins
  for (std::size_t i = 0; i < visits.size(); ++i) {
    if (visits[i].unit != visits[day].unit || visits[i].day != visits[day].day) day = i;
    std::size_t first = day;
    while (visits[first].observer != visits[i].observer) ++first;
    visits[i].event = std::int32_t(first);
  }
}

/// What is said of a plot that was visited and not evaluated: of its last visit.
void tell_not_evaluated(EvaluatedUnit& unit, Visits visits) {
  const VisitOfUnit& last = visits.back();
  const std::string on = last.day == no_day ? "" : " on " + day_text(last.day);
  unit.day = last.day == no_day ? 0 : last.day;
  if (!carries_counts(last.fate)) {
    unit.fate = word(last.fate);
    unit.why = unit.fate + on;
    return;
  }
  const std::string said = word(last.fate == Fate::none ? Fate::counted : last.fate);
  int kept_out = 0, cannot_be_used = 0;
  for (const VisitOfUnit& visit : visits) {
    kept_out += visit.kept_out;
    cannot_be_used += visit.cannot_be_used;
  }
  unit.fate = kept_out + cannot_be_used > 0 ? "rows kept out" : "no count";
  unit.why = kept_out + cannot_be_used > 0
                 ? fmt::format("{}{}, but of its rows {} cannot be used and {} are kept out", said, on,
                               cannot_be_used, kept_out)
                 : fmt::format("{}{}, without a count that can be used", said, on);
}

void tell_evaluated(EvaluatedUnit& unit, Visits visits, const VisitOfUnit& counted,
                    const std::vector<std::string>& observers) {
  unit.evaluated = true;
  unit.fate = word(counted.fate == Fate::part_counted ? Fate::part_counted : Fate::counted);
  unit.day = counted.day == no_day ? 0 : counted.day;
  unit.observer = observers[std::size_t(counted.observer)];
  // The fix of that visit, or of another on the same day.
  const VisitOfUnit* fix = nullptr;
  for (const VisitOfUnit& visit : visits) {
    if (std::isnan(visit.fix_east) || visit.day != counted.day) continue;
    if (fix == nullptr || (visit.event == counted.event && fix->event != counted.event)) fix = &visit;
  }
  if (fix == nullptr) return;
  unit.fix_east = fix->fix_east;
  unit.fix_north = fix->fix_north;
  unit.fix_accuracy_m = fix->fix_accuracy_m;
}

/// A plot without any survey area needs no visit: nothing of the site grows there.
void count_nothing(EvaluatedDraft& draft, std::size_t index) {
  EvaluatedUnit& unit = draft.season.units[index];
  const auto searched = draft.searched.find(unit.site);
  if (searched == draft.searched.end()) return;
  unit.evaluated = true;
  unit.fate = word(Fate::counted);
  unit.why = "no part of it is survey area: nothing to count, no visit needed";
  for (std::size_t s = 0; s < unit.counts.size(); ++s)
    if (searched->second[s])
      unit.counts[s] = {0, 0, denominator_m2(draft.ground[index].rule, draft.ground[index].whole), true};
}

/// Spares in use and the planned plots given up, by stratum, both in draw order.
void place_spares(EvaluatedDraft& draft) {
  struct Places {
    std::vector<std::size_t> spares, given_up;
  };
  std::map<std::string, Places> strata;
  std::vector<EvaluatedUnit>& units = draft.season.units;
  for (std::size_t i = 0; i < units.size(); ++i) {
    if (!draft.ground[i].due || !units[i].in_use) continue;
    if (units[i].spare) strata[units[i].stratum].spares.push_back(i);
    if (!units[i].spare && !units[i].evaluated) strata[units[i].stratum].given_up.push_back(i);
  }
  for (auto& [stratum, places] : strata) {
    const auto by_order = [&units](std::size_t a, std::size_t b) { return units[a].order < units[b].order; };
    std::sort(places.spares.begin(), places.spares.end(), by_order);
    // A plot that nothing came back of may still be counted: its place is taken last.
    const auto came_back = [&](std::size_t i) { return units[i].fate != "no return"; };
    std::sort(places.given_up.begin(), places.given_up.end(), [&](std::size_t a, std::size_t b) {
      return std::pair(!came_back(a), units[a].order) < std::pair(!came_back(b), units[b].order);
    });
    for (std::size_t k = 0; k < places.spares.size(); ++k) {
      EvaluatedUnit& spare = units[places.spares[k]];
      const std::string why = k < places.given_up.size()
                                  ? fmt::format("in place of {} ({})", units[places.given_up[k]].name,
                                                units[places.given_up[k]].fate)
                                  : "in use though no planned plot of its stratum was given up for it";
      spare.why = spare.why.empty() ? why : why + "; " + spare.why;
    }
  }
}

/// Spares wholly outside are done once a later one of their stratum is in use.
void pass_outside_spares(EvaluatedDraft& draft) {
  std::map<std::string, int> last;
  std::vector<EvaluatedUnit>& units = draft.season.units;
  for (const EvaluatedUnit& unit : units)
    if (unit.spare && unit.in_use) last[unit.stratum] = std::max(last[unit.stratum], unit.order);
  for (std::size_t i = 0; i < units.size(); ++i) {
    if (!units[i].spare || units[i].in_use || !draft.ground[i].due || !draft.ground[i].outside) continue;
    if (const auto reached = last.find(units[i].stratum);
        reached != last.end() && units[i].order < reached->second) {
      units[i].in_use = true;
      count_nothing(draft, i);
    }
  }
}

int most_common_year(const std::map<int, int>& years) {
  const auto most = std::max_element(years.begin(), years.end(),
                                     [](const auto& a, const auto& b) { return a.second < b.second; });
  return most == years.end() ? 0 : most->first;
}

}  // namespace

EvaluatedVisits read_visits(OpenStore& store, const EvaluatedDraft& draft) {
  EvaluatedVisits visits;
  visits.counted.assign(draft.season.units.size(), -1);
  visits.observers.emplace_back();
  OGRLayer* table = store.table("visits");
  if (table == nullptr) return visits;
  TextIndex observer_of = {{"", 0}};
  struct Numbered {
    std::int64_t id;
    VisitOfUnit visit;
  };
  std::vector<Numbered> read;
  std::int64_t last_id = 0;
  ColumnReader in(store, table,
                  {"visit", "plot", "date", "observer", "fix_accuracy_m", "fix_east", "fix_north", "status"});
  while (in.next()) {
    const std::int64_t id = in.whole(0, 0);
    last_id = std::max(last_id, id);
    const auto unit = draft.unit_of.find(in.text(1));
    if (unit == draft.unit_of.end()) continue;
    VisitOfUnit visit;
    visit.unit = unit->second;
    visit.day = day_from(in.text(2));
    const auto known = observer_of.find(in.text(3));
    if (known != observer_of.end()) {
      visit.observer = known->second;
    } else {
      visit.observer = std::int32_t(visits.observers.size());
      observer_of.emplace(in.text(3), visit.observer);
      visits.observers.emplace_back(in.text(3));
    }
    visit.fix_accuracy_m = in.real(4);
    visit.fix_east = in.real(5);
    visit.fix_north = in.real(6);
    visit.fate = in.is_null(7) ? Fate::none : fate_of(in.text(7));
    read.push_back({id, visit});
  }
  // Days before no_day, which is the smallest number there is: what has no date comes after what has.
  const auto late = [](Day day) { return day == no_day ? std::numeric_limits<Day>::max() : day; };
  std::sort(read.begin(), read.end(), [&late](const Numbered& a, const Numbered& b) {
    return std::tuple(a.visit.unit, late(a.visit.day), a.id) <
           std::tuple(b.visit.unit, late(b.visit.day), b.id);
  });
  visits.number_of_id.assign(std::size_t(last_id) + 1, -1);
  for (const Numbered& one : read) {
    if (one.id >= 0) visits.number_of_id[std::size_t(one.id)] = std::int32_t(visits.all.size());
    visits.all.push_back(one.visit);
  }
  find_events(visits.all);
  return visits;
}

void settle_fates(EvaluatedDraft& draft, const EvaluatedVisits& visits) {
  std::map<int, int> years;
  std::vector<EvaluatedUnit>& units = draft.season.units;
  std::vector<std::pair<std::size_t, std::size_t>> of_unit(units.size(), {0, 0});
  for (std::size_t i = 0; i < visits.all.size(); ++i) {
    auto& [begin, end] = of_unit[std::size_t(visits.all[i].unit)];
    if (begin == end) begin = i;
    end = i + 1;
  }
  for (std::size_t i = 0; i < units.size(); ++i) {
    EvaluatedUnit& unit = units[i];
    if (!draft.ground[i].due) continue;
    const Visits here = Visits(visits.all).subspan(of_unit[i].first, of_unit[i].second - of_unit[i].first);
    // Somebody who wrote only a name and a day may have walked past a spare.
    if (std::any_of(here.begin(), here.end(),
                    [](const VisitOfUnit& v) { return v.fate != Fate::none || v.box_written; }))
      unit.in_use = true;
    const bool counted = visits.counted[i] >= 0 && std::any_of(unit.counts.begin(), unit.counts.end(),
                                                               [](const UnitCount& c) { return c.searched; });
    if (counted) {
      const VisitOfUnit& visit = visits.all[std::size_t(visits.counted[i])];
      tell_evaluated(unit, here, visit, visits.observers);
      if (visit.day != no_day) ++years[year_of_day(visit.day)];
    } else if (!here.empty() && unit.in_use) {
      tell_not_evaluated(unit, here);
    } else if (draft.ground[i].outside && !unit.spare) {
      count_nothing(draft, i);
    } else if (unit.in_use) {
      unit.why = "no return";
    }
  }
  pass_outside_spares(draft);
  place_spares(draft);
  draft.season.year = most_common_year(years);
}

}  // namespace swardline
