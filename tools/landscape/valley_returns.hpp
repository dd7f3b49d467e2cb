// Count forms of the demo valley, filled in from plants whose every stem is known. All invented.
#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "drawn_plots.hpp"
#include "plants.hpp"

namespace swardline::landscape {

/// One row of a filled form, cells as text, columns as form_columns() names them.
using FormRow = std::vector<std::string>;
[[nodiscard]] const std::vector<std::string>& form_columns();
[[nodiscard]] std::size_t form_column(const std::string& name);

/// What one team sends: `rows` in the order of its sheets.
struct TeamReturn {
  std::string team;
  std::vector<FormRow> rows;
};

/// What grows on a site in a season, every stem counted.
struct KnownDensity {
  std::string site, species;
  double survey_m2 = 0;
  long long stems = 0;
};

struct ValleyReturns {
  std::vector<TeamReturn> teams;
  std::vector<KnownDensity> known;
};

/// Fills in the rows (plot, species) of a blank form in one season, without a fault: who went, when, what
/// became of each plot, and what stood there.
[[nodiscard]] ValleyReturns fill_forms(const DrawnSeason& season, const TrueGround& ground,
                                       const std::vector<std::pair<std::string, std::string>>& form,
                                       int year);

/// Plants the twelve faults that returns come back with, and says each in one line.
[[nodiscard]] std::vector<std::string> plant_faults(const DrawnSeason& season, ValleyReturns& returns,
                                                    int year);

/// Writes `<folder>/<team>.csv`, `sand-fixes.gpx` and `known-densities.csv` for a season drawn in `store`;
/// `form` is the season's blank form. The first season's returns hold the faults. Returns what was planted.
std::vector<std::string> write_valley_returns(const std::filesystem::path& layers,
                                              const std::filesystem::path& store,
                                              const std::filesystem::path& form, int year, bool faults,
                                              const std::filesystem::path& folder);

}  // namespace swardline::landscape
