#include "swardline/grid/cover.hpp"

#include <algorithm>
#include <bit>
#include <cmath>

#include "swardline/base/error.hpp"

namespace swardline {
namespace {

constexpr double mm2_per_m2 = 1e6;

/// True when the piece is the whole box: one ring along the box's sides that leaves nothing out.
bool fills(const Geometry& piece, const Box& box) {
  constexpr std::size_t many = 4096;  // points along the sides of one box: rather count cells than compare
  if (piece.vertices() > many) return false;
  const double whole = (box.x1 - box.x0) * (box.y1 - box.y0);
  const double half_mm2 = 0.5 / mm2_per_m2;
  if (std::abs(piece.area() - whole) > std::max(half_mm2, whole * 1e-14)) return false;
  const Rings rings = rings_of(piece);
  if (rings.rings.size() != 1) return false;
  return std::all_of(rings.rings[0].begin(), rings.rings[0].end(), [&](Point p) {
    return p.x == box.x0 || p.x == box.x1 || p.y == box.y0 || p.y == box.y1;
  });
}

/// A rectangle of blocks.
struct Blocks {
  std::int64_t bx = 0, by = 0, across = 0, down = 0;
};

class Cutter {
 public:
  Cutter(const Grid& grid, std::vector<BlockPiece>& pieces) : grid_(grid), pieces_(pieces) {}

  void cut(const Geometry& parent, const Blocks& blocks) {
    const Box box = box_of(blocks);
    Geometry piece = clipped(parent, box);
    if (piece.empty() || piece.area() <= 0) return;
    if (fills(piece, box)) {
      for (std::int64_t x = 0; x < blocks.across; ++x) {
        for (std::int64_t y = 0; y < blocks.down; ++y)
          pieces_.push_back({{blocks.bx + x, blocks.by + y}, true, {}});
      }
    } else if (blocks.across == 1 && blocks.down == 1) {
      pieces_.push_back({{blocks.bx, blocks.by}, false, std::move(piece)});
    } else {
      halve(piece, blocks);
    }
  }

 private:
  void halve(const Geometry& piece, const Blocks& blocks) {
    Blocks first = blocks;
    Blocks second = blocks;
    if (blocks.across >= blocks.down) {
      first.across = blocks.across / 2;
      second.bx += first.across;
      second.across -= first.across;
    } else {
      first.down = blocks.down / 2;
      second.by += first.down;
      second.down -= first.down;
    }
    cut(piece, first);
    cut(piece, second);
  }

  [[nodiscard]] Box box_of(const Blocks& blocks) const {
    const Block last{blocks.bx + blocks.across - 1, blocks.by + blocks.down - 1};
    return grid_.box(unite(Block{blocks.bx, blocks.by}.window(), last.window()));
  }

  const Grid& grid_;
  std::vector<BlockPiece>& pieces_;
};

/// Signed areas of one block's cells from the polygon's edges, as rasterisers of letter shapes
/// do it: an edge that falls by dv rows within a cell covers dv of every cell to its right, and
/// within its own cell the part of dv to the right of its middle. Units are cells, v downwards.
class CellSums {
 public:
  CellSums() : right_(count), own_(count), met_(side * words) {}

  /// Only the cells that edges crossed since are emptied again.
  void clear() {
    for (std::size_t row = first_row_; row < end_row_; ++row) {
      each_met(row, [&](std::size_t col) { right_[row * side + col] = own_[row * side + col] = 0; });
      std::fill_n(met_.begin() + std::ptrdiff_t(row * words), words, 0);
    }
    first_row_ = side;
    end_row_ = 0;
  }

  void add_edge(double u0, double v0, double u1, double v1) {
    constexpr double most = block_cells;
    u0 = std::clamp(u0, 0.0, most);
    u1 = std::clamp(u1, 0.0, most);
    v0 = std::clamp(v0, 0.0, most);
    v1 = std::clamp(v1, 0.0, most);
    if (v0 == v1) return;
    const double slope = (u1 - u0) / (v1 - v0);
    const double least_u = std::min(u0, u1);
    const double most_u = std::max(u0, u1);
    double u = u0;
    double v = v0;
    while (v != v1) {
      const bool falls = v1 > v;
      // Rows are not negative, so that no call is needed to round down.
      const auto whole = double(static_cast<std::int64_t>(v));
      const double row = falls || whole != v ? whole : whole - 1;
      const double v_next = falls ? std::min(row + 1, v1) : std::max(row, v1);
      const double u_next = v_next == v1 ? u1 : std::clamp(u0 + (v_next - v0) * slope, least_u, most_u);
      add_in_row(static_cast<std::size_t>(row), u, u_next, v_next - v);
      u = u_next;
      v = v_next;
    }
  }

  /// Each cell's share, times `whole`, rounded; a `full` one is covered wholly. Between the cells that edges
  /// cross, the share stays what it was.
  void cover(double whole, std::int64_t full, BlockCover& cover) const {
    for (std::size_t row = first_row_; row < end_row_; ++row) {
      double from_left = 0;
      std::size_t next = 0;
      const auto add = [&](std::size_t end, double share) {
        if (share > 0)
          add_cells(row * side + next, end - next, rounded(std::min(share, 1.0) * whole), full, cover);
        next = end;
      };
      each_met(row, [&](std::size_t col) {
        if (col > next) add(col, from_left);
        next = col;
        add(col + 1, from_left + own_[row * side + col]);
        from_left += right_[row * side + col];
      });
      if (next < side) add(side, from_left);
    }
  }

 private:
  static constexpr std::size_t side = block_cells;
  static constexpr std::size_t count = side * side;

  static constexpr std::size_t words = side / 64;

  template <typename Visit>
  void each_met(std::size_t row, Visit&& visit) const {
    for (std::size_t word = 0; word < words; ++word) {
      for (std::uint64_t bits = met_[row * words + word]; bits != 0; bits &= bits - 1)
        visit(word * 64 + std::size_t(std::countr_zero(bits)));
    }
  }

  static void add_cells(std::size_t first, std::size_t cells, std::int64_t mm2, std::int64_t full,
                        BlockCover& cover) {
    if (mm2 <= 0) return;
    if (mm2 != full) {
      for (std::size_t i = 0; i < cells; ++i) cover.cut.push_back({std::uint32_t(first + i), mm2});
    } else if (!cover.whole.empty() && cover.whole.back().first + cover.whole.back().count == first) {
      cover.whole.back().count += std::uint32_t(cells);
    } else {
      cover.whole.push_back({std::uint32_t(first), std::uint32_t(cells)});
    }
  }

  /// std::llround of a number that is not negative, without the call.
  static std::int64_t rounded(double x) {
    const auto whole = static_cast<std::int64_t>(x);
    return x - double(whole) >= 0.5 ? whole + 1 : whole;
  }

  void add_in_row(std::size_t row, double u, double u_next, double dv) {
    first_row_ = std::min(first_row_, row);
    end_row_ = std::max(end_row_, row + 1);
    const double left = std::min(u, u_next);
    const double right = std::max(u, u_next);
    double at = left;
    double rest = dv;
    auto col = static_cast<std::size_t>(left);
    while (right > double(col + 1)) {
      const double edge = double(col + 1);
      const double here = dv * ((edge - at) / (right - left));
      add(row, col, here, (at + edge) / 2);
      rest -= here;
      at = edge;
      ++col;
    }
    add(row, col, rest, (at + right) / 2);
  }

  void add(std::size_t row, std::size_t col, double dv, double middle) {
    if (col >= side) return;  // on the block's right side: nothing of the block lies beyond
    const std::size_t i = row * side + col;
    right_[i] += dv;
    own_[i] += dv * (double(col + 1) - middle);
    met_[row * words + col / 64] |= std::uint64_t{1} << (col % 64);
  }

  std::vector<double> right_;
  std::vector<double> own_;
  std::vector<std::uint64_t> met_;              ///< cells that edges crossed, a bit each
  std::size_t first_row_ = side, end_row_ = 0;  ///< rows that edges crossed
};

}  // namespace

std::vector<BlockPiece> cut_into_blocks(const Geometry& polygons, const Grid& grid) {
  std::vector<BlockPiece> pieces;
  if (polygons.empty()) return pieces;
  const Window cells = grid.covering(polygons.box());
  Blocks blocks{floor_div(cells.col, block_cells), floor_div(cells.row, block_cells), 0, 0};
  blocks.across = floor_div(cells.col + cells.cols - 1, block_cells) - blocks.bx + 1;
  blocks.down = floor_div(cells.row + cells.rows - 1, block_cells) - blocks.by + 1;
  Cutter(grid, pieces).cut(polygons, blocks);
  std::sort(pieces.begin(), pieces.end(),
            [](const BlockPiece& a, const BlockPiece& b) { return a.block < b.block; });
  return pieces;
}

std::int64_t cell_mm2(const Grid& grid) { return std::llround(grid.cell_m * grid.cell_m * mm2_per_m2); }

void cover_of(const BlockPiece& piece, const Grid& grid, BlockCover& cover) {
  cover.whole.clear();
  cover.cut.clear();
  if (piece.full) {
    cover.whole.push_back({0, std::uint32_t{block_cells} * block_cells});
    return;
  }
  thread_local CellSums sums;  // 1 MB: not for every block again
  sums.clear();
  const Box box = grid.box(piece.block.window());
  for (const std::vector<Point>& ring : rings_of(piece.piece).rings) {
    for (std::size_t i = 1; i < ring.size(); ++i) {
      const Point& a = ring[i - 1];
      const Point& b = ring[i];
      sums.add_edge((a.x - box.x0) / grid.cell_m, (box.y1 - a.y) / grid.cell_m, (b.x - box.x0) / grid.cell_m,
                    (box.y1 - b.y) / grid.cell_m);
    }
  }
  sums.cover(grid.cell_m * grid.cell_m * mm2_per_m2, cell_mm2(grid), cover);
}

void add_cover(const BlockPiece& piece, const Grid& grid, std::span<std::int64_t> mm2) {
  if (mm2.size() != std::size_t{block_cells} * block_cells) throw Defect("cover needs room for one block");
  BlockCover cover;
  cover_of(piece, grid, cover);
  cover.each(cell_mm2(grid), [&](std::size_t place, std::int64_t area) { mm2[place] += area; });
}

Geometry ground_of_cell(const BlockPiece& piece, const Grid& grid, std::int64_t col, std::int64_t row) {
  const Window window = piece.block.window();
  if (col < window.col || col >= window.col + window.cols || row < window.row ||
      row >= window.row + window.rows)
    return {};
  const Box cell = grid.cell_box(col, row);
  return piece.full ? box_polygon(cell) : clipped(piece.piece, cell);
}

}  // namespace swardline
