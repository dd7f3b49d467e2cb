#include "swardline/season/read_visits.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <set>

#include "swardline/base/text.hpp"
#include "swardline/season/days.hpp"
#include "swardline/season/sheet.hpp"

namespace swardline {
namespace {

/// "05-01", or "2027-05-01", which holds in one year only.
struct WrittenDay {
  DayOfYear day;
  std::optional<int> year;
};

std::optional<WrittenDay> written_day(std::string_view text) {
  if (text.size() == 5)
    if (const auto day = day_of_year(text)) return WrittenDay{*day, {}};
  if (text.size() != 10 || text[4] != '-') return std::nullopt;
  int year = 0;
  const auto [end, failed] = std::from_chars(text.data(), text.data() + 4, year);
  const auto day = day_of_year(text.substr(5));
  if (failed != std::errc() || end != text.data() + 4 || !day || day_of(year, day->month, day->day) == no_day)
    return std::nullopt;
  return WrittenDay{*day, year};
}

int number_of_day(DayOfYear day) { return day.month * 100 + day.day; }

std::optional<DayOfYear> yearly_day(const TomlTable& at, const char* key) {
  const auto text = at.text(key);
  if (!text) return std::nullopt;
  const auto day = day_of_year(*text);
  if (!day)
    at.stop(at.place(key), "day of the year", fmt::format("{} = \"{}\" is no day of the year.", key, *text),
            fmt::format("Write month-day, like {} = \"05-01\".", key));
  return day;
}

void check_codes(const TomlTable& at, const char* key, const std::vector<std::string>& codes) {
  if (at.has(key) && codes.empty())
    at.stop(at.place(key), "empty list", fmt::format("{} is an empty list.", key),
            fmt::format("Name one, or take {} out: then it holds for all.", key));
  std::set<std::string> seen;
  for (const std::string& code : codes)
    if (!seen.insert(code).second)
      at.stop(at.place(key), "named twice", fmt::format("{} names {} twice.", key, code), "Name it once.");
}

std::vector<std::string> codes_in(const TomlTable& at, const char* key) {
  std::vector<std::string> codes;
  if (auto read = at.texts(key)) {
    codes = std::move(*read);
    check_codes(at, key, codes);
  }
  return codes;
}

/// Both days with a year or neither, the second after the first and less than a year later.
bool days_agree(const TomlTable& at, const WrittenDay& from, const WrittenDay& until) {
  if (from.year.has_value() != until.year.has_value()) {
    at.stop(at.place("until"), "days of a closure", "one day has a year and the other has none.",
            "Write both with the year, like \"2027-05-01\", or both without.");
    return false;
  }
  if (!from.year) return true;
  const bool over_new_year = number_of_day(until.day) < number_of_day(from.day);
  if (*until.year == *from.year + (over_new_year ? 1 : 0)) return true;
  at.stop(at.place("until"), "days of a closure",
          *until.year < *from.year || (*until.year == *from.year && over_new_year)
              ? "until comes before from."
              : "until is more than a year after from.",
          "Write the first day and the last day, less than a year apart.");
  return false;
}

void read_closure(const TomlTable& at, VisitsSpec& visits) {
  ClosureSpec closure;
  closure.place = at.place();
  closure.sites = codes_in(at, "sites");
  if (at.require("reason")) take(at.text("reason"), closure.reason);
  std::array<std::optional<WrittenDay>, 2> days;
  constexpr std::array keys = {"from", "until"};
  for (std::size_t i = 0; i < 2; ++i) {
    if (!at.require(keys[i])) continue;
    const auto text = at.text(keys[i]);
    if (!text) continue;
    days[i] = written_day(*text);
    if (!days[i])
      at.stop(at.place(keys[i]), "day of a closure", fmt::format("{} = \"{}\" is no day.", keys[i], *text),
              fmt::format("Write {0} = \"05-01\", for one year only {0} = \"2027-05-01\".", keys[i]));
  }
  if (!days[0] || !days[1] || !days_agree(at, *days[0], *days[1])) return;
  closure.from = days[0]->day;
  closure.until = days[1]->day;
  closure.year = days[0]->year;
  if (!closure.year && number_of_day(closure.until) < number_of_day(closure.from))
    at.add(Severity::ask, at.place("until"), "closure over New Year",
           "the closure runs over New Year, for until comes before from.",
           "If that is not meant, write the earlier day first.");
  visits.closures.push_back(std::move(closure));
}

void read_permission(const TomlTable& at, PermissionSpec& permission) {
  static const std::vector<std::string> statuses = {"yes", "asked", "no", "withdrawn"};
  permission.place = at.place();
  if (at.require("status"))
    if (const auto status = at.choice("status", statuses)) permission.status = statuses[*status];
  permission.from = yearly_day(at, "from");
  permission.until = yearly_day(at, "until");
  take(at.text("note"), permission.note);
  if (permission.from && permission.until &&
      number_of_day(*permission.until) < number_of_day(*permission.from))
    at.add(Severity::ask, at.place("until"), "permission over New Year",
           "the permission runs over New Year, for until comes before from.",
           "If that is not meant, write the earlier day first.");
  if ((permission.from || permission.until) &&
      (permission.status == "no" || permission.status == "withdrawn"))
    at.add(Severity::ask, at.place(permission.from ? "from" : "until"), "days without permission",
           fmt::format("days mean nothing beside status = \"{}\": nobody enters at all.", permission.status),
           "Take them out, or write status = \"yes\" where there is permission on those days.");
}

}  // namespace

void read_visits(const TomlTable& at, Plan& plan) {
  VisitsSpec& visits = plan.visits;
  visits.place = at.place();
  take(at.whole("weather_days", 0, 60), visits.weather_days);
  if (const auto year = at.whole("year", 1900, 2200)) visits.year = static_cast<int>(*year);
  take(at.number("hours_per_week", {.low = 0, .high = 168, .above_low = true}), visits.hours_per_week);
  if (const auto table = at.text("table")) {
    const std::filesystem::path file(*table);
    visits.table = file.is_absolute() ? file : plan.folder / file;
  }
  if (const auto people = at.table("people"))
    people->each([&](const std::string& team, const toml::node& node) {
      if (const auto number = people->whole_of(team, node, 1, 10000))
        visits.people[team] = static_cast<int>(*number);
    });
  for (const TomlTable& each : at.tables("closure")) read_closure(each, visits);
  if (const auto permission = at.table("permission"))
    permission->each([&](const std::string& site, const toml::node& node) {
      const auto one = permission->chosen(site, node, fmt::format("[visits.permission.{}] ", site));
      if (one) read_permission(*one, visits.permission[site]);
    });
}

void read_caution(const TomlTable& at, Plan& plan) {
  CautionSpec caution;
  caution.place = at.place();
  const bool said = at.require("text");
  take(at.text("text"), caution.text);
  caution.sites = codes_in(at, "sites");
  caution.habitats = codes_in(at, "habitats");
  if (const auto classes = at.table("classes"))
    classes->each([&](const std::string& layer, const toml::node& node) {
      take(classes->texts_of(layer, node), caution.classes[layer]);
    });
  caution.from = yearly_day(at, "from");
  caution.until = yearly_day(at, "until");
  if (const auto stop = at.yes_no("stop")) caution.stop = *stop;
  if (said && !caution.text.empty()) plan.cautions.push_back(std::move(caution));
}

}  // namespace swardline
