#include "swardline/design/counted_block.hpp"

#include <algorithm>
#include <utility>

#include "swardline/base/wide.hpp"
#include "swardline/design/ground.hpp"

namespace swardline {
namespace {

constexpr std::uint64_t places_in_block = std::uint64_t{block_cells} * block_cells;

/// Adds to each column whether its cell in each of `rows` rows is of the kind.
SWARDLINE_WIDE void count_columns(const std::uint8_t* bytes, int rows, std::uint8_t kind,
                                  std::uint8_t* columns) {
  for (int row = 0; row < rows; ++row, bytes += block_cells) {
    for (std::size_t col = 0; col < std::size_t{block_cells}; ++col)
      columns[col] = std::uint8_t(columns[col] + (bytes[col] == kind ? 1 : 0));
  }
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
  count_squares();
}

void CountedBlock::count_squares() {
  constexpr int across = block_cells / square_cells;
  cells_[0].assign(std::size_t{across} * across, 0);
  for (const std::uint8_t kind : kinds_.wanted) {
    const std::uint8_t* bytes = kinds_.whole->data();
    for (int band = 0; band < across; ++band) {
      // One sum a column, then one a square: at most `square_cells` to a byte.
      std::array<std::uint8_t, block_cells> columns{};
      count_columns(bytes, square_cells, kind, columns.data());
      bytes += std::size_t{square_cells} * block_cells;
      for (std::size_t square = 0; square < std::size_t{across}; ++square) {
        std::uint32_t cells = 0;
        for (std::size_t col = 0; col < std::size_t{square_cells}; ++col)
          cells += columns[square * square_cells + col];
        cells_[0][std::size_t(band) * across + square] += cells;
      }
    }
  }
  for (std::size_t level = 1; level < cells_.size(); ++level) {
    const std::vector<std::uint32_t>& smaller = cells_[level - 1];
    const std::size_t wide = std::size_t{across} >> level;
    cells_[level].resize(wide * wide);
    for (std::size_t row = 0; row < wide; ++row) {
      for (std::size_t col = 0; col < wide; ++col) {
        const std::uint32_t* north = smaller.data() + 4 * row * wide + 2 * col;
        const std::uint32_t* south = north + 2 * wide;
        cells_[level][row * wide + col] = north[0] + north[1] + south[0] + south[1];
      }
    }
  }
}

std::int64_t CountedBlock::whole_cells(int col, int row, int level) const {
  if (level >= square_level) {
    const std::vector<std::uint32_t>& cells = cells_[std::size_t(level - square_level)];
    return cells[std::size_t(row >> level) * std::size_t(block_cells >> level) + std::size_t(col >> level)];
  }
  std::int64_t cells = 0;
  for (const std::uint8_t kind : kinds_.wanted) {
    for (int r = row; r < row + (1 << level); ++r) {
      const std::uint8_t* bytes = kinds_.whole->data() + std::size_t(r) * block_cells + std::size_t(col);
      for (int c = 0; c < 1 << level; ++c) cells += bytes[c] == kind ? 1 : 0;
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
  return whole_cells(col, row, level) * cell_mm2_ + cut;
}

}  // namespace swardline
