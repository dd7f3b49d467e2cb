// What one cell says, and nothing it does not say.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "swardline/returns/return_row.hpp"

namespace swardline {

/// Without blanks at both ends, no-break blanks and byte-order marks among them.
[[nodiscard]] std::string_view trimmed(std::string_view cell);

/// A whole number from 0 to `most`: digits and nothing else. Decimal digits of other scripts are read as what
/// they are (Unicode, Nd), and "14.0" as 14, because tables with gaps are exported so; a point with three
/// zeros behind it could part thousands and is not read. Nor is anything with a sign, "~", ">" or words.
[[nodiscard]] std::optional<std::int32_t> read_count(std::string_view cell, std::int32_t most = 2147483647);

/// How a number was written.
enum class Decimals : std::uint8_t {
  none,
  point,
  comma,
  comma_or_thousands  ///< "1,200": a comma with three digits behind it
};
struct NumberRead {
  double value = 0;
  Decimals decimals = Decimals::none;
};
/// A decimal number with a point or a comma, and its unit behind it or not ("20 m2" where unit is "m2").
[[nodiscard]] std::optional<NumberRead> read_number(std::string_view cell, std::string_view unit = {});

/// Degrees as decimals, as degrees and minutes, or with seconds; a letter N, S, E or W before or behind, or a
/// sign, never both. "38.00412", "-96,02184", "38 00.247", "38°00.247'N", "96 01 18.6 W". Minutes and seconds
/// from 60 up are not read.
[[nodiscard]] std::optional<NumberRead> read_degrees(std::string_view cell);

/// A date, in both orders where both are possible.
struct DateRead {
  Day day_first = no_day, month_first = no_day;  ///< no_day: there is no such day
  bool ordered = false;                          ///< written so that there is one order only
};
/// "2027-05-28" (also with / or . or nothing between), "28/05/2027", "28.5.27", "28 May 2027", "May 28",
/// any of them with a time behind. Where the year is missing it is that of the last such day up to `today`.
/// Years of two digits are of this century. The running number a spreadsheet keeps for a day is not read:
/// there are two counts, four years apart.
[[nodiscard]] std::optional<DateRead> read_date(std::string_view cell, Day today);

/// "2027-05-28".
[[nodiscard]] std::string iso_day(Day day);

/// Minutes since midnight: "9:05", "09:05:30", "0905", "9h05", "1:30 pm", a date before it or not.
[[nodiscard]] std::optional<std::int16_t> read_time(std::string_view cell);

}  // namespace swardline
