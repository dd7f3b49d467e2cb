// Plot names that are none.
#include "made_returns.hpp"

namespace flags_names_test {

using namespace swardline;
using namespace swardline::testing;

namespace {
const Day may_28 = day_of(2027, 5, 28);
}

TEST_CASE("sound rows raise nothing") {
  MadeReturns made;
  made.sound();
  made.sound("HDR", "052", "0402");
  none(made.flags());
}

TEST_CASE("an unknown plot is a stop with the nearest name and how far its fix is") {
  MadeReturns made;
  made.sound();
  ReturnRow& row = made.at("QPR07E", "PDIG");
  made.fix(row, 0, 9);
  row.plot = -1;
  made.write(row, ReturnColumn::plot, "QPR7");
  const ReturnFlag flag = only(made.flags(), 1);  // and no row is missing from QPR07E
  CHECK(flag.severity == Severity::stop);
  CHECK(flag.rows == std::vector<RowAt>{row.at});
  CHECK(flag.value == "QPR7");
  CHECK(flag.plot == -1);
  CHECK(flag.column == ReturnColumn::plot);
  CHECK(flag.reason == "Row 14: no plot named 'QPR7'. Nearest: QPR07E (9 m from your fix).");
}

TEST_CASE("rows of one sheet with one unknown name are one question; the fix speaks where it disagrees") {
  MadeReturns made;
  ReturnRow& first = made.row("QPX03S", "PDIG", 3, may_28);
  made.row("QPX03S", "PTUB", 0, may_28);
  const ExpectedPlot& there = made.plot_at("QPR05" + std::string(1, check_letter("QPR05")));
  first.lat = there.lat;
  first.lon = there.lon;
  first.fix_accuracy_m = 4;
  const ReturnFlag flag = only(made.flags(), 1);
  CHECK(flag.rows.size() == 2);
  CHECK(says(flag.reason, "Nearest: QPR03S ("));
  CHECK(says(flag.reason, ("0 m from your fix is " + there.name).c_str()));
}

TEST_CASE("a name like no other is unknown without a guess") {
  MadeReturns made;
  made.row("meadow", "PDIG", 3, may_28);
  CHECK_FALSE(says(only(made.flags(), 1).reason, "Nearest"));
}

TEST_CASE("a row without a plot is an unknown plot") {
  MadeReturns made;
  made.row("", "PDIG", 3, may_28);
  CHECK(only(made.flags(), 1).reason == "Row 2 names no plot.");
}

TEST_CASE("an unknown plot raises no other question of the row") {
  MadeReturns made;
  ReturnRow& row = made.row("QPR7", "PTEN", 400, day_of(2027, 6, 24));
  row.area_searched_m2 = 500;
  row.lat = -96;
  row.lon = 38;
  only(made.flags(), 1);
}

TEST_CASE("a wrong check letter is said with what fits the number and what fits the letter") {
  MadeReturns made;
  made.sound();
  ReturnRow& row = made.at("QPR07E", "PDIG");
  row.plot = -1;
  made.write(row, ReturnColumn::plot, "QPR07H");  // H is the letter of 08 with weights 4 and 3
  const ReturnFlag flag = only(made.flags(), 2);
  CHECK(flag.severity == Severity::stop);
  CHECK(flag.rows == std::vector<RowAt>{row.at});
  CHECK(flag.reason == "QPR07H: letter H does not fit 07. QPR07E or QPR08H?");
}

TEST_CASE("a name whose letter fits but that was not drawn is unknown, not misspelt") {
  MadeReturns made;
  made.row(MadeReturns::name("QPR", 77), "PDIG", 3, may_28);
  only(made.flags(), 1);
}

TEST_CASE("names that a spreadsheet has turned into dates and numbers") {
  for (const char* text : {"5-Mar", "1.00E+05", "45721", "2027-03-05"}) {
    MadeReturns made;
    ReturnRow& row = made.row(text, "PDIG", 3, may_28);
    const ReturnFlag flag = only(made.flags(), 26);
    CHECK(flag.severity == Severity::stop);
    CHECK(flag.rows == std::vector<RowAt>{row.at});
    CHECK(says(flag.reason, "opened in a spreadsheet?"));
    CHECK(flag.next_step == "Send the original.");
  }
  MadeReturns made;
  made.row("123", "PDIG", 3, may_28);  // a number, but no day
  only(made.flags(), 1);
}

TEST_CASE("a damaged name says what it may have been") {
  MadeReturns made;
  ExpectedPlot march = made.expected.plots.front();
  march.name = MadeReturns::name("MAR", 5);
  made.expected.plots.push_back(march);
  made.row("5-Mar", "PDIG", 3, may_28);
  CHECK(says(only(made.flags(), 26).reason, ("It may have been " + march.name).c_str()));
}

TEST_CASE("thousands of names that are none are gone through without comparing each with all") {
  MadeReturns made;
  for (int i = 0; i < 3000; ++i)
    made.row("X" + std::to_string(100000 + i * 37), "PDIG", 3, may_28, "041", "");
  CHECK(made.flags().size() == 3000);
}

}  // namespace flags_names_test
