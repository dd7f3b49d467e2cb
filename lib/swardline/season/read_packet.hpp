// Reading [packet]: what site sheets show. Private to this stage.
#pragma once

#include "swardline/season/plan.hpp"
#include "swardline/season/toml_table.hpp"

namespace swardline {

void read_packet(const TomlTable& at, Plan& plan);

/// Whether a text holds a telephone number (seven digits or more in one run, signs that part them apart) or
/// an e-mail address.
[[nodiscard]] bool tells_how_to_reach(std::string_view text);

}  // namespace swardline
