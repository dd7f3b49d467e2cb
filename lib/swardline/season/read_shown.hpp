// What sheets and other plants share: days of flowering and states of characters. Private to this stage.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "swardline/season/sheet.hpp"
#include "swardline/season/toml_table.hpp"

namespace swardline {

/// `window = ["05-20", "06-25"]`
[[nodiscard]] std::optional<std::pair<DayOfYear, DayOfYear>> read_window(const TomlTable& at);

/// A table of traits: each a text, or a list of texts of which the plant may show any.
[[nodiscard]] std::map<std::string, std::vector<std::string>> read_shown_states(const TomlTable& at);

}  // namespace swardline
