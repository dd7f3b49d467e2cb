// Boxes and areas: empty, no count, too large, beside a status that carries none.
#include <cmath>

#include "made_returns.hpp"
#include "swardline/returns/flag_list.hpp"

namespace flags_counts_test {

using namespace swardline;
using namespace swardline::testing;

namespace {
const Day may_28 = day_of(2027, 5, 28);
}

TEST_CASE("a box left empty is asked about, and is no zero") {
  MadeReturns made;
  made.sound();
  ReturnRow& row = made.at("QPR05Y", "PDIG");
  row.stems = -1;
  const std::vector<ReturnFlag> flags = made.flags();
  const ReturnFlag flag = only(flags, 8);
  CHECK(flag.severity == Severity::ask);
  CHECK(flag.rows == std::vector<RowAt>{row.at});
  CHECK(flag.column == ReturnColumn::flowering_stems);
  CHECK(flag.reason == "QPR05Y, P. digitalis: box empty. Did you look?");
  CHECK(flag.next_step == "0 if none, or 'not searched'.");
  row.stems = 0;
  none(made.flags());
}

TEST_CASE("an empty box beside a reason not to count is no question") {
  for (const Fate fate : {Fate::mown, Fate::not_reached, Fate::no_permission, Fate::under_water}) {
    MadeReturns made;
    made.sound();
    for (const char* code : {"PDIG", "PTUB"}) {
      made.at("QPR05Y", code).stems = -1;
      made.at("QPR05Y", code).fate = fate;
    }
    none(made.flags());
  }
}

TEST_CASE("'not searched' answers an empty box") {
  MadeReturns made;
  made.sound();
  ReturnRow& row = made.at("QPR05Y", "PDIG");
  row.stems = -1;
  made.unread(row, ReturnColumn::flowering_stems, "Not searched");
  none(made.flags());
}

TEST_CASE("a status row speaks for the boxes of its visit") {
  MadeReturns made;
  made.sound();
  for (const char* code : {"PDIG", "PTUB"}) made.at("QPR05Y", code).stems = -1;
  made.row("QPR05Y", "", -1, may_28).fate = Fate::mown;
  none(made.flags());
}

TEST_CASE("a plot at an edge needs its second box") {
  MadeReturns made;
  made.sound();
  made.plot_at("QPR05Y").twice_m2 = 3.1;
  ReturnRow& row = made.at("QPR05Y", "PDIG");
  made.at("QPR05Y", "PTUB").stems = 0;  // of none, none
  row.stems = 4;
  const std::vector<ReturnFlag> flags = made.flags();
  REQUIRE(flags.size() == 1);
  CHECK(flags.front().check == 8);
  CHECK(flags.front().column == ReturnColumn::twice_stems);
  CHECK(says(flags.front().reason, "3.1 m2 of the plot count twice"));
  // Its find stays in beside the plot's zeros: kept out, the species would look rarer than it is.
  CHECK(flags.front().severity == Severity::note);
  for (const Use use : use_of_rows(made.returns, flags)) CHECK(use == Use::used);
  made.at("QPR07E", "PDIG").stems = -1;  // a question of the same check is told apart
  const std::vector<CheckSum> sums = sum_by_check(made.flags());
  REQUIRE(sums.size() == 2);
  CHECK(sums[0].severity == Severity::ask);
  CHECK(sums[0].open == 1);
  CHECK(sums[1].severity == Severity::note);
  CHECK(sums[1].listed == 1);
  made.at("QPR07E", "PDIG").stems = 3;
  row.twice_stems = 0;
  none(made.flags());
  row.twice_stems = 4;
  none(made.flags());
  row.twice_stems = 5;
  CHECK(only(made.flags(), 10).column == ReturnColumn::twice_stems);
  made.plot_at("QPR05Y").twice_m2 = 0;
  row.twice_stems = 2;
  CHECK(only(made.flags(), 11).column == ReturnColumn::twice_stems);
}

TEST_CASE("a plot that was visited and has no counts") {
  MadeReturns made;
  made.sound();
  for (const char* code : {"PDIG", "PTUB"}) made.at("QPR05Y", code).stems = -1;
  const ReturnFlag flag = only(made.flags(), 9);
  CHECK(flag.severity == Severity::ask);
  CHECK(flag.rows.size() == 2);
  CHECK(flag.reason == "QPR05Y was visited 28 May but has no counts. All zero, or sheet missing?");
  MadeReturns status_only;
  status_only.row("QPR05Y", "", -1, may_28).fate = Fate::counted;
  CHECK(only(status_only.flags(), 9).reason == flag.reason);
}

TEST_CASE("printed rows that nobody filled in are one question, without a date to miss") {
  MadeReturns made;
  for (const char* code : {"PDIG", "PTUB"}) made.row("QPR05Y", code, -1, no_day, "");
  CHECK(says(only(made.flags(), 9).reason, "Was it visited?"));
}

TEST_CASE("a species that was looked for and has no row is asked about; its plot's other rows are used") {
  MadeReturns made;
  made.sound();
  ReturnRow& gone = made.at("QPR05Y", "PTUB");
  gone = made.at("QPR05Y", "PDIG");
  made.returns.rows.erase(made.returns.rows.begin() + (&gone - made.returns.rows.data()));
  const std::vector<ReturnFlag> flags = made.flags();
  const ReturnFlag flag = only(flags, 9);
  CHECK(flag.column == ReturnColumn::species);
  CHECK(flag.value == "P. tubaeflorus");
  CHECK(flag.reason ==
        "QPR05Y was visited 28 May but has no row for P. tubaeflorus. All zero, or sheet missing?");
  for (const Use use : use_of_rows(made.returns, flags)) CHECK(use == Use::used);
}

TEST_CASE("species that nobody was asked to look for, or out of their time, are not missing") {
  MadeReturns made;
  made.sound("HDR", "052", "0402", day_of(2027, 6, 8));
  // Bottomland plots were visited after the window of P. tenuis, and nobody wrote rows for it.
  std::erase_if(made.returns.rows, [&](const ReturnRow& row) { return row.species == made.species("PTEN"); });
  none(made.flags());
  for (ReturnRow& row : made.returns.rows) row.date = may_28;
  CHECK(of_check(made.flags(), 9).size() == 6);
  made.season.plan.returns.shift_days = -4;  // an early season: the window closed the day before
  none(made.flags());
}

TEST_CASE("two visits together may hold all that was looked for") {
  MadeReturns made;
  made.row("HDR01" + std::string(1, check_letter("HDR01")), "PTEN", 4, day_of(2027, 5, 16), "041");
  made.row("HDR01" + std::string(1, check_letter("HDR01")), "PDIG", 2, day_of(2027, 5, 30), "052");
  none(made.flags());
}

TEST_CASE("what is no count is a stop, and not also an empty box") {
  for (const char* text : {"~100", "lots", ">50", "3+2", "-4", "2.5"}) {
    MadeReturns made;
    made.sound();
    ReturnRow& row = made.at("QPR05Y", "PDIG");
    row.stems = -1;
    made.unread(row, ReturnColumn::flowering_stems, text);
    const ReturnFlag flag = only(made.flags(), 10);
    CHECK(flag.severity == Severity::stop);
    CHECK(flag.rows == std::vector<RowAt>{row.at});
    CHECK(flag.value == text);
    CHECK(says(flag.reason, (std::string("'") + text + "' in flowering_stems").c_str()));
    CHECK(flag.next_step == "Give the number, or use method 'class'.");
  }
}

TEST_CASE("a class is a count where the method says so") {
  MadeReturns made;
  made.sound();
  ReturnRow& row = made.at("QPR05Y", "PDIG");
  row.stems = -1;
  row.method = CountMethod::by_class;
  made.unread(row, ReturnColumn::flowering_stems, "51-100");
  none(made.flags());
  made.write(row, ReturnColumn::flowering_stems, ">100");
  none(made.flags());
  made.write(row, ReturnColumn::flowering_stems, "many");
  only(made.flags(), 10);
}

TEST_CASE("other boxes that are no counts, and ways of counting that are none") {
  MadeReturns made;
  made.sound();
  ReturnRow& row = made.at("QPR05Y", "PDIG");
  made.unread(row, ReturnColumn::rosettes, "few");
  CHECK(only(made.flags(), 10).column == ReturnColumn::rosettes);
  row.unread = 0;
  row.method = CountMethod::unknown;
  made.write(row, ReturnColumn::count_method, "guess");
  CHECK(says(only(made.flags(), 10).reason, "'guess'"));
}

TEST_CASE("an area that is not the plot's is asked about once for the plot") {
  MadeReturns made;
  made.sound();
  for (const char* code : {"PDIG", "PTUB"}) made.at("QPR07E", code).area_searched_m2 = 2;
  ReturnFlag flag = only(made.flags(), 11);
  CHECK(flag.severity == Severity::ask);
  CHECK(flag.rows.size() == 2);
  CHECK(flag.column == ReturnColumn::area_searched_m2);
  CHECK(flag.reason == "QPR07E: area 2 m2, plot is 20 m2. Whole plot, or 4 frames of 0.5 m2?");
  // Said as frames, or as a part, it is no question.
  for (const char* code : {"PDIG", "PTUB"}) {
    made.at("QPR07E", code).frames = 4;
    made.at("QPR07E", code).frame_m2 = 0.5F;
  }
  none(made.flags());
  for (const char* code : {"PDIG", "PTUB"}) {
    made.at("QPR07E", code).frames = -1;
    made.at("QPR07E", code).fate = Fate::part_counted;
  }
  none(made.flags());
  for (const char* code : {"PDIG", "PTUB"}) made.at("QPR07E", code).area_searched_m2 = NAN;
  CHECK(says(only(made.flags(), 11).reason, "part counted, and no area"));
}

TEST_CASE("areas as forms print them fit") {
  MadeReturns made;
  made.sound();
  made.plot_at("QPR07E").inside_m2 = 14.52;
  ReturnRow& row = made.at("QPR07E", "PDIG");
  for (const float area : {14.5F, 14.6F, 14.45F}) {
    row.area_searched_m2 = area;
    none(made.flags());
  }
  row.area_searched_m2 = 14.2F;
  only(made.flags(), 11);
}

TEST_CASE("more searched than lies inside is a stop, and not also an area that does not fit") {
  MadeReturns made;
  made.sound();
  made.plot_at("QPR09L").inside_m2 = 12;
  ReturnRow& row = made.at("QPR09L", "PDIG");
  row.area_searched_m2 = 20;
  ReturnFlag flag = only(made.flags(), 12);
  CHECK(flag.severity == Severity::stop);
  CHECK(flag.rows == std::vector<RowAt>{row.at});
  CHECK(flag.reason == "QPR09L: 20 m2 searched, only 12 m2 lies inside the site.");
  made.plot_at("QPR09L").inside_m2 = 20;
  row.area_searched_m2 = 200;
  CHECK(says(only(made.flags(), 12).reason, "the plot is only 20 m2"));
  row.fate = Fate::part_counted;
  only(made.flags(), 12);
}

TEST_CASE("frames that do not make the area are a stop of their own") {
  MadeReturns made;
  made.sound();
  ReturnRow& row = made.at("QPR07E", "PDIG");
  row.frames = 4;
  row.frame_m2 = 0.5F;
  row.area_searched_m2 = 20;
  const ReturnFlag flag = only(made.flags(), 13);
  CHECK(flag.severity == Severity::stop);
  CHECK(flag.rows == std::vector<RowAt>{row.at});
  CHECK(flag.reason == "4 x 0.5 = 2.0 but area says 20.");
  row.area_searched_m2 = 2.04F;
  none(made.flags());
}

TEST_CASE("an area that cannot be read") {
  MadeReturns made;
  made.sound();
  made.unread(made.at("QPR07E", "PDIG"), ReturnColumn::area_searched_m2, "20 sq");
  CHECK(says(only(made.flags(), 11).reason, "'20 sq'"));
  made.at("QPR07E", "PDIG").unread = 0;
  made.unread(made.at("QPR07E", "PDIG"), ReturnColumn::frames, "four");
  only(made.flags(), 13);
}

TEST_CASE("a frame of a transect is compared with the plan's frame") {
  MadeReturns made;
  made.season.plan.transect.frames = FrameSpec{5, {0.5, 1}};
  made.sound();
  ReturnRow& row = made.at("QPR07E", "PDIG");
  row.station = 2;
  row.area_searched_m2 = 0.5F;
  none(made.flags());
  row.area_searched_m2 = 1;
  CHECK(says(only(made.flags(), 12).reason, "a frame is 0.5 m2"));
}

TEST_CASE("mown is not zero") {
  MadeReturns made;
  made.sound();
  ReturnRow& row = made.at("QPR08H", "PDIG");
  row.fate = Fate::mown;
  row.stems = 0;
  row.area_searched_m2 = 500;  // nothing else is asked of it
  const std::vector<ReturnFlag> flags = made.flags();
  const ReturnFlag flag = only(flags, 23);
  CHECK(flag.severity == Severity::stop);
  CHECK(flag.rows == std::vector<RowAt>{row.at});
  CHECK(flag.column == ReturnColumn::flowering_stems);
  CHECK(flag.reason == "QPR08H is 'not countable (mown)' and has 0 stems. Mown is not zero.");
  CHECK(flag.next_step == "Remove the count or the status.");
  row.stems = -1;
  row.area_searched_m2 = NAN;
  none(made.flags());
}

TEST_CASE("a status row against its visit's counts is one stop; an unknown status too") {
  MadeReturns made;
  made.sound();
  ReturnRow& status = made.row("QPR08H", "", -1, may_28);
  status.fate = Fate::under_water;
  ReturnFlag flag = only(made.flags(), 23);
  CHECK(flag.rows.size() == 2);
  CHECK(says(flag.reason, "and 1 more count. Not seen is not zero."));
  status.fate = Fate::part_counted;
  for (const char* code : {"PDIG", "PTUB"}) made.at("QPR08H", code).area_searched_m2 = 10;
  none(made.flags());
  status.fate = Fate::unknown;
  made.write(status, ReturnColumn::status, "gone fishing");
  flag = only(made.flags(), 23);
  CHECK(says(flag.reason, "'gone fishing' is no status"));
  CHECK(flag.rows.size() == 3);
}

TEST_CASE("a count above the plan's most is noted; the site's limit goes before the species'") {
  MadeReturns made;
  made.sound();
  ReturnRow& row = made.at("QPR05Y", "PTUB");
  row.stems = 100;
  made.season.plan.returns.most = {{"PTUB", 99}};
  const std::vector<ReturnFlag> flags = made.flags();
  const ReturnFlag flag = only(flags, 20);
  CHECK(flag.severity == Severity::note);
  CHECK(flag.rows == std::vector<RowAt>{row.at});
  CHECK(flag.reason == "QPR05Y, P. tubaeflorus: 100 stems; the plan's most is 99. Not removed.");
  CHECK(use_of_rows(made.returns, flags)[std::size_t(&row - made.returns.rows.data())] == Use::used);
  made.season.plan.returns.most = {{"PTUB", 99}, {"QPR PTUB", 100}};
  none(made.flags());
}

TEST_CASE("a count far above earlier seasons' highest is noted; a new highest alone is not") {
  MadeReturns made;
  made.sound();
  made.expected.highest[{"QPR", "PTUB"}] = {41, 4};
  ReturnRow& row = made.at("QPR05Y", "PTUB");
  row.stems = 312;
  CHECK(only(made.flags(), 20).reason ==
        "QPR05Y, P. tubaeflorus: 312 stems; the highest here in 4 earlier seasons is 41. Not removed.");
  row.stems = 82;
  none(made.flags());
}

TEST_CASE("where nothing is known counts are compared with their like, carefully") {
  MadeReturns made;
  made.sound();
  ReturnRow& row = made.at("QPR05Y", "PTUB");
  row.stems = 4000;
  for (const ExpectedPlot& plot : made.expected.plots)
    if (plot.site == "QPR" && !plot.spare) {
      ReturnRow& other = made.at(plot.name, "PTUB");
      if (&other != &row) other.stems = 3 + int(&other - made.returns.rows.data()) % 9;
    }
  const ReturnFlag flag = only(made.flags(), 20);
  CHECK(flag.rows == std::vector<RowAt>{row.at});
  CHECK(says(flag.reason, "half of the 12 finds of this stratum"));
  row.stems = 30;
  none(made.flags());
}

}  // namespace flags_counts_test
