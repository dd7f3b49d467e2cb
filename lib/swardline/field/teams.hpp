// Teams as the list of observers and the plan have them.
#pragma once

#include <map>
#include <string>

#include "swardline/field/visits.hpp"
#include "swardline/returns/expected.hpp"
#include "swardline/season/plan.hpp"

namespace swardline {

/// The observers of the list by team, with every species that at least one of them has passed.
/// [visits.people] of the plan says how many go where it names a team, for not all who walk along are on the
/// list; of a team that only the plan names it is not known what it may record (TeamPeople::may_record is
/// empty). `observers` is by identification, as read_observers gives it; those without a team are a team of
/// no name.
[[nodiscard]] std::map<std::string, TeamPeople> teams_of(
    const Plan& plan, const std::map<std::string, ObserverRecord>& observers);

}  // namespace swardline
