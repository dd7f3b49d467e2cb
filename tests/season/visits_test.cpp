// Visits, closures, permission and cautions of a plan.
#include <fmt/format.h>

#include "message_cases.hpp"
#include "swardline/season/days.hpp"

namespace visits_test {

using namespace swardline;
using namespace swardline::testing;

namespace {

const std::string visits_text = R"([teams]
north = ["QPR", "ANL"]
[visits]
weather_days = 3
year = 2027
hours_per_week = 10
table = "visits.csv"
people = { north = 4 }
[[visits.closure]]
sites = ["QPR"]
from = "03-01"
until = "03-31"
reason = "burn"
[[visits.closure]]
from = "2027-12-20"
until = "2028-01-05"
reason = "hunt"
[visits.permission.QPR]
status = "yes"
from = "05-01"
until = "06-30"
note = "call the evening before"
[[caution]]
text = "cattle"
sites = ["QPR"]
habitats = ["prairie"]
classes = { cover = ["WM", "MP"] }
from = "04-15"
until = "05-10"
stop = true
)";

Reading changed(const std::string& text) { return read_plan_only(text); }

}  // namespace

TEST_CASE("visits, closures, permission and cautions are read") {
  const Reading reading = read_plan_only(adding_to_plan(visits_text));
  REQUIRE_MESSAGE(reading.all().empty(), reading.all());
  const Plan& plan = reading.season.plan;
  CHECK(plan.visits.weather_days == 3);
  CHECK(plan.visits.year == 2027);
  CHECK(plan.visits.hours_per_week == 10);
  CHECK(plan.visits.table == plan.folder / "visits.csv");
  CHECK(plan.visits.people.at("north") == 4);
  REQUIRE(plan.visits.closures.size() == 2);
  CHECK(plan.visits.closures[0].sites == std::vector<std::string>{"QPR"});
  CHECK(plan.visits.closures[0].from.month == 3);
  CHECK(plan.visits.closures[0].until.day == 31);
  CHECK_FALSE(plan.visits.closures[0].year);
  CHECK(plan.visits.closures[1].sites.empty());
  CHECK(plan.visits.closures[1].year == 2027);
  CHECK(plan.visits.closures[1].reason == "hunt");
  const PermissionSpec& permission = plan.visits.permission.at("QPR");
  CHECK(permission.status == "yes");
  CHECK(permission.from->month == 5);
  CHECK(permission.until->day == 30);
  CHECK(permission.note == "call the evening before");
  REQUIRE(plan.cautions.size() == 1);
  CHECK(plan.cautions[0].text == "cattle");
  CHECK(plan.cautions[0].classes.at("cover") == std::vector<std::string>{"WM", "MP"});
  CHECK(plan.cautions[0].until->day == 10);
  CHECK(plan.cautions[0].stop);
  const std::string said = in_sentences(plan);
  CHECK_MESSAGE(said.find("Visits: at least 4 open days each, 3 of them for bad weather; 10 hours a week for "
                          "each person.\nQPR closed 1 Mar–31 Mar (burn).\nAll sites closed 20 Dec–5 Jan 2027 "
                          "(hunt).\nPermission for QPR: yes from 1 May until 30 Jun.\n1 caution of its own "
                          "for the sheets.\n") != std::string::npos,
                said);
}

TEST_CASE("without [visits] there are the usual numbers") {
  const Plan plan = read_plan_only(sound_plan).season.plan;
  CHECK(plan.visits.weather_days == 5);
  CHECK(plan.visits.hours_per_week == 14);
  CHECK(plan.visits.closures.empty());
  CHECK(plan.cautions.empty());
  CHECK(in_sentences(plan).find("Visits") == std::string::npos);
}

TEST_CASE("what is wrong with visits and cautions is said with its line") {
  const std::vector<Case> cases = {
      {"weather_days = 3", "weather_days = -1",
       "STOP plan.toml:21: [visits] weather_days = -1 is out of range. Write a whole number from 0 to 60."},
      {"hours_per_week = 10", "hours_per_week = 0",
       "STOP plan.toml:23: [visits] hours_per_week = 0 is out of range. Write a number above 0 and at most "
       "168."},
      {"people = { north = 4 }", "people = { nort = 4 }",
       "STOP plan.toml:20: [visits] people names nort, which is no team of [teams]. Did you mean north?"},
      {"from = \"03-01\"", "from = \"02-30\"",
       "STOP plan.toml:28: [[visits.closure]] from = \"02-30\" is no day. Write from = \"05-01\", for one "
       "year only from = \"2027-05-01\"."},
      {"from = \"03-01\"", "from = \"2027-03-01\"",
       "STOP plan.toml:29: [[visits.closure]] one day has a year and the other has none. Write both with the "
       "year, like \"2027-05-01\", or both without."},
      {"from = \"03-01\"", "from = \"04-01\"",
       "ASK plan.toml:29: [[visits.closure]] the closure runs over New Year, for until comes before from. If "
       "that is not meant, write the earlier day first."},
      {"2028-01-05", "2027-01-05",
       "STOP plan.toml:33: [[visits.closure]] until comes before from. Write the first day and the last day, "
       "less than a year apart."},
      {"2028-01-05", "2028-12-25",
       "STOP plan.toml:33: [[visits.closure]] until is more than a year after from. Write the first day and "
       "the last day, less than a year apart."},
      {"reason = \"burn\"\n", "",
       "STOP plan.toml:26: [[visits.closure]] reason is missing. Write it like reason = \"flood\"."},
      {"status = \"yes\"", "status = \"yess\"",
       "STOP plan.toml:36: [visits.permission.QPR] status = \"yess\" is not known. Did you mean yes?"},
      {"status = \"yes\"", "status = \"withdrawn\"",
       "ASK plan.toml:37: [visits.permission.QPR] days mean nothing beside status = \"withdrawn\": nobody "
       "enters at all. Take them out, or write status = \"yes\" where there is permission on those days."},
      {"call the evening before", "call 555-0134 22",
       "ASK plan.toml:35: [visits.permission.QPR] note looks like a phone number: \"call 555-0134 22\". "
       "Phone "
       "numbers are in no file: sheets leave room to write them in by hand."},
      {"text = \"cattle\"", "text = \"write to a.b@example.org\"",
       "ASK plan.toml:40: the caution looks like an e-mail address: \"write to a.b@example.org\". Phone "
       "numbers are in no file: sheets leave room to write them in by hand."},
      {"cover = [\"WM\", \"MP\"]", "cover = [\"WX\"]",
       "STOP plan.toml:40: a caution is for cover WX: the layer has no such class. Did you mean WM?"},
      {"cover = [\"WM\", \"MP\"]", "moisture = [\"WM\"]",
       "STOP plan.toml:40: a caution names classes of moisture, which is a measure. Layers with classes: "
       "cover."},
      {"cover = [\"WM\", \"MP\"]", "covers = [\"WM\"]",
       "STOP plan.toml:40: a caution names classes of covers, which is no layer of the plan. Layers with "
       "classes: cover."},
      {"habitats = [\"prairie\"]", "habitats = []",
       "STOP plan.toml:43: [[caution]] habitats is an empty list. Name one, or take habitats out: then it "
       "holds for all."},
      {"stop = true", "stop = 1",
       "STOP plan.toml:47: [[caution]] stop must be true or false, not a whole number. Write it like stop = "
       "true."},
      {"from = \"04-15\"", "from = \"15-04\"",
       "STOP plan.toml:45: [[caution]] from = \"15-04\" is no day of the year. Write month-day, like from = "
       "\"05-01\"."},
  };
  check_all(cases, adding_to_plan(visits_text), changed);
}

TEST_CASE("a long caution is a note; dates and other numbers are no phone numbers") {
  const auto with_text = [](const std::string& text) {
    return read_plan_only(adding_to_plan(with(visits_text, "text = \"cattle\"", "text = \"" + text + "\"")));
  };
  CHECK(with_text(std::string(90, 'x')).all().empty());
  // Letters of two bytes are one character.
  std::string accents;
  for (int i = 0; i < 90; ++i) accents += "é";
  CHECK(with_text(accents).all().empty());
  CHECK_SAYS_ONLY(
      with_text(std::string(91, 'x')),
      "NOTE plan.toml:40: a caution has 91 characters: more than a line of the sheet. Say it in 90, "
      "or in two cautions.");
  for (const char* harmless :
       {"sprayed 2027-05-01 - 2027-05-03", "after 13:00, before 18:30", "12 of 2027",
        "since 1 May 2027 (2027-05-01)", "within 3.1 m", "at the gate @ noon", "@work", "a@b"})
    CHECK_MESSAGE(with_text(harmless).all().empty(), harmless);
  for (const char* number : {"555 0134 22", "+1 (555) 013-4227", "5550134", "call 2027-05-01 5550134"})
    CHECK_MESSAGE(with_text(number).all().find("a phone number") != std::string::npos, number);
}

TEST_CASE("visits of another year than the plots due are asked about") {
  const auto with_panels = [](int year) {
    return read_plan_only(adding_to_plan(visits_text + fmt::format("[panels]\nyear = {}\n", year)));
  };
  CHECK(with_panels(2027).all().find("year of the visits") == std::string::npos);
  CHECK(with_panels(2027).all().find("days of another season") == std::string::npos);
  CHECK_MESSAGE(with_panels(2028).all().find("ASK plan.toml:20: [visits] year is 2027, and the plots due are "
                                             "those of [panels] year 2028") != std::string::npos,
                with_panels(2028).all());
}

TEST_CASE("ranges of days in words") {
  const auto may = [](int day) { return day_of(2027, 5, day); };
  CHECK(short_range(may(20), may(31)) == "20–31 May");
  CHECK(short_range(may(15), day_of(2027, 6, 5)) == "15 May–5 Jun");
  CHECK(short_range(may(15), may(15)) == "15 May");
  CHECK(short_range(may(15), day_of(2028, 5, 20)) == "15 May–20 May");
  CHECK(short_range(no_day, no_day) == "no date");
  CHECK(day_of_year("05-20")->day == 20);
  CHECK_FALSE(day_of_year("5-20"));
  CHECK_FALSE(day_of_year("02-30"));
}

}  // namespace visits_test
