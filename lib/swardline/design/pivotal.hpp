// One step of the pivotal method. Private to the draw.
#pragma once

#include <cstdint>

#include "swardline/base/random.hpp"

namespace swardline {

/// Two chances a/whole and b/whole fight: afterwards at least one is 0 or whole, and each keeps
/// its value in expectation, exactly (Deville & Tillé 1998, Biometrika 85:89-101).
/// Needs 0 < a, b < whole and whole < 2^62.
void pivotal_step(std::uint64_t& a, std::uint64_t& b, std::uint64_t whole, RandomStream& random);

}  // namespace swardline
