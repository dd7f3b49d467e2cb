// Reading [sites.linear]. Private to this stage.
#pragma once

#include "swardline/season/plan.hpp"
#include "swardline/season/toml_table.hpp"

namespace swardline {

/// Everything of the table but its sources and gaps.
void read_linear(const TomlTable& at, Plan& plan);

/// STOP where nothing says how many segments a linear site gets. To be called when [sample] has been read.
void check_segments(const Plan& plan, Flags& flags);

}  // namespace swardline
