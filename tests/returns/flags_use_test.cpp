// What flags leave of rows, how answers settle them, and what they may cost.
#include <chrono>

#include "made_returns.hpp"

namespace flags_use_test {

using namespace swardline;
using namespace swardline::testing;

namespace {
const Day may_28 = day_of(2027, 5, 28);
}

TEST_CASE("the table of checks has all 27, in order") {
  REQUIRE(return_checks().size() == 27);
  for (int i = 0; i < 27; ++i) CHECK(return_checks()[std::size_t(i)].number == i + 1);
  const auto count = [](Severity severity) {
    return std::count_if(return_checks().begin(), return_checks().end(),
                         [&](const ReturnCheck& check) { return check.severity == severity; });
  };
  CHECK(count(Severity::stop) == 11);
  CHECK(count(Severity::ask) == 10);
  CHECK(count(Severity::note) == 6);
}

TEST_CASE("stops and questions keep rows from use, notes do not; the worse holds") {
  MadeReturns made;
  made.sound();
  ReturnRow& asked = made.at("QPR05Y", "PDIG");
  asked.stems = -1;
  ReturnRow& stopped = made.at("QPR06B", "PDIG");
  stopped.stems = -1;
  made.unread(stopped, ReturnColumn::flowering_stems, "lots");
  stopped.area_searched_m2 = 2;
  ReturnRow& left_out = made.at("QPR07E", "PDIG");
  left_out.left_out = true;
  const std::vector<Use> use = use_of_rows(made.returns, made.flags());
  const auto of = [&](const ReturnRow& row) { return use[std::size_t(&row - made.returns.rows.data())]; };
  CHECK(of(asked) == Use::kept_out);
  CHECK(of(stopped) == Use::cannot_be_used);
  CHECK(of(left_out) == Use::kept_out);
  CHECK(std::count(use.begin(), use.end(), Use::used) == std::ptrdiff_t(use.size()) - 3);
  CHECK(std::string(word(Use::cannot_be_used)) == "cannot be used");
}

TEST_CASE("a confirmed value settles the question of that row and column, and no other") {
  MadeReturns made;
  made.sound();
  for (const char* code : {"PDIG", "PTUB"}) made.at("QPR07E", code).area_searched_m2 = 2;
  CHECK_FALSE(only(made.flags(), 11).settled);
  made.correct(made.at("QPR07E", "PDIG"), ReturnColumn::flowering_stems, "3", "3");
  CHECK_FALSE(only(made.flags(), 11).settled);
  made.correct(made.at("QPR06B", "PDIG"), ReturnColumn::area_searched_m2, "2", "2");
  CHECK_FALSE(only(made.flags(), 11).settled);
  made.correct(made.at("QPR07E", "PDIG"), ReturnColumn::area_searched_m2, "20",
               "2");  // a change, no confirmation
  CHECK_FALSE(only(made.flags(), 11).settled);
  made.correct(made.at("QPR07E", "PTUB"), ReturnColumn::area_searched_m2, "2", "2");
  const std::vector<ReturnFlag> flags = made.flags();
  CHECK(only(flags, 11).settled);
  for (const Use use : use_of_rows(made.returns, flags)) CHECK(use == Use::used);
}

TEST_CASE("a stop is not settled by confirming it") {
  MadeReturns made;
  made.sound();
  made.plot_at("QPR09L").inside_m2 = 12;
  ReturnRow& row = made.at("QPR09L", "PDIG");
  row.area_searched_m2 = 20;
  made.correct(row, ReturnColumn::area_searched_m2, "20", "20");
  const std::vector<ReturnFlag> flags = made.flags();
  CHECK_FALSE(only(flags, 12).settled);
  CHECK(use_of_rows(made.returns, flags)[std::size_t(&row - made.returns.rows.data())] ==
        Use::cannot_be_used);
}

TEST_CASE("a settled doubt of the date lets its window be looked at, and settles that too") {
  MadeReturns made;
  made.sound("HDR", "052", "0402");
  ReturnRow& row = made.at(MadeReturns::name("HDR", 2), "PTEN");
  row.date = day_of(2027, 7, 6);
  row.date_doubtful = true;
  made.write(row, ReturnColumn::visit_date, "06/07");
  only(made.flags(), 16);
  made.correct(row, ReturnColumn::visit_date, "06/07", "06/07");
  const std::vector<ReturnFlag> flags = made.flags();
  CHECK(flags.size() == 2);
  for (const ReturnFlag& flag : flags) CHECK(flag.settled);
}

TEST_CASE("a row left out raises nothing, and its species is not missing") {
  MadeReturns made;
  made.sound();
  ReturnRow& row = made.at("QPR05Y", "PDIG");
  row.stems = -1;
  row.date = day_of(2072, 5, 28);
  row.left_out = true;
  none(made.flags());
  made.row("QPR7", "PDIG", 4, may_28).left_out = true;
  none(made.flags());
}

TEST_CASE("flags come by file, row and check; those of no row come last") {
  MadeReturns made;
  made.sound();
  made.at("QPR09L", "PDIG").stems = -1;
  made.at("QPR02N", "PTUB").stems = -1;
  ReturnRow& two = made.at("QPR02N", "PDIG");
  made.fix(two, 0, 50);
  made.fix(made.at("QPR02N", "PTUB"), 0, 50);
  two.area_searched_m2 = 2;
  const std::vector<ReturnFlag> flags = made.flags();
  REQUIRE(flags.size() == 4);
  CHECK(flags[0].check == 3);
  CHECK(flags[1].check == 11);
  CHECK(flags[2].check == 8);
  CHECK(flags[3].rows.front() == made.at("QPR09L", "PDIG").at);
}

TEST_CASE("nothing expected, nothing returned") {
  MadeReturns made;
  none(made.flags());
  made.expected = {};
  none(made.flags());
  made.row("QPR05Y", "PDIG", 3, may_28);
  only(made.flags(), 1);
}

}  // namespace flags_use_test
