// Reading [visits] and [[caution]]. Private to this stage.
#pragma once

#include "swardline/season/plan.hpp"
#include "swardline/season/toml_table.hpp"

namespace swardline {

void read_visits(const TomlTable& at, Plan& plan);
void read_caution(const TomlTable& at, Plan& plan);

}  // namespace swardline
