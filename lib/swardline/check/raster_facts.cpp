#include "swardline/check/raster_facts.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace swardline::check_parts {
namespace {

// Numbers that files use for "no data" where they do not declare it; common practice.
bool usual_mark(double raw) {
  if (raw > -99 && raw < 9999 && raw != 255) return false;
  constexpr double marks[] = {-99, -999, -9999, -99999, -32768, 255, 9999, 32767, 65535};
  return raw < -1e30 || raw > 1e30 || std::find(std::begin(marks), std::end(marks), raw) != std::end(marks);
}

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

void LayerFacts::take_class(long long value, std::int64_t cells) {
  values += cells;
  const auto found = class_cells.find(value);
  if (found != class_cells.end())
    found->second += cells;
  else if (class_cells.size() < most_classes)
    class_cells.emplace(value, cells);
  else
    other_class_cells += cells;
}

void LayerFacts::take_above_zero(double value) {
  if (!(value > 0) || value == above_zero[0] || value >= above_zero[1]) return;
  if (value < above_zero[0]) {
    above_zero[1] = above_zero[0];
    above_zero[0] = value;
  } else {
    above_zero[1] = value;
  }
}

void LayerFacts::take_value(const LayerInfo& info, double raw, std::int64_t cells) {
  const double value = info.value(raw);
  values += cells;
  zeros += value == 0 ? cells : 0;
  take_above_zero(value);
  range.add(value);
  if (usual_mark(raw))
    marks[raw] += cells;
  else
    range_without_marks.add(value);
}

void LayerFacts::add(const LayerInfo& info, const LayerTile& tile, const Window& window) {
  const Window inside = intersect(window, info.extent);
  if (inside.empty()) return;
  const bool classes = info.kind == LayerKind::classes;
  if (info.bytes) {
    const std::array<std::int64_t, 256> counts = byte_counts(tile, window, inside);
    for (std::size_t raw = 0; raw < counts.size(); ++raw) {
      if (counts[raw] == 0) continue;
      if (info.byte_none[raw])
        none += counts[raw];
      else if (classes)
        take_class((long long)raw, counts[raw]);
      else
        take_value(info, double(raw), counts[raw]);
    }
    return;
  }
  for (int r = 0; r < inside.rows; ++r) {
    const std::size_t begin = std::size_t(inside.row - window.row + r) * std::size_t(window.cols) +
                              std::size_t(inside.col - window.col);
    for (std::size_t i = begin; i < begin + std::size_t(inside.cols); ++i) {
      const double raw = double(tile.values[i]);
      if (std::isnan(raw))
        ++none;
      else if (classes)
        take_class(std::llround(raw), 1);
      else
        take_value(info, raw, 1);
    }
  }
}

void LayerFacts::add(const LayerFacts& other) {
  readable = readable && other.readable;
  for (const auto& [value, cells] : other.class_cells) {
    take_class(value, cells);
    values -= cells;  // counted below
  }
  other_class_cells += other.other_class_cells;
  for (const auto& [raw, cells] : other.marks) marks[raw] += cells;
  for (const double value : other.above_zero) take_above_zero(value);
  range.add(other.range);
  range_without_marks.add(other.range_without_marks);
  values += other.values;
  none += other.none;
  zeros += other.zeros;
}

}  // namespace swardline::check_parts
