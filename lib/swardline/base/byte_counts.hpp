// Counting bytes of one value, many at a time.
#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>

namespace swardline {

/// How many of `count` bytes are `value`. Written so that compilers add sixteen or more at once, which they
/// do not do for std::count.
[[nodiscard]] inline std::size_t count_bytes(const std::uint8_t* bytes, std::size_t count,
                                             std::uint8_t value) {
  constexpr std::size_t most = 240;  // whose sum fits a byte, in whole sixteens
  std::size_t found = 0;
  while (count > 0) {
    const std::size_t part = std::min(count, most);
    std::uint8_t sum = 0;
    for (std::size_t i = 0; i < part; ++i) sum = std::uint8_t(sum + (bytes[i] == value ? 1 : 0));
    found += sum;
    bytes += part;
    count -= part;
  }
  return found;
}

}  // namespace swardline
