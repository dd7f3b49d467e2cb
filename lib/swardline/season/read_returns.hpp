// Reading [returns], [teams] and [estimate]. Private to this stage.
#pragma once

#include "swardline/season/plan.hpp"
#include "swardline/season/toml_table.hpp"

namespace swardline {

void read_returns(const TomlTable& at, Plan& plan);
void read_teams(const TomlTable& at, Plan& plan);
void read_estimate(const TomlTable& at, Plan& plan);

}  // namespace swardline
