#include "swardline/field/visits.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <tuple>

#include "swardline/base/text.hpp"
#include "swardline/field/assignments.hpp"
#include "swardline/field/visit_days.hpp"

namespace swardline {
namespace {

/// Teams that are too small or of unknown size, once each.
void check_team_sizes(const Season& season, const std::set<std::string>& going,
                      const std::map<std::string, TeamPeople>& teams, SeasonVisits& visits) {
  const Plan& plan = season.plan;
  const int party = party_of(plan.effort);
  for (const std::string& team : going) {
    const auto listed = teams.find(team);
    const bool known =
        (listed != teams.end() && listed->second.people > 0) || plan.visits.people.count(team) > 0;
    const int people = people_of(plan, team, teams);
    if (!known)
      add_conflict(
          visits, {},
          fmt::format("Team {}: how many people it has is not known; {} are reckoned with. Say it in "
                      "[visits.people] or in the list of observers.",
                      team, people));
    else if (people < party)
      add_conflict(visits, {},
                   fmt::format("Team {} has {}, and {}: it is given no week.", team,
                               counted_words(std::size_t(people), "person", "people"),
                               party == 2 ? "nobody goes alone"
                                          : fmt::format("{} go together ([effort] people)", party)));
  }
}

/// Species of a site's visits that nobody of a team that goes there may record.
void check_who_may_record(const Season& season, const std::vector<SiteSpecies>& sites,
                          const std::string& site, const std::string& team, const TeamPeople& people,
                          SeasonVisits& visits) {
  if (people.may_record.empty()) return;
  std::set<std::string> missing;
  for (const Assignment& one : visits.assignments) {
    if (one.site != site || one.team != team) continue;
    for (const Visit& visit : visits.visits)
      if (visit.site == site && visit.number == one.visit)
        for (const std::size_t sheet : visit.species)
          if (const std::string& code = season.sheets[sheet].code; !people.may_record.count(code))
            missing.insert(code);
  }
  if (missing.empty()) return;
  add_conflict(visits, {site, 0},
               fmt::format("{}: nobody of team {} has passed {}. Send somebody who has, or train and test "
                           "first.",
                           site_words(sites, site), team, in_words({missing.begin(), missing.end()})));
}

/// Whoever the assignments send, the plan's or the coordinator's.
void check_teams(const Season& season, const std::vector<SiteSpecies>& sites,
                 const std::map<std::string, TeamPeople>& teams, SeasonVisits& visits) {
  std::map<std::string, std::set<std::string>> teams_of;
  std::set<std::string> visited, going;
  for (const Visit& visit : visits.visits) visited.insert(visit.site);
  for (const Assignment& one : visits.assignments) {
    if (one.team.empty()) continue;
    teams_of[one.site].insert(one.team);
    if (season.plan.teams.count(one.team)) going.insert(one.team);
  }
  for (const std::string& site : visited) {
    if (!teams_of.count(site) && season.plan.visits.table.empty())
      add_conflict(visits, {site, 0},
                   fmt::format("{}: no team goes there. Name it in [teams].", site_words(sites, site)));
    for (const std::string& team : teams_of[site])
      if (const auto people = teams.find(team); people != teams.end())
        check_who_may_record(season, sites, site, team, people->second, visits);
  }
  check_team_sizes(season, going, teams, visits);
}

}  // namespace

int Visit::open_days() const {
  int days = 0;
  for (const DayRange& range : open) days += range.days();
  return days;
}

int season_year(const Plan& plan, Day today) {
  if (plan.visits.year) return *plan.visits.year;
  return plan.panels.given && plan.panels.year > 0 ? plan.panels.year : year_of(today);
}

SeasonVisits plan_visits(const Season& season, const std::vector<SiteSpecies>& sites,
                         const std::map<std::string, TeamPeople>& teams, int year, Flags& flags) {
  std::vector<const SiteSpecies*> due;
  for (const SiteSpecies& site : sites)
    if (site.plots > 0) due.push_back(&site);
  std::stable_sort(due.begin(), due.end(),
                   [](const SiteSpecies* a, const SiteSpecies* b) { return a->site < b->site; });
  SeasonVisits visits;
  for (const SiteSpecies* site : due) {
    SiteVisits one = visits_of(season, *site, year);
    visits.visits.insert(visits.visits.end(), one.visits.begin(), one.visits.end());
    for (std::string& conflict : one.conflicts) add_conflict(visits, {site->site, 0}, std::move(conflict));
  }
  if (season.plan.visits.table.empty())
    assign_visits(season, sites, teams, visits);
  else
    read_visits_table(season.plan.visits.table, season, sites, teams, visits, flags);
  check_teams(season, sites, teams, visits);
  return visits;
}

}  // namespace swardline
