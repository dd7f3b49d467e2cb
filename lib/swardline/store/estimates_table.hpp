// A season's estimates in its store.
#pragma once

#include <filesystem>

#include "swardline/estimate/estimates.hpp"
#include "swardline/store/store.hpp"

namespace swardline {

/// Makes the tables `estimates` (a row a number, with its method and source), `not_counted` and
/// `not_estimated` (ground by reason) anew and adds to `runs`, in one transaction. Throws IoError.
void write_estimates(const std::filesystem::path& store, const Estimates& estimates, const RunRecord& run);

}  // namespace swardline
