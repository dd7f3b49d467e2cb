#include "swardline/habitat/kind_tally.hpp"

#include <algorithm>
#include <array>

namespace swardline {
namespace {

/// Up to so many numbers every area has a place for each, unless areas are very many.
constexpr std::size_t pairs = std::size_t{256} * 256;
constexpr std::size_t most_few = 4096, most_places = std::size_t{1} << 22;
/// Rows of counts, so that neighbours of one number do not wait for each other. They do not lie a multiple of
/// 4096 bytes apart, where processors take one row's count for another's.
constexpr std::size_t rows = 4, between_rows = 272;

}  // namespace

KindTally::KindTally(const JointGroup& group, std::size_t areas)
    : group_(group), few_(group.entries <= most_few && group.entries * areas <= most_places) {
  row_ = group.entries + between_rows;
  counts_.assign(few_ ? row_ * rows : group.entries, 0);
  if (few_ && group.axes.size() == 2) {
    of_pair_.resize(pairs);
    for (std::size_t pair = 0; pair < pairs; ++pair)
      of_pair_[pair] = std::uint16_t(group.axes[0].offset[pair >> 8] + group.axes[1].offset[pair & 0xFF]);
  }
  if (few_)
    dense_.assign(group.entries * areas, 0);
  else
    sparse_.resize(areas);
}

std::uint32_t KindTally::number_of(const Tile& tile, std::size_t cell) const {
  std::uint32_t number = 0;
  for (const JointGroup::Axis& axis : group_.axes) number += axis.offset[tile.layers[axis.slot].bytes[cell]];
  return number;
}

void KindTally::count_pairs(const Tile& tile, std::size_t first, std::size_t cells) {
  const std::uint8_t* a = tile.layers[group_.axes[0].slot].bytes.data() + first;
  const std::uint8_t* b = tile.layers[group_.axes[1].slot].bytes.data() + first;
  const std::uint16_t* number = of_pair_.data();
  std::uint32_t* const row0 = counts_.data();
  std::uint32_t *const row1 = row0 + row_, *const row2 = row1 + row_, *const row3 = row2 + row_;
  // Bytes become pairs some hundreds of cells at a time, which compilers do many at once.
  constexpr std::size_t span = 512;
  std::array<std::uint16_t, span> pair;
  for (std::size_t begin = 0; begin < cells; begin += span) {
    const std::size_t count = std::min(span, cells - begin);
    for (std::size_t i = 0; i < count; ++i) pair[i] = std::uint16_t(a[begin + i] << 8 | b[begin + i]);
    std::size_t i = 0;
    for (; i + rows <= count; i += rows) {
      ++row0[number[pair[i]]];
      ++row1[number[pair[i + 1]]];
      ++row2[number[pair[i + 2]]];
      ++row3[number[pair[i + 3]]];
    }
    for (; i < count; ++i) ++row0[number[pair[i]]];
  }
}

void KindTally::count_many(const Tile& tile, std::size_t first, std::size_t cells) {
  numbers_.assign(cells, 0);
  for (const JointGroup::Axis& axis : group_.axes) {
    const std::uint8_t* bytes = tile.layers[axis.slot].bytes.data() + first;
    for (std::size_t i = 0; i < cells; ++i) numbers_[i] += axis.offset[bytes[i]];
  }
  if (few_) {
    for (std::size_t i = 0; i < cells; ++i) ++counts_[(i % rows) * row_ + numbers_[i]];
    return;
  }
  for (const std::uint32_t number : numbers_) {
    if (counts_[number]++ == 0) met_.push_back(number);
  }
}

void KindTally::count(const Tile& tile, std::size_t first, std::size_t cells) {
  if (!of_pair_.empty())
    count_pairs(tile, first, cells);
  else
    count_many(tile, first, cells);
}

void KindTally::give_to(std::size_t area, std::int64_t cell_mm2) {
  if (!few_) {
    for (const std::uint32_t number : met_) {
      sparse_[area][number] += counts_[number] * cell_mm2;
      counts_[number] = 0;
    }
    met_.clear();
    return;
  }
  std::int64_t* const mm2 = dense_.data() + area * group_.entries;
  for (std::size_t number = 0; number < group_.entries; ++number) {
    std::int64_t cells = 0;
    for (std::size_t row = 0; row < rows; ++row) {
      cells += counts_[row * row_ + number];
      counts_[row * row_ + number] = 0;
    }
    mm2[number] += cells * cell_mm2;
  }
}

void KindTally::add(std::size_t area, const Tile& tile, std::size_t cell, std::int64_t mm2) {
  const std::uint32_t number = number_of(tile, cell);
  if (few_)
    dense_[area * group_.entries + number] += mm2;
  else
    sparse_[area][number] += mm2;
}

void KindTally::add(const KindTally& other) {
  for (std::size_t i = 0; i < dense_.size(); ++i) dense_[i] += other.dense_[i];
  for (std::size_t area = 0; area < sparse_.size(); ++area) {
    for (const auto& [number, mm2] : other.sparse_[area]) sparse_[area][number] += mm2;
  }
}

}  // namespace swardline
