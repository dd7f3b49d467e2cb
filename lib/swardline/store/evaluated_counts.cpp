// Visits and counts joined to the units of a season.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/store/columns.hpp"
#include "swardline/store/day_text.hpp"
#include "swardline/store/evaluated_parts.hpp"
#include "swardline/store/evaluated_visits.hpp"

namespace swardline {
namespace {

/// What was told of counts while they were joined, for EvaluatedSeason::notes.
struct Told {
  std::int64_t twice_box_empty = 0, part_without_area = 0, half_counted = 0, parts_of_edge_plots = 0;
};

CountMethod method_of(std::string_view text) {
  for (const CountMethod method : {CountMethod::counted, CountMethod::half_counted, CountMethod::by_class})
    if (text == word(method)) return method;
  return CountMethod::unknown;
}

Phase phase_of(std::string_view text) {
  for (const Phase phase : {Phase::bud, Phase::flower, Phase::capsule, Phase::past})
    if (text == word(phase)) return phase;
  return Phase::none;
}

float area_of(double area_m2, std::int64_t frames, double frame_m2) {
  if (!std::isnan(area_m2)) return float(area_m2);
  return frames > 0 && frame_m2 > 0 ? float(double(frames) * frame_m2) : std::nanf("");
}

/// Rows in use, by unit, species, visit and station; the others are counted for their unit.
std::vector<CountRow> read_rows(OpenStore& store, const EvaluatedDraft& draft, EvaluatedVisits& visits) {
  std::vector<CountRow> rows;
  OGRLayer* table = store.table("counts");
  if (table == nullptr) return rows;
  ColumnReader in(store, table,
                  {"visit", "species", "certainty", "stems", "twice_stems", "method", "area_searched_m2",
                   "frames", "frame_m2", "station", "phase", "use", "stems_cell"});
  std::int32_t number = 0;
  while (in.next()) {
    const std::int32_t visit = visits.of_row(in.whole(0, 0));
    if (visit < 0) continue;
    VisitOfUnit& of = visits.all[std::size_t(visit)];
    of.box_written = of.box_written || !in.is_null(3) || !in.is_null(12);
    const std::string_view use = in.text(11);
    if (use != "used") {
      ++(use == "cannot be used" ? of.cannot_be_used : of.kept_out);
      continue;
    }
    const auto species = draft.species_of.find(in.text(1));
    CountRow row;
    row.stems = std::int32_t(in.whole(3));
    if (species == draft.species_of.end() || row.stems < 0) continue;
    row.unit = of.unit;
    row.species = species->second;
    row.visit = of.event;
    row.row = number++;
    row.twice_stems = std::int32_t(in.whole(4));
    row.area_m2 = area_of(in.real(6), in.whole(7), in.real(8));
    row.station = std::int16_t(in.whole(9));
    row.certainty = in.text(2) == word(Certainty::not_certain) ? Certainty::not_certain : Certainty::sure;
    row.method = method_of(in.text(5));
    row.phase = phase_of(in.text(10));
    row.part = of.fate == Fate::part_counted;
    rows.push_back(row);
  }
  std::sort(rows.begin(), rows.end(), [](const CountRow& a, const CountRow& b) {
    return std::tie(a.unit, a.species, a.visit, a.station, a.row) <
           std::tie(b.unit, b.species, b.visit, b.station, b.row);
  });
  return rows;
}

template <class Same>
std::span<const CountRow> run_of(std::span<const CountRow> rows, const Same& same) {
  std::size_t end = 0;
  while (end < rows.size() && same(rows.front(), rows[end])) ++end;
  return rows.first(end);
}

/// One species on one visit to one unit: a plot, or the sum of a transect's stations.
CountTally tally_of_visit(const UnitGround& ground, std::span<const CountRow> rows) {
  if (ground.stations.empty()) return tally_of(ground.rule, ground.whole, rows);
  CountTally sum;
  std::size_t stations = 0;
  for (std::span<const CountRow> left = rows; !left.empty();) {
    const auto here =
        run_of(left, [](const CountRow& a, const CountRow& b) { return a.station == b.station; });
    left = left.subspan(here.size());
    const auto station = std::size_t(std::max<int>(here.front().station, 0));
    // Rows of the whole line come first; where its stations are told too, they say the same in more detail.
    const bool whole = station == 0;
    if (station > ground.stations.size() || (whole && !left.empty())) continue;
    const CountTally one = tally_of(ground.rule, whole ? ground.whole : ground.stations[station - 1], here);
    sum.twice_box_empty = sum.twice_box_empty || one.twice_box_empty;
    sum.part_without_area = sum.part_without_area || one.part_without_area;
    if (!one.count.searched) continue;
    ++stations;
    sum.stems += one.stems;
    sum.count.sure += one.count.sure;
    sum.count.not_certain += one.count.not_certain;
    sum.count.area_m2 += one.count.area_m2;
  }
  sum.count.searched = stations > 0;
  return sum;
}

/// The first visit that counts, and later ones of others.
void join_species(EvaluatedDraft& draft, EvaluatedVisits& visits, std::span<const CountRow> rows,
                  Told& told) {
  const auto unit = std::size_t(rows.front().unit), species = std::size_t(rows.front().species);
  const UnitGround& ground = draft.ground[unit];
  std::optional<CountTally> first;
  std::int32_t first_visit = -1;
  bool recounted = false;
  for (std::span<const CountRow> left = rows; !left.empty();) {
    const auto here = run_of(left, [](const CountRow& a, const CountRow& b) { return a.visit == b.visit; });
    left = left.subspan(here.size());
    const CountTally tally = tally_of_visit(ground, here);
    if (!tally.count.searched) {
      if (tally.part_without_area) ++told.part_without_area;
      continue;
    }
    const VisitOfUnit& visit = visits.all[std::size_t(here.front().visit)];
    if (!first) {
      first = tally;
      first_visit = here.front().visit;
      if (tally.twice_box_empty) ++told.twice_box_empty;
      if (here.front().method == CountMethod::half_counted) ++told.half_counted;
      const double whole = denominator_m2(ground.rule, ground.whole);
      if (ground.whole.twice_m2 > 0.005 && !tally.twice_box_empty && tally.count.area_m2 < whole - 0.05)
        ++told.parts_of_edge_plots;
      continue;
    }
    const VisitOfUnit& before = visits.all[std::size_t(first_visit)];
    const bool same_area =
        std::abs(tally.count.area_m2 - first->count.area_m2) <= 0.01 * first->count.area_m2 + 0.05;
    // A third count compares with the same first one: no independent pair.
    if (visit.observer == before.observer || !same_area || recounted) continue;
    recounted = true;
    draft.season.recounts.push_back({unit, species, first->stems, tally.stems,
                                     visits.observers[std::size_t(before.observer)],
                                     visits.observers[std::size_t(visit.observer)]});
  }
  if (!first) return;
  draft.season.units[unit].counts[species] = first->count;
  std::int32_t& counted = visits.counted[unit];
  if (counted < 0 || first_visit < counted) counted = first_visit;
}

bool looked_for(const EvaluatedDraft& draft, const EvaluatedUnit& unit, std::size_t species) {
  const auto site = draft.searched.find(unit.site);
  return site != draft.searched.end() && site->second[species];
}

/// Finds of species that nobody was asked to look for are no sample of their ground.
void leave_out_chance_finds(EvaluatedDraft& draft) {
  EvaluatedSeason& season = draft.season;
  struct Numbers {
    int plots = 0;
    std::vector<int> with;
    std::vector<double> stems;
  };
  std::map<std::string, Numbers> by_site;
  const std::size_t all = season.species.size();
  const auto is_counted = [](const EvaluatedUnit& unit) {
    return std::any_of(unit.counts.begin(), unit.counts.end(), [](const UnitCount& c) { return c.searched; });
  };
  for (const EvaluatedUnit& unit : season.units) {
    if (!is_counted(unit)) continue;
    Numbers& numbers = by_site[unit.site];
    numbers.with.resize(all);
    numbers.stems.resize(all);
    ++numbers.plots;
    for (std::size_t s = 0; s < all; ++s) {
      numbers.with[s] += unit.counts[s].searched ? 1 : 0;
      numbers.stems[s] += unit.counts[s].sure + unit.counts[s].not_certain;
    }
  }
  for (EvaluatedUnit& unit : season.units) {
    const auto numbers = by_site.find(unit.site);
    if (numbers == by_site.end()) continue;
    for (std::size_t s = 0; s < all; ++s)
      if (unit.counts[s].searched && numbers->second.with[s] < numbers->second.plots &&
          !looked_for(draft, unit, s))
        unit.counts[s] = {};
  }
  for (const auto& [site, numbers] : by_site) {
    const auto searched = draft.searched.find(site);
    for (std::size_t s = 0; s < all; ++s) {
      const bool asked = searched != draft.searched.end() && searched->second[s];
      if (asked || numbers.with[s] == 0 || numbers.with[s] == numbers.plots) continue;
      season.notes.push_back(
          fmt::format("{} at {}: {} of {} counted plots have a row, and nobody was asked to look for it "
                      "there: {:.0f} stems found by "
                      "the way, not estimated from.",
                      season.species[s], site, numbers.with[s], numbers.plots, numbers.stems[s]));
    }
  }
}

void say_what_was_told(const Told& told, EvaluatedSeason& season) {
  const auto say = [&season](std::int64_t number, const char* text) {
    if (number > 0) season.notes.push_back(fmt::format("{} {}", number, text));
  };
  say(told.twice_box_empty,
      "counts at edge plots have no number for the count-twice zone: counted once, over the area inside.");
  say(told.parts_of_edge_plots,
      "counts are of a part of an edge plot: that part's share of the count-twice zone is taken to be the "
      "plot's.");
  say(told.half_counted, "counts are of half of the plot: their area is halved, the counts are not doubled.");
  say(told.part_without_area, "counts of a part of a plot say no area searched: kept out of estimates.");
}

void read_version(OpenStore& store, EvaluatedSeason& season) {
  OGRLayer* table = store.table("returns");
  if (table == nullptr) return;
  ColumnReader rows(store, table, {"version"});
  while (rows.next()) season.returns_version = std::max(season.returns_version, int(rows.whole(0, 0)));
}

}  // namespace

void join_counts(OpenStore& store, EvaluatedDraft& draft) {
  EvaluatedVisits visits = read_visits(store, draft);
  Told told;
  {
    const std::vector<CountRow> rows = read_rows(store, draft, visits);
    for (std::span<const CountRow> left = rows; !left.empty();) {
      const auto here = run_of(left, [](const CountRow& a, const CountRow& b) {
        return a.unit == b.unit && a.species == b.species;
      });
      left = left.subspan(here.size());
      if (draft.ground[std::size_t(here.front().unit)].due) join_species(draft, visits, here, told);
    }
  }
  leave_out_chance_finds(draft);
  settle_fates(draft, visits);
  say_what_was_told(told, draft.season);
  read_version(store, draft.season);
}

}  // namespace swardline
