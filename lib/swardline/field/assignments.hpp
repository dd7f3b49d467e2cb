// Who goes in which week. Private to this folder.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "swardline/field/visits.hpp"

namespace swardline {

[[nodiscard]] Day monday_of(Day day);
/// People who go to a site together: [effort] people, two at least.
[[nodiscard]] int party_of(const EffortSpec& effort);
/// "Quill Prairie", or the code where a site has no name.
[[nodiscard]] std::string site_words(const std::vector<SiteSpecies>& sites, const std::string& code);
/// "Quill Prairie, visit 1 of 2 (20–31 May)".
[[nodiscard]] std::string visit_words(const std::vector<SiteSpecies>& sites, const Visit& visit);

/// How much a team can do.
struct TeamRoom {
  int people = 0;         ///< those that go: whole parties
  double week_hours = 0;  ///< person-hours in a week
  double day_hours = 0;   ///< person-hours in a day, the way there among them
};
/// Only whole parties count: of fewer people than one nobody goes, for nobody goes alone, and a third person
/// adds nothing to what a pair can count in a day.
[[nodiscard]] TeamRoom room_of(const Plan& plan, int people);
/// A team's people: by the list of observers, else by the plan, else a party.
[[nodiscard]] int people_of(const Plan& plan, const std::string& team,
                            const std::map<std::string, TeamPeople>& teams);

/// Assigns every visit to its site's team, and says what has no room.
void assign_visits(const Season& season, const std::vector<SiteSpecies>& sites,
                   const std::map<std::string, TeamPeople>& teams, SeasonVisits& visits);

void add_conflict(SeasonVisits& visits, ConflictOf of, std::string words);
void sort_assignments(SeasonVisits& visits);

}  // namespace swardline
