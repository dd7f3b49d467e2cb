// Outlines of equal cells, so that a map's ground is a few paths. Private to this folder.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "swardline/design/site_cells.hpp"

namespace swardline {

/// Path data by code (map_nothing left out), to be filled by the even-odd rule. A column's edge `c` lies at
/// xs[c], a row's at ys[r]; there is one more of each than columns and rows. Cells of one code that meet at
/// an edge have one outline; numbers have at most one decimal.
[[nodiscard]] std::map<std::uint8_t, std::string> cell_outlines(const SiteCells& cells,
                                                                const std::vector<double>& xs,
                                                                const std::vector<double>& ys);

/// A number with one decimal at most, as short as it goes: "12", "3.5", "-0.4".
void add_short_number(std::string& out, double value);

}  // namespace swardline
