// Which days of a site are open, and the fewest visits that catch its species. Private to this folder.
#pragma once

#include <string>
#include <vector>

#include "swardline/field/site_species.hpp"
#include "swardline/field/visits.hpp"
#include "swardline/season/season.hpp"

namespace swardline {

/// Days of a site on which nobody may go there and that meet from…until, by first day: closures whole, days
/// without permission within from…until.
[[nodiscard]] std::vector<DayRange> closed_days(const Plan& plan, const std::string& site, Day from,
                                                Day until);

/// Days from…until of which some are closed.
class OpenDays {
 public:
  OpenDays(Day from, Day until, const std::vector<DayRange>& closed);
  [[nodiscard]] int count(Day from, Day until) const;
  [[nodiscard]] std::vector<DayRange> runs(Day from, Day until) const;

 private:
  Day from_;
  std::vector<int> before_;  ///< open days before the i-th
};

/// A species and its window in the season.
struct SpeciesDays {
  std::size_t sheet = 0;
  DayWindow window;
  int open = 0;  ///< days of it
};

/// The fewest groups such that every species shares with its group at least `wanted` open days, or all its
/// own where they are fewer. Each has one open day at least.
[[nodiscard]] std::vector<std::vector<SpeciesDays>> fewest_groups(std::vector<SpeciesDays> species,
                                                                  const OpenDays& open, int wanted);

/// Visits of one site, numbered by date, and what is to be said of them.
struct SiteVisits {
  std::vector<Visit> visits;
  std::vector<std::string> conflicts;
};
[[nodiscard]] SiteVisits visits_of(const Season& season, const SiteSpecies& site, int year);

}  // namespace swardline
