// Visits: the fewest in which every likely species of a site can be counted, and who goes when.
#pragma once

#include <cstddef>
#include <filesystem>
#include <map>
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
  std::string why;  ///< of a closure; empty for open days
  [[nodiscard]] int days() const { return until - from + 1; }
};

/// One visit to one site.
struct Visit {
  std::string site;
  int number = 1, of = 1;             ///< "visit 1 of 2"
  Day from = no_day, until = no_day;  ///< first and last day that catches all its species
  std::vector<DayRange> open;         ///< days between that no closure takes; at least one
  std::vector<DayRange> closed;       ///< closures between, with their reasons
  std::vector<std::size_t> species;   ///< into Season::sheets: those it catches
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

struct SeasonVisits {
  std::vector<Visit> visits;            ///< by site, then number
  std::vector<Assignment> assignments;  ///< by week, team, site
  std::vector<std::string> conflicts;  ///< in words: what cannot be caught, nobody who may record it, no room
};

}  // namespace swardline
