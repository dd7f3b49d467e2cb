// The letter at the end of a short name that shows a slip in what stands before it.
#pragma once

#include <string_view>

namespace swardline {

/// Check letter of a code and number ("QPR07" -> 'E'): letters A=1…Z=26, digits as they are,
/// weights 7 6 5 4 3 (repeating past five characters), remainder by 23 into
/// ABCDEFGHJKLMNPRSTUVWXYZ. Catches every wrong or swapped digit.
[[nodiscard]] char check_letter(std::string_view code_and_number);

}  // namespace swardline
