// What is outstanding, where windows close, and which spares are in use.
#include "swardline/returns/progress.hpp"

#include "made_returns.hpp"

namespace progress_test {

using namespace swardline;
using namespace swardline::testing;

namespace {

const Day may_28 = day_of(2027, 5, 28);

SeasonProgress progress(const MadeReturns& made) {
  const std::vector<ReturnFlag> flags = made.flags();
  return progress_of(made.season, made.expected, made.returns, flags,
                     report_of_observers(made.season, made.expected, made.returns, flags, {}));
}

bool any_says(const std::vector<std::string>& lines, const std::string& part) {
  for (const std::string& line : lines)
    if (line.find(part) != std::string::npos) return true;
  for (const std::string& line : lines) MESSAGE(line);
  return false;
}

}  // namespace

TEST_CASE("plots are counted, lost with a reason, or outstanding, by site and team") {
  MadeReturns made;
  made.sound();
  made.expected.team_of_site = {{"QPR", "north"}};
  std::erase_if(made.returns.rows, [&](const ReturnRow& row) {
    return row.plot == made.plot("QPR03S") || row.plot == made.plot("QPR04V");
  });
  made.row("QPR03S", "", -1, may_28).fate = Fate::unsafe;
  made.plot_at("QPR08H").due = false;  // resting: neither due nor outstanding
  const SeasonProgress now = progress(made);
  REQUIRE(now.sites.size() == 2);
  const SiteProgress& prairie = now.sites[1];
  CHECK(prairie.site == "QPR");
  CHECK(prairie.team == "north");
  CHECK(prairie.due == 11);
  CHECK(prairie.counted == 9);
  CHECK(prairie.not_counted == std::map<std::string, int>{{"unsafe", 1}});
  CHECK(prairie.outstanding == std::vector<std::string>{"QPR04V"});
  CHECK(now.due == 17);
  CHECK(now.counted == 9);
  CHECK(now.not_counted == 1);
  CHECK(now.outstanding == 7);
  CHECK(any_says(in_words(now, made.season),
                 "QPR (team north): 9 of 11 plots counted, 1 unsafe; 1 outstanding: QPR04V."));
}

TEST_CASE("no return days before a window closes: team and site are named") {
  MadeReturns made;
  made.sound();
  made.expected.team_of_site = {{"HDR", "south"}};
  made.expected.today = day_of(2027, 5, 26);
  SeasonProgress now = progress(made);
  REQUIRE(now.windows.size() == 2);  // the prairie is counted
  const WindowProgress& first = now.windows[0];
  CHECK(first.site == "HDR");
  CHECK(first.team == "south");
  CHECK(made.season.sheets[first.species].code == "PTEN");
  CHECK(first.days_left == 5);
  CHECK(first.open);
  CHECK(first.closing);
  CHECK(first.outstanding.size() == 6);
  CHECK_FALSE(now.windows[1].closing);  // P. digitalis has until the end of June
  CHECK(now.windows[1].days_left == 35);
  CHECK(any_says(
      in_words(now, made.season),
      "NOW: HDR (team south), P. tenuis: window closes in 5 days, on 31 May; 6 plots outstanding: "));
  made.expected.today = day_of(2027, 5, 25);
  CHECK_FALSE(progress(made).windows[0].closing);
  made.season.plan.returns.close_days = 6;
  CHECK(progress(made).windows[0].closing);
}

TEST_CASE("windows move with the season; those closed and those to come are said as that") {
  MadeReturns made;
  made.expected.today = day_of(2027, 5, 26);
  made.season.plan.returns.shift_days = -8;
  const SeasonProgress now = progress(made);
  const WindowProgress& last = now.windows.back();
  CHECK(made.season.sheets[last.species].code == "PTEN");
  CHECK(last.days_left == -3);
  CHECK_FALSE(last.open);
  CHECK(any_says(in_words(now, made.season), "P. tenuis: window closed on 23 May, 3 days ago"));
  made.season.plan.returns.shift_days = 10;
  CHECK(any_says(in_words(progress(made), made.season),
                 "P. tubaeflorus: window opens on 30 May and closes on 5 Jul"));
  // A plan of next year looked at this year.
  made.season.plan.returns.shift_days = 0;
  made.expected.today = day_of(2026, 11, 28);
  const SeasonProgress before = progress(made);
  CHECK(any_says(in_words(before, made.season),
                 "P. tenuis: window opens on 10 Apr 2027 and closes on 31 May 2027"));
  CHECK(before.windows.front().days_left == 184);  // Python: (date(2027, 5, 31) - date(2026, 11, 28)).days
}

TEST_CASE("a species not yet written down for a plot is outstanding in its window, a lost plot is not") {
  MadeReturns made;
  made.expected.today = may_28;
  made.sound("HDR");
  std::erase_if(made.returns.rows, [&](const ReturnRow& row) { return row.species == made.species("PTEN"); });
  made.row(MadeReturns::name("HDR", 1), "", -1, may_28).fate = Fate::mown;
  std::erase_if(made.returns.rows, [&](const ReturnRow& row) {
    return row.plot == made.plot(MadeReturns::name("HDR", 1)) && row.species >= 0;
  });
  const SeasonProgress now = progress(made);
  const auto tenuis = std::find_if(now.windows.begin(), now.windows.end(), [&](const WindowProgress& window) {
    return window.site == "HDR" && made.season.sheets[window.species].code == "PTEN";
  });
  REQUIRE(tenuis != now.windows.end());
  CHECK(tenuis->outstanding.size() == 5);
}

TEST_CASE("spares in use, each with the plot it stands for") {
  MadeReturns made;
  made.sound();
  std::erase_if(made.returns.rows, [&](const ReturnRow& row) { return row.plot == made.plot("QPR03S"); });
  made.row("QPR03S", "", -1, may_28).fate = Fate::no_permission;
  made.row("QPR51G", "", -1, may_28).fate = Fate::unsafe;
  for (const char* code : {"PDIG", "PTUB"}) made.row("QPR52K", code, 2, may_28);
  SeasonProgress now = progress(made);
  REQUIRE(now.spares.size() == 2);
  CHECK(now.spares[0].plot == "QPR51G");
  CHECK(now.spares[0].why == "in place of QPR03S (no permission)");
  CHECK(now.spares[1].why == "in place of QPR51G (unsafe)");
  MadeReturns other;
  other.sound();
  for (const char* code : {"PDIG", "PTUB"}) other.row("QPR51G", code, 2, may_28);
  now = progress(other);
  REQUIRE(now.spares.size() == 1);
  CHECK(says(now.spares[0].why, "no plot of its stratum is reported lost"));
}

TEST_CASE("open flags and observers who need a second look") {
  MadeReturns made;
  made.sound("QPR", "088");
  made.at("QPR05Y", "PDIG").stems = -1;
  made.expected.observers["041"] = {"041", "north", {"PDIG", "PTUB"}, {}};
  const SeasonProgress now = progress(made);
  CHECK(now.asks == 13);
  CHECK(now.stops == 0);
  REQUIRE(now.second_look.size() == 1);
  CHECK(now.second_look.front().id == "088");
  CHECK(any_says(in_words(now, made.season),
                 "observer 088 needs a second look: is not on the list of observers"));
}

}  // namespace progress_test
