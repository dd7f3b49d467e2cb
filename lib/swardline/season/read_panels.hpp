// The plan's [panels]. Private to this stage.
#pragma once

#include "swardline/season/plan.hpp"
#include "swardline/season/toml_table.hpp"

namespace swardline {

void read_panels(const TomlTable& at, Plan& plan);

/// STOP where panels or kept plots stand beside what they cannot go with: transects, linear sites, pins
/// outside the survey area.
void check_revisits(const Plan& plan, Flags& flags);

}  // namespace swardline
