// Flags of returns as a list: summed by check, and as a file.
#pragma once

#include <cstddef>
#include <filesystem>
#include <string>
#include <vector>

#include "swardline/returns/return_flags.hpp"

namespace swardline {

[[nodiscard]] const char* name_of(const ReturnFlag& flag);   ///< of its check
[[nodiscard]] const char* state_of(const ReturnFlag& flag);  ///< "open", "confirmed"; of a NOTE "listed"
/// "14; 17–25", of rows in order.
[[nodiscard]] std::string row_ranges(const std::vector<RowAt>& rows);

/// All flags of one check and one severity: most checks have one, some say lesser things as a NOTE.
struct CheckSum {
  const ReturnCheck* check = nullptr;
  Severity severity = Severity::note;
  std::size_t open = 0, confirmed = 0, listed = 0;  ///< flags; of a NOTE all are listed
  std::vector<std::size_t> examples;                ///< the first few that are open or listed, into the flags
  [[nodiscard]] std::size_t all() const { return open + confirmed + listed; }
};
/// By severity, then by check; checks that found nothing are left out.
[[nodiscard]] std::vector<CheckSum> sum_by_check(const std::vector<ReturnFlag>& flags,
                                                 std::size_t examples = 3);

/// Open STOP and ASK flags: what needs a person.
[[nodiscard]] std::size_t open_flags(const std::vector<ReturnFlag>& flags);

/// All of them as CSV (number, check, severity, file, row, rows, plot, column, value, reason, next_step,
/// state), whole or not at all. Throws IoError.
void write_flag_list(const std::filesystem::path& file, const Expected& expected, const Returns& returns,
                     const std::vector<ReturnFlag>& flags);

}  // namespace swardline
