// Teams from the list of observers and the plan.
#include "swardline/field/teams.hpp"

#include <doctest/doctest.h>

namespace teams_test {

using namespace swardline;

TEST_CASE("a team has its observers and may record what one of them has passed") {
  const std::map<std::string, ObserverRecord> observers = {{"041", {"041", "north", {"PTUB"}, {}}},
                                                           {"052", {"052", "north", {"PDIG", "PTUB"}, {}}},
                                                           {"063", {"063", "south", {}, {}}}};
  const std::map<std::string, TeamPeople> teams = teams_of({}, observers);
  REQUIRE(teams.size() == 2);
  CHECK(teams.at("north").people == 2);
  CHECK(teams.at("north").may_record == std::set<std::string>{"PDIG", "PTUB"});
  CHECK(teams.at("south").people == 1);
  CHECK(teams.at("south").may_record.empty());
}

TEST_CASE("the plan says how many go where it names a team, and may name teams the list lacks") {
  Plan plan;
  plan.visits.people = {{"north", 5}, {"guests", 3}};
  const std::map<std::string, TeamPeople> teams = teams_of(plan, {{"041", {"041", "north", {"PTUB"}, {}}}});
  REQUIRE(teams.size() == 2);
  CHECK(teams.at("north").people == 5);
  CHECK(teams.at("north").may_record == std::set<std::string>{"PTUB"});
  CHECK(teams.at("guests").people == 3);
  CHECK(teams.at("guests").may_record.empty());
}

TEST_CASE("without observers and people in the plan no team is known") { CHECK(teams_of({}, {}).empty()); }

}  // namespace teams_test
