#include "swardline/season/days.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>

#include "swardline/base/text.hpp"

namespace swardline {
namespace {

using std::chrono::sys_days;
using std::chrono::year_month_day;

year_month_day date_of(Day day) { return year_month_day(sys_days(std::chrono::days(day))); }

constexpr const char* months[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                  "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};

/// 29 February of a year that has none is the last of the month.
Day in_year(int year, DayOfYear at) {
  const Day day = day_of(year, at.month, at.day);
  return day != no_day ? day : day_of(year, at.month, 28);
}

}  // namespace

Day day_of(int year, int month, int day) {
  if (year < 1900 || year > 9999 || month < 1 || day < 1) return no_day;
  const year_month_day date{std::chrono::year(year), std::chrono::month(unsigned(month)),
                            std::chrono::day(unsigned(day))};
  return date.ok() ? Day(sys_days(date).time_since_epoch().count()) : no_day;
}

std::optional<DayOfYear> day_of_year(std::string_view text) {
  const auto digit = [&](std::size_t i) { return text[i] >= '0' && text[i] <= '9'; };
  if (text.size() != 5 || text[2] != '-' || !digit(0) || !digit(1) || !digit(3) || !digit(4))
    return std::nullopt;
  const int month = (text[0] - '0') * 10 + (text[1] - '0'), day = (text[3] - '0') * 10 + (text[4] - '0');
  constexpr int days[] = {31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  if (month < 1 || month > 12 || day < 1 || day > days[month - 1]) return std::nullopt;
  return DayOfYear{month, day};
}

int year_of(Day day) { return int(date_of(day).year()); }

Day other_way_round(Day day) {
  const year_month_day date = date_of(day);
  return day_of(int(date.year()), int(unsigned(date.day())), int(unsigned(date.month())));
}

std::string short_date(Day day) {
  if (day == no_day) return "no date";
  const year_month_day date = date_of(day);
  return fmt::format("{} {}", unsigned(date.day()), months[unsigned(date.month()) - 1]);
}

std::string iso_date(Day day) {
  if (day == no_day) return "no date";
  const year_month_day date = date_of(day);
  return fmt::format("{:04d}-{:02d}-{:02d}", int(date.year()), unsigned(date.month()), unsigned(date.day()));
}

std::string short_range(Day from, Day until) {
  if (from == no_day || until == no_day || from == until) return short_date(from);
  const year_month_day first = date_of(from), last = date_of(until);
  if (first.year() == last.year() && first.month() == last.month())
    return fmt::format("{}–{}", unsigned(first.day()), short_date(until));
  return fmt::format("{}–{}", short_date(from), short_date(until));
}

DayWindow window_in(const std::pair<DayOfYear, DayOfYear>& window, int year, int shift) {
  DayWindow found{in_year(year, window.first) + shift, in_year(year, window.second) + shift};
  if (found.until < found.from) found.until = in_year(year + 1, window.second) + shift;
  return found;
}

DayWindow window_at(const std::pair<DayOfYear, DayOfYear>& window, Day day, int shift) {
  const int year = year_of(day);
  const DayWindow begun_before = window_in(window, year - 1, shift);
  return begun_before.holds(day) ? begun_before : window_in(window, year, shift);
}

std::string short_name(const Sheet& sheet) {
  const std::size_t space = sheet.name.find(' ');
  if (space == std::string::npos || space == 0) return sheet.name.empty() ? sheet.code : sheet.name;
  return sheet.name.substr(0, 1) + "." + sheet.name.substr(space);
}

std::string some_of(const std::vector<std::string>& items, std::size_t most) {
  if (items.size() <= most) return in_words(items);
  std::vector<std::string> shown(items.begin(), items.begin() + std::ptrdiff_t(most));
  shown.push_back(fmt::format("{} more", items.size() - most));
  return in_words(shown);
}

std::string counted_words(std::size_t number, const char* one, const char* many) {
  return fmt::format("{} {}", grouped(std::int64_t(number)), number == 1 ? one : many);
}

}  // namespace swardline
