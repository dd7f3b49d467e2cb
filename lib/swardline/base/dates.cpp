#include "swardline/base/dates.hpp"

#include <fmt/format.h>

#include <charconv>

#include "swardline/base/error.hpp"

namespace swardline {
namespace {

int days_before(int year, int month) {
  constexpr int before[] = {0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365};
  const bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
  return before[month - 1] + (leap && month > 2 ? 1 : 0);
}

int whole(std::string_view text) {
  int value = 0;
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), value);
  return problem == std::errc() && end == text.data() + text.size() ? value : -1;
}

}  // namespace

double decimal_year(std::string_view date) {
  const int year = date.size() == 10 ? whole(date.substr(0, 4)) : -1;
  const int month = date.size() == 10 && date[4] == '-' ? whole(date.substr(5, 2)) : -1;
  const int day = date.size() == 10 && date[7] == '-' ? whole(date.substr(8, 2)) : -1;
  const bool in_range = year >= 1600 && month >= 1 && month <= 12 && day >= 1;
  const int last = !in_range ? 0 : month == 12 ? 31 : days_before(year, month + 1) - days_before(year, month);
  if (!in_range || day > last)
    throw InputError({}, fmt::format("\"{}\" is no date.", date), "Write it like 2027-05-28.");
  const int in_year = days_before(year, 12) + 31;
  return year + double(days_before(year, month) + day - 1) / in_year;
}

}  // namespace swardline
