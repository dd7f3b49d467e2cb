// Reading the characters by which plants are told apart. Private to this stage.
#pragma once

#include <string>
#include <string_view>

#include "swardline/base/flag.hpp"
#include "swardline/season/season.hpp"
#include "swardline/season/traits.hpp"

namespace swardline {

/// Reads the text of a file of characters; `file` is its name in messages. Throws InputError when it is not
/// TOML.
[[nodiscard]] Traits read_traits(std::string_view text, const std::string& file, Flags& flags);

/// Holds the states that sheets and other plants are said to show against the characters.
void check_traits(const Season& season, Flags& flags);

}  // namespace swardline
