// Small parts of next season's planning. Private to this folder.
#pragma once

#include <string>
#include <vector>

#include "swardline/season/season.hpp"

namespace swardline::next_parts {

/// "QPR|score=50-75" of "QPR|score=50-75|v1".
[[nodiscard]] std::string without_version(const std::string& stratum);
/// What strata of several sites have in common: "0.50-0.75" of "QPR|score=50-75|v1", as [sample.spread] names
/// bands; "cover=WM" of "QPR|cover=WM|v1".
[[nodiscard]] std::string band_of(const std::string& stratum);
/// The species that the plan plans for.
[[nodiscard]] std::vector<std::string> planned_species(const Season& season);

}  // namespace swardline::next_parts
