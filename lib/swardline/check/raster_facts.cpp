#include "swardline/check/raster_facts.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace swardline::check_parts {
namespace {

// Counts of the 256 raw bytes, then each once: the cost per cell is one increment.
std::array<std::int64_t, 256> byte_counts(const LayerTile& tile, const Window& window, const Window& inside) {
  std::array<std::int64_t, 256> counts{};
  for (int r = 0; r < inside.rows; ++r) {
    const std::size_t begin = std::size_t(inside.row - window.row + r) * std::size_t(window.cols) +
                              std::size_t(inside.col - window.col);
    for (std::size_t i = begin; i < begin + std::size_t(inside.cols); ++i) ++counts[tile.bytes[i]];
  }
  return counts;
}

}  // namespace

void LayerFacts::add(const LayerInfo& info, const LayerTile& tile, const Window& window) {
  const Window inside = intersect(window, info.extent);
  if (inside.empty()) return;
  LayerFacts here;
  const auto take = [&](double raw, std::int64_t cells) {
    if (info.kind == LayerKind::classes) {
      here.class_cells[(long long)std::llround(raw)] += cells;
      here.values += cells;
      return;
    }
    const double value = info.value(raw);
    here.low = here.values == 0 ? value : std::min(here.low, value);
    here.high = here.values == 0 ? value : std::max(here.high, value);
    if (value == 0)
      here.zeros += cells;
    else if (here.values == here.zeros || value < here.low_above_zero)
      here.low_above_zero = value;
    here.values += cells;
  };
  if (info.bytes) {
    const std::array<std::int64_t, 256> counts = byte_counts(tile, window, inside);
    for (int raw = 0; raw < 256; ++raw) {
      if (counts[std::size_t(raw)] == 0) continue;
      if (info.byte_none[std::size_t(raw)])
        here.none += counts[std::size_t(raw)];
      else
        take(raw, counts[std::size_t(raw)]);
    }
  } else {
    for (int r = 0; r < inside.rows; ++r) {
      const std::size_t begin = std::size_t(inside.row - window.row + r) * std::size_t(window.cols) +
                                std::size_t(inside.col - window.col);
      for (std::size_t i = begin; i < begin + std::size_t(inside.cols); ++i) {
        if (std::isnan(tile.values[i]))
          ++here.none;
        else
          take(double(tile.values[i]), 1);
      }
    }
  }
  add(here);
}

void LayerFacts::add(const LayerFacts& other) {
  for (const auto& [value, cells] : other.class_cells) class_cells[value] += cells;
  none += other.none;
  if (other.values == 0) return;
  low = values == 0 ? other.low : std::min(low, other.low);
  high = values == 0 ? other.high : std::max(high, other.high);
  if (other.values > other.zeros)
    low_above_zero = values == zeros ? other.low_above_zero : std::min(low_above_zero, other.low_above_zero);
  values += other.values;
  zeros += other.zeros;
}

}  // namespace swardline::check_parts
