// Visits to units, and what became of each unit. Private to this folder.
#pragma once

#include <limits>
#include <string>
#include <vector>

#include "swardline/store/evaluated_parts.hpp"

namespace swardline {

struct VisitOfUnit {
  std::int32_t unit = -1;
  Day day = no_day;
  std::int32_t observer = 0;  ///< into EvaluatedVisits::observers
  std::int32_t event =
      -1;  ///< the first visit of the same unit, day and observer: one visit on several sheets
  Fate fate = Fate::none;
  int kept_out = 0, cannot_be_used = 0;  ///< rows
  bool box_written = false;              ///< in any row, whether it can be used or not
  double fix_east = std::numeric_limits<double>::quiet_NaN(), fix_north = fix_east, fix_accuracy_m = fix_east;
};

struct EvaluatedVisits {
  std::vector<VisitOfUnit> all;  ///< by unit, day and as received; no_day last
  std::vector<std::string> observers;
  std::vector<std::int32_t> counted;       ///< by unit: the first visit its counts come from; -1: none
  std::vector<std::int32_t> number_of_id;  ///< by the number in the store
  /// Of a row in `counts`; -1 where its visit is to no unit.
  [[nodiscard]] std::int32_t of_row(std::int64_t visit) const {
    return visit >= 0 && visit < std::int64_t(number_of_id.size()) ? number_of_id[std::size_t(visit)] : -1;
  }
};

[[nodiscard]] EvaluatedVisits read_visits(OpenStore& store, const EvaluatedDraft& draft);

/// Fates, reasons, spares in use, observers, days and fixes, and the season's year.
void settle_fates(EvaluatedDraft& draft, const EvaluatedVisits& visits);

}  // namespace swardline
