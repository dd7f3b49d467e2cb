// Which rows of what was received belong to one visit. Private to this folder.
#pragma once

#include <vector>

#include "swardline/returns/returns.hpp"

namespace swardline {

/// What one sheet of one file says of one plot on one day by one observer. Rows fill in what earlier rows of
/// the visit left blank: many write time, fix and status once.
struct ReturnedVisit {
  RowAt at;  ///< its first row
  std::int32_t plot = -1, observer = -1, second_observer = -1, sheet = -1;
  Day date = no_day;
  int start = -1, finish = -1;
  double lat = std::numeric_limits<double>::quiet_NaN(), lon = lat, fix_accuracy_m = lat;
  Fate fate = Fate::none;
};

struct VisitsFound {
  std::vector<ReturnedVisit> visits;       ///< in the order of their first rows
  std::vector<std::int32_t> visit_of_row;  ///< beside Returns::rows; -1: of no visit
};
/// Rows that a correction left out and rows that nobody filled in are of no visit.
/// Rows whose plot is none of the expected ones belong together where the same is written.
[[nodiscard]] VisitsFound find_visits(const Returns& returns);

/// A row of a blank form as it was printed: what the form itself writes, and nothing of a visit.
[[nodiscard]] bool is_untouched(const ReturnRow& row);

/// A row that names a species or holds a count; others say what became of a visit.
[[nodiscard]] bool speaks_of_species(const ReturnRow& row);

}  // namespace swardline
