// One visit that says two things of one plot.
#include "made_returns.hpp"

namespace flags_statuses_test {

using namespace swardline;
using namespace swardline::testing;

namespace {
const Day may_28 = day_of(2027, 5, 28);
}

TEST_CASE("not reached and counted on one visit stop each other") {
  MadeReturns made;
  made.sound();
  made.at("QPR03S", "PDIG").fate = Fate::counted;
  made.row("QPR03S", "", -1, may_28).fate = Fate::not_reached;  // the other count has no status of its own
  const ReturnFlag flag = only(made.flags(), 23);
  CHECK(flag.column == ReturnColumn::status);
  CHECK(flag.rows.size() == 3);
  CHECK(says(flag.reason, "QPR03S is 'not reached' in row 26 and has counts that are 'counted' in row 6"));
}

TEST_CASE(
    "part counted beside counted, another day's status and a status without counts are no contradiction") {
  MadeReturns made;
  made.sound();
  made.at("QPR03S", "PDIG").fate = Fate::counted;
  made.at("QPR03S", "PTUB").fate = Fate::part_counted;
  made.at("QPR03S", "PTUB").area_searched_m2 = 8;
  made.row("QPR03S", "", -1, may_28 - 1).fate = Fate::not_reached;
  CHECK(of_check(made.flags(), 23).empty());
}

}  // namespace flags_statuses_test
