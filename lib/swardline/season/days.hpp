// Days of a season, and how they are said.
#pragma once

#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "swardline/season/sheet.hpp"

namespace swardline {

/// Days since 1970-01-01.
using Day = std::int32_t;
inline constexpr Day no_day = std::numeric_limits<Day>::min();

/// `no_day` where there is no such date.
[[nodiscard]] Day day_of(int year, int month, int day);
/// "05-20", month and day; nothing for what is no day of any year.
[[nodiscard]] std::optional<DayOfYear> day_of_year(std::string_view text);
[[nodiscard]] int year_of(Day day);
/// The same with day and month the other way round; `no_day` where that is no date.
[[nodiscard]] Day other_way_round(Day day);

[[nodiscard]] std::string short_date(Day day);  ///< "27 May"
/// "20–31 May", "15 May–5 Jun"; one day alone where they are one.
[[nodiscard]] std::string short_range(Day from, Day until);
[[nodiscard]] std::string iso_date(Day day);  ///< "2027-05-27"; "no date" for `no_day`

/// The days of a season in which a species can be counted.
struct DayWindow {
  Day from = no_day, until = no_day;
  [[nodiscard]] bool holds(Day day) const { return from <= day && day <= until; }
};
/// A sheet's window in the year of `day`, moved by `shift` days; one that runs over the turn of the year is
/// the one that ends next after `day`, or that `day` lies in.
[[nodiscard]] DayWindow window_at(const std::pair<DayOfYear, DayOfYear>& window, Day day, int shift);
/// The window that begins in `year`.
[[nodiscard]] DayWindow window_in(const std::pair<DayOfYear, DayOfYear>& window, int year, int shift);

/// "P. digitalis" for "Penstemon digitalis"; the code where a sheet names no plant.
[[nodiscard]] std::string short_name(const Sheet& sheet);

/// "A, B, C and 4 more"
[[nodiscard]] std::string some_of(const std::vector<std::string>& items, std::size_t most = 8);

/// The plural only where it is due: "1 plot", "12 plots".
[[nodiscard]] std::string counted_words(std::size_t number, const char* one, const char* many);

}  // namespace swardline
