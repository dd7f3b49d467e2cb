// The 27 checks of what came back. A check never changes a value: it says what is doubtful, why, and what
// to do next.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/returns/returns.hpp"

namespace swardline {

/// One finding. A correction that confirms the cell `column` of any of its rows settles it, unless it is a
/// STOP. `rows` are those it keeps out of use while it is open (STOP, ASK), or speaks of (NOTE).
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

/// All checks over all rows. Linear in rows. Flags come by file, row and check; those that speak of no row
/// come last. A row that a correction left out raises nothing. One cause raises one flag: where several
/// checks could speak of a row, the one nearest to the cause does.
[[nodiscard]] std::vector<ReturnFlag> check_returns(const Season& season, const Expected& expected,
                                                    const Returns& returns);

/// What stands in a cell, as corrected (Returns::text); asked only where a message or a reading needs it.
using CellText = std::function<std::string(const RowAt& at, ReturnColumn column)>;
/// The same with another way to the cells.
[[nodiscard]] std::vector<ReturnFlag> check_returns(const Season& season, const Expected& expected,
                                                    const Returns& returns, const CellText& cell);

/// Whether a row can be used, by row of Returns::rows: what open flags leave of them. A row that a
/// correction left out is kept out. Check 9 about a species without a row (`column` is then species) keeps
/// out none of the plot's other rows.
enum class Use : std::uint8_t { used, kept_out, cannot_be_used };
[[nodiscard]] std::vector<Use> use_of_rows(const Returns& returns, const std::vector<ReturnFlag>& flags);
[[nodiscard]] const char* word(Use use);  ///< "used", "kept out", "cannot be used"

}  // namespace swardline
