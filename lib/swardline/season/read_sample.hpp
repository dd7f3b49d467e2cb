// The plan's tables about strata, plots and point files. Private to this stage.
#pragma once

#include "swardline/season/plan.hpp"
#include "swardline/season/toml_table.hpp"

namespace swardline {

/// Layers must have been read before: strata may be made of a class layer.
void read_strata(const TomlTable& at, Plan& plan);
/// Strata must have been read before: [sample.spread] names their bands.
void read_sample(const TomlTable& at, Plan& plan);
void read_points(const TomlTable& at, Plan& plan);

}  // namespace swardline
