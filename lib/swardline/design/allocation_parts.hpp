// What the ways of sharing out plots have in common. Private to the allocation.
#pragma once

#include <cstddef>
#include <vector>

#include "swardline/design/allocation.hpp"

namespace swardline::allocation_parts {

/// Indices of the shares in the order of their strata.
[[nodiscard]] std::vector<std::size_t> by_name(const std::vector<Share>& shares);

/// Throws InputError with both numbers where the minimum of every stratum needs more than there is.
void check_minimum(const std::vector<Share>& shares, Available available, int least, const Place& place);

/// Throws InputError: spread 0 everywhere.
[[noreturn]] void no_spread(const Place& place);

}  // namespace swardline::allocation_parts
