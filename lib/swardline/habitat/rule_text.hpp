// A sheet's rule as text, for fingerprints. Private to the stage.
#pragma once

#include <string>

#include "swardline/season/sheet.hpp"

namespace swardline {

/// Equal for two sheets that score alike; different where any number of the rule differs.
[[nodiscard]] std::string rule_text(const Sheet& sheet);

}  // namespace swardline
