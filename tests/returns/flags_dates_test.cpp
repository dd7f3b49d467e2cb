// Days that cannot be, that could be two, or that lie outside a species' time; and words for days.
#include "made_returns.hpp"

namespace flags_dates_test {

using namespace swardline;
using namespace swardline::testing;

TEST_CASE("days in words and back") {
  CHECK(iso_date(day_of(2027, 5, 28)) == "2027-05-28");
  CHECK(short_date(day_of(2027, 5, 28)) == "28 May");
  CHECK(day_of(2027, 2, 29) == no_day);
  CHECK(day_of(2028, 2, 29) != no_day);
  CHECK(day_of(1970, 1, 1) == 0);
  CHECK(year_of(day_of(2027, 12, 31)) == 2027);
  CHECK(other_way_round(day_of(2027, 6, 7)) == day_of(2027, 7, 6));
  CHECK(other_way_round(day_of(2027, 6, 13)) == no_day);
}

TEST_CASE("windows move with the season and may run over the turn of the year") {
  const std::pair<DayOfYear, DayOfYear> winter{{11, 20}, {2, 10}};
  CHECK(window_at(winter, day_of(2027, 1, 5), 0).holds(day_of(2027, 1, 5)));
  CHECK(window_at(winter, day_of(2027, 12, 5), 0).holds(day_of(2027, 12, 5)));
  CHECK_FALSE(window_at(winter, day_of(2027, 3, 5), 0).holds(day_of(2027, 3, 5)));
  const DayWindow early = window_at({{5, 20}, {6, 25}}, day_of(2027, 6, 1), -8);
  CHECK(iso_date(early.from) == "2027-05-12");
  CHECK(iso_date(early.until) == "2027-06-17");
}

TEST_CASE("a date to come, of another year, empty or unreadable is a stop") {
  MadeReturns made;
  made.sound();
  ReturnRow& row = made.at("QPR05Y", "PDIG");
  row.date = day_of(2072, 5, 28);
  ReturnFlag flag = only(made.flags(), 15);
  CHECK(flag.severity == Severity::stop);
  CHECK(flag.rows == std::vector<RowAt>{row.at});
  CHECK(flag.value == "2072-05-28");
  CHECK(says(flag.reason,
             "visit_date 2072-05-28 is to come: today is 2027-07-15, and the season's year is 2027."));
  row.date = day_of(2026, 5, 28);
  CHECK(only(made.flags(), 15).reason == "visit_date 2026-05-28: the season's year is 2027.");
  row.date = day_of(2027, 7, 16);
  CHECK(says(only(made.flags(), 15).reason, "is to come"));
  row.date = no_day;
  CHECK(says(only(made.flags(), 15).reason, "visit_date is empty"));
  made.unread(row, ReturnColumn::visit_date, "31 June");
  CHECK(only(made.flags(), 15).reason == "visit_date '31 June' is no date.");
}

TEST_CASE("today is no day to come, and a plot nobody could count needs no day") {
  MadeReturns made;
  made.sound();
  made.expected.today = day_of(2027, 5, 28);
  none(made.flags());
  for (const char* code : {"PDIG", "PTUB"}) {
    ReturnRow& row = made.at("QPR05Y", code);
    row.stems = -1;
    row.fate = Fate::not_reached;
    row.date = no_day;
  }
  none(made.flags());
}

TEST_CASE("one wrong date on a sheet is one flag") {
  MadeReturns made;
  made.sound();
  for (ReturnRow& row : made.returns.rows) row.date = day_of(2072, 5, 28);
  const ReturnFlag flag = only(made.flags(), 15);
  CHECK(flag.rows.size() == made.returns.rows.size());
  CHECK(flag.plot == -1);
}

TEST_CASE("without a plan for the year, most rows tell it") {
  MadeReturns made;
  made.season.plan.panels.given = false;
  made.sound();
  none(made.flags());
  made.at("QPR05Y", "PDIG").date = day_of(2026, 5, 28);
  CHECK(says(only(made.flags(), 15).reason, "the season's year is 2027"));
  std::size_t n = 0;  // half and half: not known
  for (ReturnRow& row : made.returns.rows) row.date = day_of(n++ % 2 == 0 ? 2026 : 2027, 5, 28);
  CHECK(of_check(made.flags(), 15).empty());
}

TEST_CASE("06/07 is asked about, with what settles it") {
  MadeReturns made;
  made.sound("QPR", "041", "0401", day_of(2027, 6, 7));
  std::vector<RowAt> rows;
  for (const char* code : {"PDIG", "PTUB"}) {
    ReturnRow& row = made.at("QPR05Y", code);
    row.date = day_of(2027, 7, 6);
    row.date_doubtful = true;
    made.write(row, ReturnColumn::visit_date, "06/07");
    rows.push_back(row.at);
  }
  ReturnFlag flag = only(made.flags(), 16);  // and not outside the window on 6 July
  CHECK(flag.severity == Severity::ask);
  CHECK(flag.rows == rows);
  CHECK(flag.reason == "06/07 could be 6 Jul or 7 Jun; other rows of the sheet say 7 Jun.");
  for (const char* code : {"PDIG", "PTUB"})
    made.at("QPR05Y", code).sheet = made.returns.texts.index_of("0499");
  CHECK(says(only(made.flags(), 16).reason, "the same observer's other rows say 7 Jun"));
}

TEST_CASE("a doubt is settled by how the file writes other days, or by today") {
  MadeReturns made;
  made.sound("QPR", "041", "0401", day_of(2027, 6, 13));
  ReturnRow& certain = made.at("QPR04V", "PDIG");
  for (const char* code : {"PDIG", "PTUB"}) {
    ReturnRow& row = made.at("QPR05Y", code);
    row.date = day_of(2027, 6, 7);
    row.date_doubtful = true;
    made.write(row, ReturnColumn::visit_date, "7/6/2027");
  }
  CHECK(says(only(made.flags(), 16).reason, "could be 7 Jun or 6 Jul."));
  made.write(certain, ReturnColumn::visit_date, "13/6/2027");
  CHECK(says(only(made.flags(), 16).reason,
             "'13/6/2027', shows that this file has the day first, hence 7 Jun"));
  made.write(certain, ReturnColumn::visit_date, "6/13/2027");
  CHECK(says(only(made.flags(), 16).reason, "has the month first, hence 6 Jul"));
  made.write(certain, ReturnColumn::visit_date, "");
  made.expected.today = day_of(2027, 7, 1);
  CHECK(says(only(made.flags(), 16).reason, "6 Jul is still to come"));
}

TEST_CASE("a day that is the same both ways is no doubt") {
  MadeReturns made;
  made.sound("QPR", "041", "0401", day_of(2027, 6, 6));
  for (ReturnRow& row : made.returns.rows) row.date_doubtful = true;
  none(made.flags());
}

TEST_CASE("a count outside the window is asked about once for plot and species") {
  MadeReturns made;
  made.sound("HDR", "052", "0402");
  ReturnRow& row = made.at(MadeReturns::name("HDR", 2), "PTEN");
  row.date = day_of(2027, 6, 24);
  row.stems = 3;
  row.phase = Phase::past;
  made.season.sheets[2].look_alikes.push_back({"PDIG", "larger", {}});  // and no look-alike either
  const ReturnFlag flag = only(made.flags(), 14);
  CHECK(flag.severity == Severity::ask);
  CHECK(flag.rows == std::vector<RowAt>{row.at});
  CHECK(flag.column == ReturnColumn::visit_date);
  CHECK(flag.reason ==
        "P. tenuis at " + MadeReturns::name("HDR", 2) + " on 24 Jun: window ends 31 May. Capsules? Photo?");
  row.stems = 0;
  row.phase = Phase::none;
  CHECK(says(only(made.flags(), 14).reason, "None seen then tells little."));
  made.season.sheets[2].window = {{4, 10}, {6, 24}};
  none(made.flags());
}

TEST_CASE("the first and last day of a window lie in it; before it is outside too") {
  MadeReturns made;
  made.sound("HDR", "052", "0402", day_of(2027, 5, 31));
  none(made.flags());
  for (ReturnRow& row : made.returns.rows) row.date = day_of(2027, 5, 15);
  none(made.flags());
  for (ReturnRow& row : made.returns.rows) row.date = day_of(2027, 5, 14);
  const std::vector<ReturnFlag> flags = made.flags();
  CHECK(of_check(flags, 14).size() == 6);  // P. digitalis from 15 May; P. tenuis is in its time
  CHECK(says(flags.front().reason, "window begins 15 May"));
}

}  // namespace flags_dates_test
