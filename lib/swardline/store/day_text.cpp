#include "swardline/store/day_text.hpp"

#include <fmt/format.h>

#include <charconv>
#include <chrono>

namespace swardline {
namespace {

std::chrono::year_month_day civil(Day day) { return std::chrono::sys_days(std::chrono::days(day)); }

int digits(std::string_view text) {
  int value = -1;
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), value);
  return problem == std::errc() && end == text.data() + text.size() ? value : -1;
}

}  // namespace

std::string day_text(Day day) {
  if (day == no_day) return {};
  const auto date = civil(day);
  return fmt::format("{:04}-{:02}-{:02}", int(date.year()), unsigned(date.month()), unsigned(date.day()));
}

Day day_from(std::string_view text) {
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return no_day;
  const int year = digits(text.substr(0, 4)), month = digits(text.substr(5, 2)),
            day = digits(text.substr(8, 2));
  if (year < 0 || month < 0 || day < 0) return no_day;
  const std::chrono::year_month_day date{std::chrono::year(year), std::chrono::month(unsigned(month)),
                                         std::chrono::day(unsigned(day))};
  return date.ok() ? Day(std::chrono::sys_days(date).time_since_epoch().count()) : no_day;
}

std::string time_text(int minutes) {
  return minutes < 0 ? std::string() : fmt::format("{:02}:{:02}", minutes / 60, minutes % 60);
}

int year_of_day(Day day) { return int(civil(day).year()); }

}  // namespace swardline
