#include "swardline/design/counted_block.hpp"

#include <algorithm>
#include <utility>

#include "swardline/design/ground.hpp"

namespace swardline {
namespace {

constexpr std::uint64_t places_in_block = std::uint64_t{block_cells} * block_cells;

/// Bytes equal to `kind`; at most 255 of them, so that the sum fits a byte and 16 are added at once.
unsigned equal_bytes(const std::uint8_t* bytes, int count, std::uint8_t kind) {
  std::uint8_t sum = 0;
  for (int i = 0; i < count; ++i) sum = std::uint8_t(sum + (bytes[i] == kind ? 1 : 0));
  return sum;
}

}  // namespace

CountedBlock::CountedBlock(const Block& block, BlockKinds kinds, const Grid& grid)
    : kinds_(std::move(kinds)), cell_mm2_(cell_mm2(grid)) {
  const Window window = block.window();
  std::vector<std::pair<std::uint64_t, std::int64_t>> cut;
  for (const CellArea& cell : kinds_.cut)
    cut.emplace_back(quadtree_code(cell.col - window.col, cell.row - window.row) % places_in_block, cell.mm2);
  std::sort(cut.begin(), cut.end());
  cut_before_.push_back(0);
  for (const auto& [code, mm2] : cut) {
    cut_codes_.push_back(code);
    cut_before_.push_back(cut_before_.back() + mm2);
  }
}

std::int64_t CountedBlock::whole_cells(int col, int row, int size) const {
  const int part = std::min(size, block_cells / 2);
  std::int64_t cells = 0;
  for (const std::uint8_t kind : kinds_.wanted) {
    for (int r = row; r < row + size; ++r) {
      const std::uint8_t* bytes = kinds_.whole->data() + std::size_t(r) * block_cells + std::size_t(col);
      for (int c = 0; c < size; c += part) cells += equal_bytes(bytes + c, part, kind);
    }
  }
  return cells;
}

std::int64_t CountedBlock::sum(int col, int row, int level) const {
  const std::uint64_t first = quadtree_code(col, row) % places_in_block,
                      last = first + (std::uint64_t{1} << 2 * level);
  const auto place = [this](std::uint64_t code) {
    return std::size_t(std::lower_bound(cut_codes_.begin(), cut_codes_.end(), code) - cut_codes_.begin());
  };
  const std::int64_t cut = cut_before_[place(last)] - cut_before_[place(first)];
  return whole_cells(col, row, 1 << level) * cell_mm2_ + cut;
}

}  // namespace swardline
