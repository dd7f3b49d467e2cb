// Reading [transect] and [declination]. Private to this stage; include it in sources only.
#pragma once

#include "swardline/season/plan.hpp"
#include "swardline/season/toml_table.hpp"

namespace swardline {

/// All but reference_lines, which is resolved against the season folder.
void read_transect(const TomlTable& at, Plan& plan);
/// Holds [sample], [strata] and [transect] against each other; `whole` is the plan's top table.
void check_transects(const TomlTable& whole, Plan& plan);
/// All but model, which is resolved against the season folder.
void read_declination(const TomlTable& at, Plan& plan);

}  // namespace swardline
