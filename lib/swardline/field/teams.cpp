#include "swardline/field/teams.hpp"

namespace swardline {

std::map<std::string, TeamPeople> teams_of(const Plan& plan,
                                           const std::map<std::string, ObserverRecord>& observers) {
  std::map<std::string, TeamPeople> teams;
  for (const auto& [id, observer] : observers) {
    TeamPeople& team = teams[observer.team];
    ++team.people;
    team.may_record.insert(observer.passed.begin(), observer.passed.end());
  }
  for (const auto& [team, people] : plan.visits.people) teams[team].people = people;
  return teams;
}

}  // namespace swardline
