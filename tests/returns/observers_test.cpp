// Observers: their lists, summaries, names mixed up, and who needs a second look.
#include "swardline/returns/observers.hpp"

#include <cmath>
#include <filesystem>
#include <fstream>

#include "made_returns.hpp"

namespace observers_test {

using namespace swardline;
using namespace swardline::testing;

namespace {

const Day may_28 = day_of(2027, 5, 28), may_29 = day_of(2027, 5, 29);

std::filesystem::path written(const char* name, const std::string& text) {
  const std::filesystem::path file = std::filesystem::temp_directory_path() / name;
  std::ofstream(file) << text;
  return file;
}

const ObserverSummary& summary(const ObserversReport& report, const std::string& id) {
  for (const ObserverSummary& one : report.observers)
    if (one.id == id) return one;
  FAIL("no such observer");
  return report.observers.front();
}

ObserversReport report(const MadeReturns& made, const std::vector<NameTest>& tests = {}) {
  return report_of_observers(made.season, made.expected, made.returns, made.flags(), tests);
}

}  // namespace

TEST_CASE("a list of observers is read with what they passed and since when") {
  MadeReturns made;
  made.season.plan.returns.observers =
      written("swardline_observers.csv",
              "observer,team,passed,since\n041,north,PDIG PTUB,2027-04-20\n052,south,all,\n");
  Flags flags;
  const auto observers = read_observers(made.season, flags);
  CHECK(flags.all().empty());
  REQUIRE(observers.size() == 2);
  CHECK(observers.at("041").team == "north");
  CHECK(observers.at("041").passed == std::set<std::string>{"PDIG", "PTUB"});
  CHECK(observers.at("041").since == day_of(2027, 4, 20));
  CHECK(observers.at("052").passed.size() == 4);
  CHECK_FALSE(observers.at("052").since.has_value());
}

TEST_CASE("what is wrong with a list of observers is said with its row") {
  MadeReturns made;
  made.season.plan.returns.observers =
      written("swardline_observers.csv",
              "observer,team,passed,since\n041,north,PTBU,\n041,north,PDIG,20 April\n,north,PDIG,\n");
  Flags flags;
  static_cast<void>(read_observers(made.season, flags));
  REQUIRE(flags.all().size() == 4);
  CHECK(says(flags.all()[0].remedy, "Did you mean PTUB?"));
  CHECK(flags.all()[0].place.item == "row 2");
  CHECK(says(flags.all()[1].meaning, "'20 April' is no date"));
  CHECK(says(flags.all()[2].meaning, "041 a second time"));
  CHECK(says(flags.all()[3].meaning, "has no observer"));
  CHECK(flags.stopped());
  Flags none_there;
  made.season.plan.returns.observers = "/no/such/file.csv";
  static_cast<void>(read_observers(made.season, none_there));
  CHECK(none_there.stopped());
  Flags no_column;
  made.season.plan.returns.observers = written("swardline_observers.csv", "who,passed\n041,PDIG\n");
  static_cast<void>(read_observers(made.season, no_column));
  CHECK(says(no_column.all().front().meaning, "has no column observer"));
}

TEST_CASE("a table of tests is read; an answer may be any plant or none") {
  MadeReturns made;
  made.season.plan.returns.tests =
      written("swardline_tests.csv",
              "observer,shown,named\n041,PTUB,PDIG\n041,PTUB,soapwort\n041,PDIG,\n041,PDGI,PDIG\n");
  Flags flags;
  const std::vector<NameTest> tests = read_name_tests(made.season, flags);
  REQUIRE(tests.size() == 3);
  CHECK(tests[1].named == "soapwort");
  CHECK(tests[2].named.empty());
  REQUIRE(flags.all().size() == 1);
  CHECK(says(flags.all().front().meaning, "PDGI is the code of no sheet"));
}

TEST_CASE("an observer's work is summed: plots, visits, counts, zeros, open flags") {
  MadeReturns made;
  made.sound();
  made.sound("HDR", "052", "0402");
  made.at("QPR05Y", "PDIG").stems = -1;
  made.unread(made.at("QPR06B", "PDIG"), ReturnColumn::flowering_stems, "lots");
  made.at("QPR06B", "PDIG").stems = -1;
  const ObserversReport all = report(made);
  REQUIRE(all.observers.size() == 2);
  const ObserverSummary& one = summary(all, "041");
  CHECK(one.plots == 12);
  CHECK(one.visits == 12);
  CHECK(one.rows == 22);
  CHECK(one.zeros + 0 == int(std::count_if(made.returns.rows.begin(), made.returns.rows.begin() + 24,
                                           [](const ReturnRow& row) { return row.stems == 0; })));
  CHECK(one.stops == 1);
  CHECK(one.asks == 1);
  CHECK(one.listed);  // there is no list
  CHECK_FALSE(one.ratio.has_value());
  CHECK(one.second_look.empty());
  CHECK(summary(all, "052").rows == 12);
}

TEST_CASE("counts over others' on the same plots, with limits of a ratio") {
  MadeReturns made;
  const int mine[] = {6, 10, 3, 8, 5}, theirs[] = {5, 7, 3, 6, 4};
  for (int i = 0; i < 5; ++i) {
    made.row(MadeReturns::name("QPR", i + 1), "PDIG", theirs[i], may_28, "041");
    made.row(MadeReturns::name("QPR", i + 1), "PDIG", mine[i], may_29, "052", "0402");
  }
  const ObserversReport all = report(made);
  const auto& ratio = summary(all, "052").ratio;
  REQUIRE(ratio.has_value());
  CHECK(ratio->plots == 5);
  CHECK(ratio->ratio == doctest::Approx(32.0 / 25));
  // By hand: residuals -0.4 1.04 -0.84 0.32 -0.12, sum of squares 2.064, standard error sqrt(5 * 2.064 / 4) /
  // 25 = 0.06425, relative 0.05019; t of 4 degrees at 95 % 2.1318 (tables); factor 1.1129.
  CHECK(*ratio->low == doctest::Approx(1.28 / 1.1129).epsilon(1e-3));
  CHECK(*ratio->high == doctest::Approx(1.28 * 1.1129).epsilon(1e-3));
  CHECK(summary(all, "041").ratio->ratio == doctest::Approx(25.0 / 32));
  REQUIRE(summary(all, "052").second_look.size() == 1);
  CHECK(says(summary(all, "052").second_look.front(),
             "counts 1.28 times what others count on the same 5 plots"));
}

TEST_CASE("counts that agree, or two plots alone, need no second look") {
  MadeReturns made;
  for (int i = 0; i < 5; ++i) {
    made.row(MadeReturns::name("QPR", i + 1), "PDIG", 5 + i, may_28, "041");
    made.row(MadeReturns::name("QPR", i + 1), "PDIG", 5 + i + (i % 2 == 0 ? 1 : -1), may_29, "052", "0402");
  }
  CHECK(summary(report(made), "052").second_look.empty());
  MadeReturns two;
  for (int i = 0; i < 2; ++i) {
    two.row(MadeReturns::name("QPR", i + 1), "PDIG", 5, may_28, "041");
    two.row(MadeReturns::name("QPR", i + 1), "PDIG", 50, may_29, "052", "0402");
  }
  CHECK_FALSE(summary(report(two), "052").ratio->low.has_value());
  CHECK(summary(report(two), "052").second_look.empty());
}

TEST_CASE("look-alikes mixed up on recounted plots and in tests") {
  MadeReturns made;
  for (int i = 0; i < 2; ++i) {
    const std::string plot = MadeReturns::name("QPR", i + 1);
    made.row(plot, "PTUB", 5, may_28, "041");
    made.row(plot, "PDIG", 0, may_28, "041");
    made.row(plot, "PTUB", 0, may_29, "052", "0402");
    made.row(plot, "PDIG", 5, may_29, "052", "0402");
  }
  const std::vector<NameTest> tests = {{"052", "PTUB", "PDIG"},
                                       {"052", "PTUB", "PDIG"},
                                       {"052", "PTUB", "PTUB"},
                                       {"041", "PTUB", "PTUB"},
                                       {"041", "PTUB", "PDIG"}};
  const ObserversReport all = report(made, tests);
  const ObserverSummary& one = summary(all, "052");
  CHECK(one.tests == 3);
  CHECK(one.right == 1);
  REQUIRE(one.mixed_up.size() == 1);
  CHECK(one.mixed_up.front() == NamedFor{"PTUB", "PDIG", 2, 2});
  REQUIRE(one.second_look.size() == 2);
  CHECK(one.second_look[0] == "called PTUB PDIG in 2 of 3 tests");
  CHECK(one.second_look[1] == "found PDIG on 2 plots where another found PTUB");
  REQUIRE(all.names.size() >= 2);
  const auto cell = std::find_if(all.names.begin(), all.names.end(), [](const NamedFor& named) {
    return named.shown == "PTUB" && named.named == "PDIG";
  });
  REQUIRE(cell != all.names.end());
  CHECK(cell->tests == 3);
  // One wrong answer is a slip.
  CHECK(std::none_of(summary(all, "041").second_look.begin(), summary(all, "041").second_look.end(),
                     [](const std::string& why) { return why.find("tests") != std::string::npos; }));
}

TEST_CASE("plants that are no look-alikes are not mixed up where two teams differ") {
  MadeReturns made;
  for (int i = 0; i < 3; ++i) {
    const std::string plot = MadeReturns::name("QPR", i + 1);
    made.row(plot, "PCOB", 5, may_28, "041");
    made.row(plot, "PDIG", 5, may_29, "052", "0402");
  }
  CHECK(report(made).names.empty());
}

TEST_CASE("those who are on no list, passed no test or show a habit need a second look") {
  MadeReturns made;
  made.sound("QPR", "088");
  made.expected.observers["041"] = {"041", "north", {"PDIG", "PTUB"}, {}};
  ObserversReport all = report(made);
  CHECK_FALSE(summary(all, "088").listed);
  CHECK(summary(all, "088").second_look.front() == "is not on the list of observers");
  CHECK(summary(all, "041").rows == 0);  // listed, and nothing has come from them
  CHECK(summary(all, "041").second_look.empty());
  made.expected.observers["088"] = {"088", "north", {"PDIG"}, {}};
  all = report(made);
  CHECK(summary(all, "088").second_look.front() == "recorded P. tubaeflorus without having passed the test");
  made.expected.observers["088"].passed.insert("PTUB");
  for (ReturnRow& row : made.returns.rows) row.stems = 10 * (1 + int(row.at.row) % 3);
  CHECK(says(summary(report(made), "088").second_look.front(), "all multiples of 10"));
  const std::vector<std::string> lines = in_words(report(made));
  CHECK(says(lines.at(1), "observer 088 (team north): 12 plots, 12 visits, 24 counts, 0 % zeros"));
  CHECK(says(lines.at(2), "second look needed: "));
}

}  // namespace observers_test
