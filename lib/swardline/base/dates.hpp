// Dates as plans write them.
#pragma once

#include <string_view>

namespace swardline {

/// "2027-05-28" (ISO 8601) as a decimal year: the share of the year that has gone by at the start of the day.
/// Throws InputError for anything else.
[[nodiscard]] double decimal_year(std::string_view iso_date);

}  // namespace swardline
