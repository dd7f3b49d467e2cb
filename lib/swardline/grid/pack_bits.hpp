// PackBits (TIFF Revision 6.0, Adobe, 1992, section 9): runs of one byte, and bytes as they are. Private to
// the stages that read or write tiles themselves.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace swardline {

/// Rows of `row_bytes` each, every row packed by itself, as TIFF asks.
void pack_bits(std::span<const std::uint8_t> rows, std::size_t row_bytes, std::vector<std::uint8_t>& packed);

/// False where `packed` does not hold exactly as many bytes as `out` has room for, or more.
[[nodiscard]] bool unpack_bits(std::span<const std::uint8_t> packed, std::span<std::uint8_t> out);

}  // namespace swardline
