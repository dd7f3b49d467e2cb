// By itself, so that the checks can be linked without the reading of files.
#include "swardline/returns/return_flags.hpp"

namespace swardline {

std::vector<ReturnFlag> check_returns(const Season& season, const Expected& expected,
                                      const Returns& returns) {
  return check_returns(season, expected, returns,
                       [&](const RowAt& at, ReturnColumn column) { return returns.text(at, column); });
}

}  // namespace swardline
