// The table of visits that a coordinator may change.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <system_error>
#include <tuple>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/field/assignments.hpp"
#include "swardline/field/visits.hpp"
#include "swardline/returns/cells.hpp"
#include "swardline/returns/table.hpp"

namespace swardline {
namespace {

enum VisitColumn : std::size_t {
  site_column,
  name_column,
  visit_column,
  from_column,
  until_column,
  days_column,
  species_column,
  team_column,
  people_column,
  week_column,
  hours_column,
  conflict_column,
  visit_columns
};
constexpr std::array<const char*, visit_columns> visit_headings = {
    "site",    "name", "visit",  "from", "until", "open_days",
    "species", "team", "people", "week", "hours", "conflict"};

std::optional<std::size_t> visit_column_of(const std::string& heading) {
  const std::string lower = lower_ascii(trimmed(heading));
  const auto* const found = std::find(visit_headings.begin(), visit_headings.end(), lower);
  return found == visit_headings.end()
             ? std::nullopt
             : std::optional(static_cast<std::size_t>(found - visit_headings.begin()));
}

std::string conflicts_of(const SeasonVisits& visits, const std::string& site, int visit) {
  std::string text;
  for (std::size_t i = 0; i < visits.conflicts.size(); ++i) {
    const ConflictOf& of = visits.conflict_of[i];
    if (of.site == site && (of.visit == 0 || of.visit == visit))
      text += (text.empty() ? "" : " ") + visits.conflicts[i];
  }
  return text;
}

std::string visit_cells(const Season& season, const Visit& visit) {
  std::string species;
  for (const std::size_t sheet : visit.species)
    species += (species.empty() ? "" : " ") + season.sheets[sheet].code;
  return fmt::format("{},{},{},{},{}", visit.number, iso_date(visit.from), iso_date(visit.until),
                     visit.open_days(), csv_field(species));
}

/// Reads the rows of one table.
class VisitRows {
 public:
  VisitRows(const std::filesystem::path& file, const Season& season, const std::vector<SiteSpecies>& sites,
            const std::map<std::string, TeamPeople>& teams, SeasonVisits& visits, Flags& flags)
      : season_(season),
        sites_(sites),
        teams_(teams),
        visits_(visits),
        flags_(flags),
        table_(read_table(
                   file, file.filename().string(),
                   [](const std::string& heading) { return visit_column_of(heading).has_value(); }, flags)
                   .table) {
    where_.fill(-1);
    for (std::size_t i = 0; i < table_.headings().size(); ++i)
      if (const auto column = visit_column_of(table_.headings()[i])) where_[*column] = static_cast<int>(i);
    for (const std::size_t column : {site_column, visit_column, team_column, week_column})
      if (where_[column] < 0)
        throw InputError(table_.at_row(1), fmt::format("has no column {}", visit_headings[column]),
                         "A table of visits has site, visit, team, week, people and hours.");
  }

  void read() {
    visits_.assignments.clear();
    RowCells cells;
    for (std::uint32_t row = 2; row <= table_.last_row(); ++row) {
      table_.read_row(row, cells);
      here_ = table_.at_row(row);
      row_ = row;
      if (!is_blank(cells)) take(cells);
    }
    check_rooms();
    check_missing();
    sort_assignments(visits_);
  }

 private:
  [[nodiscard]] std::string text(const RowCells& cells, std::size_t column) const {
    const int at = where_[column];
    if (at < 0 || static_cast<std::size_t>(at) >= cells.cells.size()) return {};
    return std::string(without_guard(trimmed(cells.cells[static_cast<std::size_t>(at)])));
  }
  void ask(const std::string& check, const std::string& meaning, const std::string& remedy) {
    flags_.add(Severity::ask, check, here_, meaning, remedy);
  }
  void stop(const std::string& meaning, const std::string& remedy) {
    flags_.add(Severity::stop, "table of visits", here_, meaning, remedy);
  }

  void take(const RowCells& cells) {
    const std::string code = text(cells, site_column), number = text(cells, visit_column);
    // A site that gets no visit has a row that says why.
    if (number.empty() && text(cells, team_column).empty() && text(cells, week_column).empty()) return;
    const Visit* visit = visit_in(code, number);
    if (!visit) return;
    check_days(cells, *visit);
    Assignment one{code, text(cells, team_column), visit->number, no_day, party_of(season_.plan.effort), 0};
    if (const auto site = std::find_if(sites_.begin(), sites_.end(),
                                       [&](const SiteSpecies& each) { return each.site == code; });
        site != sites_.end())
      one.hours = visit_hours(season_.plan.effort, *site);
    if (!read_numbers(cells, one) || !read_week(cells, one)) return;
    if (is_twice(one)) return;
    check_row(*visit, one);
    rooms_[{one.team, one.week}].push_back({one.hours, row_});
    visits_.assignments.push_back(std::move(one));
  }

  /// Two rows for the same team and week would count the hours twice.
  bool is_twice(const Assignment& one) {
    const auto [first, is_new] =
        rows_.emplace(std::make_tuple(one.site, one.visit, one.team, one.week), row_);
    if (is_new) return false;
    ask("row twice",
        fmt::format("row {} has the same visit, team and week. The row is left out.", first->second),
        "Take one of them out; if hours were split, write their sum in one.");
    return true;
  }

  const Visit* visit_in(const std::string& code, const std::string& number) {
    std::vector<std::string> codes;
    bool visited = false;
    for (const SiteSpecies& site : sites_) codes.push_back(site.site);
    if (std::find(codes.begin(), codes.end(), code) == codes.end()) {
      const std::string nearest = nearest_word(code, codes);
      ask("unknown site", fmt::format("'{}' is the code of no site. The row is left out.", code),
          nearest.empty() ? "Write the site's code." : fmt::format("Is it {}?", nearest));
      return nullptr;
    }
    const auto wanted = read_count(number);
    if (!wanted) {
      stop(fmt::format("'{}' is no number of a visit.", number), "Write 1, 2, ….");
      return nullptr;
    }
    for (const Visit& visit : visits_.visits) {
      if (visit.site != code) continue;
      visited = true;
      if (visit.number == *wanted) return &visit;
    }
    ask("no such visit",
        fmt::format("{} has no visit {}{}. The row is left out.", site_words(sites_, code), *wanted,
                    visited ? " any more" : ", for it gets none"),
        "Take the row out, or write the number of one of its visits.");
    return nullptr;
  }

  /// The first and last day as the row has them, against the visit's now.
  void check_days(const RowCells& cells, const Visit& visit) {
    const std::string from = text(cells, from_column), until = text(cells, until_column);
    if (from.empty() || until.empty()) return;
    const auto first = day_in(from), last = day_in(until);
    if (first == visit.from && last == visit.until) return;
    flags_.add(Severity::note, "visit moved", here_,
               fmt::format("the row has {} to {}, and the visit is {} now.", from, until,
                           short_range(visit.from, visit.until)),
               "Look whether its week still fits.");
  }

  /// A day that can be read in one way only.
  [[nodiscard]] std::optional<Day> day_in(const std::string& cell) const {
    // Days without a year are the season's.
    Day last = 0;
    for (const Visit& visit : visits_.visits) last = std::max(last, visit.until + 60);
    const auto read = read_date(cell, last);
    if (!read) return std::nullopt;
    const bool day_first = season_.plan.returns.day_first.value_or(true);
    Day day = day_first ? read->day_first : read->month_first;
    if (day == no_day) day = day_first ? read->month_first : read->day_first;
    const bool two_ways = !read->ordered && read->day_first != no_day && read->month_first != no_day &&
                          read->day_first != read->month_first;
    if (day == no_day || (two_ways && !season_.plan.returns.day_first)) return std::nullopt;
    return day;
  }

  bool read_numbers(const RowCells& cells, Assignment& one) {
    if (const std::string people = text(cells, people_column); !people.empty()) {
      const auto number = read_count(people, 10000);
      if (!number) {
        stop(fmt::format("'{}' is no number of people.", people), "Write a whole number.");
        return false;
      }
      one.people = *number;
    }
    if (const std::string hours = text(cells, hours_column); !hours.empty()) {
      const auto number = read_number(hours, "h");
      if (!number || !std::isfinite(number->value) || number->value < 0) {
        stop(fmt::format("'{}' is no number of hours.", hours), "Write person-hours, like 12.5.");
        return false;
      }
      one.hours = number->value;
    }
    return true;
  }

  bool read_week(const RowCells& cells, Assignment& one) {
    const std::string week = text(cells, week_column);
    if (week.empty()) return true;
    const auto day = day_in(week);
    if (!day) {
      stop(fmt::format("'{}' is no day.", week), "Write the week's Monday, like 2027-05-17.");
      return false;
    }
    one.week = monday_of(*day);
    return true;
  }

  void check_row(const Visit& visit, Assignment& one) {
    const std::string which = visit_words(sites_, visit);
    if (one.team.empty()) {
      ask("no team", fmt::format("{} has no team.", which), "Name one of [teams].");
    } else if (!season_.plan.teams.count(one.team)) {
      std::vector<std::string> names;
      for (const auto& [team, codes] : season_.plan.teams) names.push_back(team);
      const std::string nearest = nearest_word(one.team, names);
      ask("unknown team", fmt::format("'{}' is no team of [teams]. Sheets leave the team open.", one.team),
          nearest.empty() ? "Name one of [teams]." : fmt::format("Is it {}?", nearest));
      one.team.clear();
    }
    if (one.people < 2)
      ask("one person",
          fmt::format("{}: {} on the way to it.", which,
                      counted_words(std::size_t(one.people), "person is", "people are")),
          "Nobody goes alone: send two at least.");
    if (one.week == no_day) {
      ask("no week", fmt::format("{} has no week.", which), "Write the Monday of one.");
    } else if (std::none_of(visit.open.begin(), visit.open.end(), [&](const DayRange& range) {
                 return range.from <= one.week + 6 && one.week <= range.until;
               })) {
      ask("week outside the visit",
          fmt::format("no day of the week of {} is open for {}. Sheets leave the week open.",
                      short_date(one.week), which),
          "Choose a week of its open days.");
      one.week = no_day;
    }
  }

  /// Weeks that hold more hours than their team has; said at the last of their rows, with the others.
  void check_rooms() {
    for (const auto& [of, rows] : rooms_) {
      const auto& [team, week] = of;
      if (week == no_day || !season_.plan.teams.count(team)) continue;
      double hours = 0;
      for (const auto& [each, row] : rows) hours += each;
      const double room = room_of(season_.plan, people_of(season_.plan, team, teams_)).week_hours;
      // Tables have tenths of an hour.
      if (hours <= room + 0.05 * double(rows.size()) + 1e-9) continue;
      here_ = table_.at_row(rows.back().second);
      std::vector<std::string> lines;
      for (const auto& [each, row] : rows) lines.push_back(fmt::to_string(row));
      ask("too many hours",
          fmt::format("the week of {} holds {:.1f} person-hours for team {}, which has {:.1f}{}.",
                      short_date(week), hours, team, room,
                      lines.size() > 1 ? ": rows " + some_of(lines, 8) : std::string()),
          "Move a visit to another week or team, or say more people in [visits.people].");
    }
  }

  void check_missing() {
    for (const Visit& visit : visits_.visits) {
      const bool there = std::any_of(
          visits_.assignments.begin(), visits_.assignments.end(),
          [&](const Assignment& one) { return one.site == visit.site && one.visit == visit.number; });
      if (there) continue;
      const std::string text =
          fmt::format("{}: no row of {} takes it.", visit_words(sites_, visit), table_.name());
      flags_.add(Severity::ask, "visit without a row", {table_.name(), 0, {}}, text,
                 "Add one with team and week, if somebody is to go.");
      add_conflict(visits_, {visit.site, visit.number}, text);
    }
  }

  const Season& season_;
  const std::vector<SiteSpecies>& sites_;
  const std::map<std::string, TeamPeople>& teams_;
  SeasonVisits& visits_;
  Flags& flags_;
  Table table_;
  std::array<int, visit_columns> where_{};
  Place here_;
  std::uint32_t row_ = 0;
  std::map<std::pair<std::string, Day>, std::vector<std::pair<double, std::uint32_t>>> rooms_;
  std::map<std::tuple<std::string, int, std::string, Day>, std::uint32_t> rows_;  ///< where each was first
};

/// Keeps what stands in a file that is about to say something else.
std::optional<std::filesystem::path> kept_beside(const std::filesystem::path& file,
                                                 const std::string& content) {
  std::error_code ignored;
  if (!std::filesystem::is_regular_file(file, ignored)) return std::nullopt;
  const std::string before = read_whole(file);
  if (before == content) return std::nullopt;
  for (int number = 1;; ++number) {
    const std::string end = number == 1 ? std::string() : fmt::format("-{}", number);
    const std::filesystem::path beside =
        file.parent_path() / (file.stem().string() + "-before" + end + file.extension().string());
    const bool there = std::filesystem::exists(beside, ignored);
    // Kept already: two plans in turn do not fill the folder.
    if (there && read_whole(beside) == before) return beside;
    if (there) continue;
    write_whole(beside, before);
    return beside;
  }
}

}  // namespace

std::optional<std::filesystem::path> write_visits_table(const std::filesystem::path& file,
                                                        const Season& season,
                                                        const std::vector<SiteSpecies>& sites,
                                                        const SeasonVisits& visits) {
  std::error_code ignored;
  const std::filesystem::path& kept = season.plan.visits.table;
  if (!kept.empty() && (file.lexically_normal() == kept.lexically_normal() ||
                        std::filesystem::equivalent(file, kept, ignored)))
    throw InputError(
        season.plan.visits.place,
        fmt::format("the table {} is the coordinator's and would be written over", kept.filename().string()),
        "Keep it under another name or in another folder, and name that one as table.");
  std::string out;
  for (const char* heading : visit_headings) out += (out.empty() ? "" : ",") + std::string(heading);
  out += '\n';
  std::set<std::string> visited;
  for (const Visit& visit : visits.visits) visited.insert(visit.site);
  const auto row = [&](const std::string& site, const std::string& cells, const std::string& who,
                       const std::string& conflict) {
    out += fmt::format("{},{},{},{},{}\n", csv_field(site), csv_field(site_words(sites, site)), cells, who,
                       csv_field(conflict));
  };
  for (const SiteSpecies& site : sites)
    if (const std::string conflict = conflicts_of(visits, site.site, 0);
        !visited.count(site.site) && !conflict.empty())
      row(site.site, ",,,,", ",,,", conflict);
  for (const Visit& visit : visits.visits) {
    const std::string cells = visit_cells(season, visit);
    const std::string conflict = conflicts_of(visits, visit.site, visit.number);
    bool assigned = false;
    for (const Assignment& one : visits.assignments) {
      if (one.site != visit.site || one.visit != visit.number) continue;
      assigned = true;
      row(visit.site, cells,
          fmt::format("{},{},{},{:.1f}", csv_field(one.team), one.people,
                      one.week == no_day ? "" : iso_date(one.week), one.hours),
          conflict);
    }
    if (!assigned) row(visit.site, cells, ",,,", conflict);
  }
  auto before = kept_beside(file, out);
  write_whole(file, out);
  return before;
}

void read_visits_table(const std::filesystem::path& file, const Season& season,
                       const std::vector<SiteSpecies>& sites, const std::map<std::string, TeamPeople>& teams,
                       SeasonVisits& visits, Flags& flags) {
  std::error_code ignored;
  if (!std::filesystem::is_regular_file(file, ignored)) {
    flags.add(Severity::stop, "table of visits", season.plan.visits.place,
              fmt::format("the table of visits {} is not there.", file.string()),
              "Put it there, or take table out of [visits].");
    return;
  }
  VisitRows(file, season, sites, teams, visits, flags).read();
}

}  // namespace swardline
