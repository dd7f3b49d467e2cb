// Visits: the fewest in which every likely species of a site can be counted, and who goes when.
#pragma once

#include <cstddef>
#include <filesystem>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/field/site_species.hpp"
#include "swardline/season/days.hpp"
#include "swardline/season/season.hpp"

namespace swardline {

struct DayRange {
  Day from = no_day, until = no_day;
  std::string why;          ///< of a closure; empty for open days
  bool permission = false;  ///< closed for want of permission
  [[nodiscard]] int days() const { return until - from + 1; }
};

/// One visit to one site.
struct Visit {
  std::string site;
  int number = 1, of = 1;             ///< "visit 1 of 2"
  Day from = no_day, until = no_day;  ///< first and last day that catches all its species
  std::vector<DayRange> open;         ///< days between that no closure takes; at least one
  std::vector<DayRange> closed;       ///< closures that meet the days its species share, whole, with reasons
  std::vector<std::size_t> species;   ///< into Season::sheets: those it catches
  /// Of other visits, but they can be counted on every open day of this one too.
  std::vector<std::size_t> also;
  [[nodiscard]] int open_days() const;
};

/// A team as the plan and the list of observers have it.
struct TeamPeople {
  int people = 0;                    ///< observers on the list; 0: not known
  std::set<std::string> may_record;  ///< species codes passed by at least one of them; empty: not known
};

/// What a team is asked to do: a line of the table that the coordinator may change.
struct Assignment {
  std::string site, team;
  int visit = 1;
  Day week = no_day;  ///< Monday of the week; no_day: no week has room
  int people = 2;
  double hours = 0;  ///< person-hours in that week; a visit may take several weeks
};

/// What a conflict is about.
struct ConflictOf {
  std::string site;  ///< empty: a team
  int visit = 0;     ///< 0: the site, or a species there
};

struct SeasonVisits {
  std::vector<Visit> visits;            ///< by site, then number
  std::vector<Assignment> assignments;  ///< by week, team, site; those without a week last
  std::vector<std::string> conflicts;  ///< in words: what cannot be caught, nobody who may record it, no room
  std::vector<ConflictOf> conflict_of;  ///< in the order of `conflicts`
};

/// The season's year: that of [visits], else of [panels], else that of `today`.
[[nodiscard]] int season_year(const Plan& plan, Day today);

/// Person-hours of one visit to a site: plots, the walk between them, and the way there for each day it
/// takes, for the two or more people who go together ([effort] people).
[[nodiscard]] double visit_hours(const EffortSpec& effort, const SiteSpecies& site);

/// The fewest visits to each site with plots due in which every likely species can be counted, and who goes
/// in which week. Windows are those of `year`, moved by ReturnsSpec::shift_days. A species is caught by a
/// visit whose open days all lie in its window and are at least 1 + VisitsSpec::weather_days, or all the open
/// days it has where those are fewer (which is said). No day is open that a closure takes or on which there
/// is no permission. Where the plan names a table of visits its rows are the assignments, and what is
/// doubtful in it goes to `flags`; else each team takes the visits that close first, in the earliest week
/// with room.
[[nodiscard]] SeasonVisits plan_visits(const Season& season, const std::vector<SiteSpecies>& sites,
                                       const std::map<std::string, TeamPeople>& teams, int year,
                                       Flags& flags);

/// Sites and habitats that the plan's teams, closures, permission and cautions name, held against those there
/// are: ASK. `codes` are all of the season's. Nothing is looked at where the plan works on some sites only.
void check_named_sites(const Plan& plan, const std::set<std::string>& codes,
                       const std::vector<SiteSpecies>& sites, Flags& flags);

/// Writes the table of visits for a coordinator to change (CSV, UTF-8), whole or not at all: site, name,
/// visit, from, until, open_days, species, team, people, week, hours, conflict; a row for each week of a
/// visit, and one for a site that gets none. A file that is there and says something else may have been
/// changed by hand: it is kept beside as "visits-before.csv", "visits-before-2.csv", …, and its new name is
/// returned. Throws IoError, and InputError where `file` is the table that the plan names, for that holds
/// what the coordinator wrote.
std::optional<std::filesystem::path> write_visits_table(const std::filesystem::path& file,
                                                        const Season& season,
                                                        const std::vector<SiteSpecies>& sites,
                                                        const SeasonVisits& visits);

/// Puts the rows of a table that a coordinator changed in place of the assignments. Needs the columns site,
/// visit, team and week; a week is any day of it; where people or hours are empty they are worked out. A team
/// the plan does not have and a week without an open day are left empty, so that no sheet sends anybody; a
/// row that is there twice counts once. STOP for what cannot be read, ASK with its row for what is doubtful,
/// NOTE where a visit's days have moved since. Throws InputError for what is no table.
void read_visits_table(const std::filesystem::path& file, const Season& season,
                       const std::vector<SiteSpecies>& sites, const std::map<std::string, TeamPeople>& teams,
                       SeasonVisits& visits, Flags& flags);

}  // namespace swardline
