// How a plan shares out its plots: spreads, costs, weights. Private to this stage.
#pragma once

#include "swardline/season/plan.hpp"
#include "swardline/season/toml_table.hpp"

namespace swardline {

/// [sample.spread], [sample.cost] and weight of [sample]. Layers and strata must have been read before.
void read_allocation(const TomlTable& sample, Plan& plan);

}  // namespace swardline
