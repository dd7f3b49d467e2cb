// A season's record from its store.
#pragma once

#include <filesystem>

#include "swardline/returns/season_record.hpp"

namespace swardline {

/// Nothing where there is no store. Visits of plots that the season does not have are left out; sheets of one
/// plot, day and observer are one visit, as long as the longest of them. Throws IoError where it cannot be
/// read.
[[nodiscard]] SeasonOnRecord read_season_record(const std::filesystem::path& store);

}  // namespace swardline
