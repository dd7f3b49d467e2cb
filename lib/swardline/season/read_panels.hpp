// The plan's [panels]. Private to this stage.
#pragma once

#include "swardline/season/plan.hpp"
#include "swardline/season/toml_table.hpp"

namespace swardline {

void read_panels(const TomlTable& at, Plan& plan);

}  // namespace swardline
