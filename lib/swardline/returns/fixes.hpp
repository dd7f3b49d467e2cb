// Fixes that came back, and what they are off by. Private to this folder.
#pragma once

#include <cstdint>
#include <vector>

#include "swardline/returns/flag_parts.hpp"

namespace swardline::return_parts {

/// A fix of a visit; rows of the visit that carry none go with its first.
struct Fix {
  std::uint32_t visit = 0, row = 0;  ///< the first row that has it
  bool first_of_visit = true;
  Offset offset;       ///< from the plot
  double metres = 0;   ///< of the offset
  double allowed = 0;  ///< farther than this is doubtful
};
[[nodiscard]] std::vector<std::uint32_t> rows_of(const Material& material, const Fix& fix);

/// 5: takes groups of fixes that are all displaced alike out of `far`, and says so.
void check_shifts(const Material& material, std::vector<Fix>& far, Findings& findings);

}  // namespace swardline::return_parts
