// What a pilot, or last season's counts, tells of each species' spread between plots.
#pragma once

#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "swardline/base/flag.hpp"

namespace swardline {

/// Counts of one species over the plots of a pilot.
struct PilotCounts {
  int plots = 0;
  int empty_plots = 0;
  double mean = 0;
  double sd = 0;  ///< between plots, of the latest season
  /// Of plots counted in the two latest seasons:
  int pairs = 0;
  double sd_of_differences = 0;
  std::optional<double> correlation;  ///< none where one of the seasons does not vary
};

/// By species code.
using Pilot = std::map<std::string, PilotCounts>;

/// Fewer plots than this say nothing of a spread.
inline constexpr int least_pilot_plots = 5;

/// Why the counts say nothing of a spread ("5 plots all zero tell nothing about spread"); empty where
/// they do: fewer than five plots, or all alike.
[[nodiscard]] std::string why_silent(const PilotCounts& counts);

/// Reads a table with a row for each count: columns `species`, `plot`, `count`, and `season` where
/// there are two or more (text that sorts in time; of the same text, all rows are one season). Other
/// columns are left alone; any format GDAL reads as a table. Flags as STOP, each with its row: no such
/// file or column, no row, a species that is not among `codes`, a count that is not a whole number
/// from 0, a plot given twice for a species and season.
[[nodiscard]] Pilot read_pilot(const std::filesystem::path& file, const std::vector<std::string>& codes,
                               Flags& flags);

}  // namespace swardline
