// Days and times of day as the store has them: ISO 8601. Private to this folder.
#pragma once

#include <string>
#include <string_view>

#include "swardline/returns/return_row.hpp"

namespace swardline {

[[nodiscard]] std::string day_text(Day day);        ///< "2027-05-28"; empty for no_day
[[nodiscard]] Day day_from(std::string_view text);  ///< no_day for anything else
[[nodiscard]] std::string time_text(int minutes);   ///< "09:30"; empty below 0
[[nodiscard]] int year_of_day(Day day);

}  // namespace swardline
