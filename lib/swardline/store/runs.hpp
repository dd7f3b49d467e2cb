// The table of runs. Private to this folder.
#pragma once

#include "swardline/store/geopackage.hpp"
#include "swardline/store/store.hpp"

namespace swardline {

void add_run(OpenStore& store, const RunRecord& run);

}  // namespace swardline
