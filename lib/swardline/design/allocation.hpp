// How many plots each stratum gets: whole numbers that add up.
#pragma once

#include <string>
#include <vector>

#include "swardline/base/place.hpp"
#include "swardline/season/plan.hpp"

namespace swardline {

struct Share {
  std::string stratum;      ///< breaks ties
  double area = 0;          ///< any unit, the same for all
  double spread = 1;        ///< standard deviation of plot counts, for optimal
  bool least_only = false;  ///< gets the minimum and no more (the stratum without a score)
};

/// `total` plots over the shares: every stratum its minimum first, the rest by equal parts,
/// area (proportional) or area × spread (optimal: Neyman 1934; Cochran 1977 §5.5), largest
/// remainder, ties by stratum. A stratum whose fair share is below the minimum keeps the minimum and
/// the others share what is left. The result does not depend on the order of the shares. The
/// numbers add up to `total` unless every share is `least_only`. Throws InputError at `place` when
/// total < strata × minimum, with both numbers, and when an optimal allocation has spread nowhere.
[[nodiscard]] std::vector<int> allocate(const std::vector<Share>& shares, int total, int least,
                                        Allocation how, const Place& place = {});

}  // namespace swardline
