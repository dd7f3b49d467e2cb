#include "swardline/base/byte_counts.hpp"

#include <algorithm>

#include "swardline/base/wide.hpp"

namespace swardline {

// Written so that compilers add sixteen or more at once, which they do not do for std::count.
SWARDLINE_WIDE std::size_t count_bytes(const std::uint8_t* bytes, std::size_t count, std::uint8_t value) {
  constexpr std::size_t most = 224;  // whose sum fits a byte, in whole thirty-twos
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
