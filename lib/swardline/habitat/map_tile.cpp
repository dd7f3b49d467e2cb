#include "swardline/habitat/map_tile.hpp"

#include <cpl_conv.h>

#include <cmath>
#include <cstring>
#include <limits>

#include "swardline/base/error.hpp"
#include "swardline/habitat/model.hpp"

namespace swardline {
namespace {

constexpr std::size_t tile_row = map_tile_cells, half_side = half_tile_cells, tile_size = tile_row * tile_row;

std::vector<std::uint8_t> deflated(const std::uint8_t* bytes, std::size_t size) {
  constexpr int quickest = 1;
  // Deflate may store what it cannot shorten, in blocks of at most 64 KiB with a few bytes each.
  thread_local std::vector<std::uint8_t> room;
  room.resize(size + size / 64 + 1024);
  std::size_t length = 0;
  if (CPLZLibDeflate(bytes, size, quickest, room.data(), room.size(), &length) == nullptr)
    throw Defect("A tile could not be compressed.");
  return {room.begin(), room.begin() + std::ptrdiff_t(length)};
}

}  // namespace

// Whole numbers of sixteen bits throughout, so that eight cells or more are worked out at once.
void halve_percents(const std::uint8_t* tile, std::uint8_t* half) {
  for (std::size_t row = 0; row < half_side; ++row) {
    std::uint16_t upper[half_side], lower[half_side];
    std::memcpy(upper, tile + 2 * row * tile_row, tile_row);
    std::memcpy(lower, tile + (2 * row + 1) * tile_row, tile_row);
    std::uint8_t* out = half + row * tile_row;
    for (std::size_t i = 0; i < half_side; ++i) {
      const auto a = std::uint16_t(upper[i] & 0xFF), b = std::uint16_t(upper[i] >> 8);
      const auto c = std::uint16_t(lower[i] & 0xFF), d = std::uint16_t(lower[i] >> 8);
      const auto none =
          std::uint16_t((a == no_percent) + (b == no_percent) + (c == no_percent) + (d == no_percent));
      const auto sum = std::uint16_t(a + b + c + d - none * no_percent);
      // (x · 171) >> 9 is x / 3 for all x that can be (up to 301).
      const auto third = std::uint16_t(std::uint16_t((sum + 1) * 171) >> 9);
      std::uint16_t mean = std::uint16_t((sum + 2) >> 2);
      mean = none == 1 ? third : mean;
      mean = none == 2 ? std::uint16_t((sum + 1) >> 1) : mean;
      mean = none == 3 ? sum : mean;
      mean = none == 4 ? std::uint16_t(no_percent) : mean;
      out[i] = std::uint8_t(mean);
    }
  }
}

void halve_scores(const std::uint8_t* tile, std::uint8_t* half) {
  float upper[tile_row], lower[tile_row], means[half_side];
  for (std::size_t row = 0; row < half_side; ++row) {
    std::memcpy(upper, tile + 2 * row * sizeof upper, sizeof upper);
    std::memcpy(lower, tile + (2 * row + 1) * sizeof lower, sizeof lower);
    for (std::size_t i = 0; i < half_side; ++i) {
      double sum = 0;
      int scored = 0;
      for (const float value : {upper[2 * i], upper[2 * i + 1], lower[2 * i], lower[2 * i + 1]}) {
        if (std::isnan(value)) continue;
        sum += double(value);
        ++scored;
      }
      means[i] = scored > 0 ? float(sum / scored) : std::numeric_limits<float>::quiet_NaN();
    }
    std::memcpy(half + row * sizeof upper, means, sizeof means);
  }
}

void halve_categories(const std::uint8_t* tile, std::uint8_t* half) {
  for (std::size_t row = 0; row < half_side; ++row) {
    for (std::size_t i = 0; i < half_side; ++i) half[row * tile_row + i] = tile[2 * row * tile_row + 2 * i];
  }
}

// Neighbours often have one value, and adding to one count twice in a row waits for the first addition:
// so four sets of counts take turns.
void count_values(std::span<const std::uint8_t> cells, std::array<std::int64_t, 256>& counts) {
  std::array<std::array<std::uint32_t, 256>, 4> of{};
  std::size_t i = 0;
  for (; i + 8 <= cells.size(); i += 8) {
    std::uint64_t eight = 0;
    std::memcpy(&eight, cells.data() + i, sizeof eight);
    for (std::size_t k = 0; k < 8; ++k) ++of[k % 4][(eight >> (8 * k)) & 0xFF];
  }
  for (; i < cells.size(); ++i) ++of[0][cells[i]];
  for (std::size_t value = 0; value < counts.size(); ++value)
    for (const auto& set : of) counts[value] += set[value];
}

std::vector<std::uint8_t> packed_bytes(const std::uint8_t* tile) { return deflated(tile, tile_size); }

// The floating-point predictor (TIFF Technical Note 3, Adobe, 2005): in each row first all highest bytes,
// then the next ones, and so on; each byte then as its difference from the one before it.
std::vector<std::uint8_t> packed_scores(const std::uint8_t* tile) {
  thread_local std::vector<std::uint8_t> rows;
  rows.resize(tile_size * sizeof(std::uint32_t));
  constexpr std::size_t row_bytes = tile_row * sizeof(std::uint32_t);
  std::uint32_t bits[tile_row];
  for (std::size_t row = 0; row < tile_row; ++row) {
    std::uint8_t* out = rows.data() + row * row_bytes;
    std::memcpy(bits, tile + row * row_bytes, row_bytes);
    for (std::size_t i = 0; i < tile_row; ++i)
      for (std::size_t b = 0; b < sizeof bits[0]; ++b)
        out[b * tile_row + i] = std::uint8_t(bits[i] >> (24 - 8 * b));
    for (std::size_t i = row_bytes - 1; i > 0; --i) out[i] = std::uint8_t(out[i] - out[i - 1]);
  }
  return deflated(rows.data(), rows.size());
}

}  // namespace swardline
