// A form's fixed answers, read. Private to returns; statuses are in words.hpp.
#pragma once

#include <string_view>

#include "swardline/returns/words.hpp"

namespace swardline {

/// However they are spaced or written large; `unknown` for other words.
[[nodiscard]] Certainty certainty_of(std::string_view text);
[[nodiscard]] CountMethod method_of(std::string_view text);
[[nodiscard]] Phase phase_of(std::string_view text);

/// Whether a cell that is not blank says that there is a photo.
[[nodiscard]] bool names_a_photo(std::string_view cell);

}  // namespace swardline
