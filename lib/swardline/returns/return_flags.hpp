// The 27 checks of what came back. A check never changes a value: it says what is doubtful, why, and what
// to do next.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/returns/returns.hpp"

namespace swardline {

/// One finding. `rows` are those it keeps out of use while it is open (STOP, ASK), or speaks of (NOTE).
struct ReturnFlag {
  int check = 0;  ///< 1 to 27, the order of `return_checks`
  Severity severity = Severity::note;
  std::vector<RowAt> rows;
  std::int32_t plot = -1;                    ///< index into Expected::plots
  ReturnColumn column = ReturnColumn::plot;  ///< the cell to look at, or to confirm
  std::string value;                         ///< as it came
  std::string reason;                        ///< what is doubtful and why, with numbers
  std::string next_step;                     ///< what to do
  bool settled = false;                      ///< a correction that confirms the value answers it
};

struct ReturnCheck {
  int number;
  const char* name;  ///< in words, stable: "unknown plot"
  Severity severity;
};
[[nodiscard]] const std::vector<ReturnCheck>& return_checks();

/// All checks over all rows. Linear in rows. Flags come by file, row and check.
[[nodiscard]] std::vector<ReturnFlag> check_returns(const Season& season, const Expected& expected,
                                                    const Returns& returns);

/// Whether a row can be used, by row of Returns::rows: what open flags leave of them.
enum class Use : std::uint8_t { used, kept_out, cannot_be_used };
[[nodiscard]] std::vector<Use> use_of_rows(const Returns& returns, const std::vector<ReturnFlag>& flags);
[[nodiscard]] const char* word(Use use);  ///< "used", "kept out", "cannot be used"

}  // namespace swardline
