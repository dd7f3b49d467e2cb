#include "swardline/grid/pack_bits.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cstring>

#if defined(__SSE2__)
#include <emmintrin.h>
#endif

#include "swardline/base/wide.hpp"

namespace swardline {
namespace {

constexpr std::size_t most_at_once = 128;  // bytes that one header can speak of

/// Bit i: whether byte i differs from the one after it; of 64 bytes and one more.
inline std::uint64_t changes_of(const std::uint8_t* bytes) {
  std::uint64_t changes = 0;
#if defined(__SSE2__)
  for (int part = 0; part < 4; ++part) {
    const auto* const at = reinterpret_cast<const __m128i*>(bytes + 16 * part);
    const auto* const next = reinterpret_cast<const __m128i*>(bytes + 16 * part + 1);
    const int same = _mm_movemask_epi8(_mm_cmpeq_epi8(_mm_loadu_si128(at), _mm_loadu_si128(next)));
    changes |= std::uint64_t(~same & 0xFFFF) << (16 * part);
  }
#else
  for (int i = 0; i < 64; ++i) changes |= std::uint64_t(bytes[i] != bytes[i + 1]) << i;
#endif
  return changes;
}

/// Places of a row after which the byte is another, its end, and every `most_at_once` bytes; rising. Written
/// without a branch for each, which no processor could foresee.
constexpr std::size_t at_once = 64, most_row = 256, few = 8;
SWARDLINE_WIDE std::size_t ends_of(const std::uint8_t* row, std::size_t count, std::uint16_t* ends) {
  std::size_t found = 0;
  for (std::size_t at = 0; at < count; at += at_once) {
    std::uint64_t bits = changes_of(row + at);
    if ((at + at_once) % most_at_once == 0 || at + at_once == count) bits |= std::uint64_t{1} << 63;
    const auto here = std::size_t(std::popcount(bits));
    for (std::size_t done = 0; done < here; done += few) {
      for (std::size_t k = 0; k < few; ++k) {
        ends[found + done + k] = std::uint16_t(at + std::size_t(std::countr_zero(bits)));
        bits &= bits - 1;
      }
    }
    found += here;
  }
  return found;
}

/// Every run of bytes alike as a pair: 1 - count, which for one byte is the header of one byte as it is.
std::uint8_t* put_pairs(const std::uint8_t* row, std::span<const std::uint16_t> ends, std::uint8_t* out) {
  std::size_t begin = 0;
  for (const std::uint16_t end : ends) {
    *out++ = std::uint8_t(begin - end);
    *out++ = row[end];
    begin = std::size_t{end} + 1;
  }
  return out;
}

std::uint8_t* put_as_they_are(const std::uint8_t* bytes, std::size_t count, std::uint8_t* out) {
  while (count > 0) {
    const std::size_t here = std::min(count, most_at_once);
    *out++ = std::uint8_t(here - 1);
    std::memcpy(out, bytes, here);
    out += here;
    bytes += here;
    count -= here;
  }
  return out;
}

/// One byte after the other; runs of less than three cost nothing among bytes as they are.
std::uint8_t* pack_mixed(const std::uint8_t* row, std::size_t count, std::uint8_t* out) {
  constexpr std::size_t least_run = 3;
  std::size_t put = 0;
  for (std::size_t at = 0, end = 0; at < count; at = end) {
    for (end = at + 1; end < count && end - at < most_at_once && row[end] == row[at];) ++end;
    if (end - at < least_run) continue;
    out = put_as_they_are(row + put, at - put, out);
    *out++ = std::uint8_t(1 - (end - at));
    *out++ = row[at];
    put = end;
  }
  return put_as_they_are(row + put, count - put, out);
}

}  // namespace

void pack_bits(std::span<const std::uint8_t> rows, std::size_t row_bytes, std::vector<std::uint8_t>& packed) {
  if (row_bytes == 0) return packed.clear();
  const std::size_t count = rows.size() / row_bytes;
  packed.resize(rows.size() + count * (row_bytes / most_at_once + 1));
  std::uint8_t* out = packed.data();
  std::array<std::uint16_t, most_row + few> ends;
  const bool fits = row_bytes % at_once == 0 && row_bytes <= most_row;
  std::array<std::uint8_t, most_row + 1> last{};  // the last row with a byte behind it
  for (std::size_t r = 0; r < count; ++r) {
    const std::uint8_t* row = rows.data() + r * row_bytes;
    if (fits && r + 1 == count) row = std::copy_n(row, row_bytes, last.begin()) - row_bytes;
    const std::size_t runs = fits ? ends_of(row, row_bytes, ends.data()) : row_bytes;
    // Where runs are many, bytes as they are take less room.
    out = runs <= row_bytes / 4 ? put_pairs(row, {ends.data(), runs}, out) : pack_mixed(row, row_bytes, out);
  }
  packed.resize(std::size_t(out - packed.data()));
}

bool unpack_bits(std::span<const std::uint8_t> packed, std::span<std::uint8_t> out) {
  const std::uint8_t *from = packed.data(), *const end = from + packed.size();
  std::uint8_t *to = out.data(), *const full = to + out.size();
  while (to < full && from < end) {
    const std::uint8_t header = *from++;
    const auto room = std::size_t(full - to), left = std::size_t(end - from);
    if (header == 0 || header > most_at_once) {
      const std::size_t count = header == 0 ? 1 : 257 - std::size_t{header};
      if (count > room || left == 0) return false;
      // All that a header can speak of, where there is room: its length is not to be foreseen.
      if (room >= most_at_once)
        std::memset(to, *from, most_at_once);
      else
        std::memset(to, *from, count);
      ++from;
      to += count;
    } else if (header < most_at_once) {
      const std::size_t count = std::size_t{header} + 1;
      if (count > room || count > left) return false;
      std::memcpy(to, from, count);
      from += count;
      to += count;
    }
  }
  return to == full;
}

}  // namespace swardline
