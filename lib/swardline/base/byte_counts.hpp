// Counting bytes of one value, many at a time.
#pragma once

#include <cstddef>
#include <cstdint>

namespace swardline {

/// How many of `count` bytes are `value`.
[[nodiscard]] std::size_t count_bytes(const std::uint8_t* bytes, std::size_t count, std::uint8_t value);

}  // namespace swardline
