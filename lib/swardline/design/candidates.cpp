// Step 2 of the draw: a randomised hierarchical systematic sample of points (Stevens & Olsen 2004,
// JASA 99:262-278) in two passes, the sums of the blocks and then only the blocks that hold a position.
#include <algorithm>
#include <bit>
#include <cmath>

#include "swardline/base/error.hpp"
#include "swardline/design/counted_block.hpp"
#include "swardline/design/ground.hpp"

namespace swardline {
namespace {

__extension__ typedef unsigned __int128 Wide;

constexpr int block_level = std::countr_zero(unsigned(block_cells));
/// Cells and cut cells kept between draws: together under 200 MB.
constexpr std::size_t most_kept_cells = 4'000'000;
constexpr std::size_t most_cut_cells = 50'000;

std::uint64_t spread_bits(std::uint64_t x) {
  x = (x | x << 16) & 0x0000FFFF0000FFFFULL;
  x = (x | x << 8) & 0x00FF00FF00FF00FFULL;
  x = (x | x << 4) & 0x0F0F0F0F0F0F0F0FULL;
  x = (x | x << 2) & 0x3333333333333333ULL;
  x = (x | x << 1) & 0x5555555555555555ULL;
  return x;
}

std::uint64_t gather_bits(std::uint64_t x) {
  x &= 0x5555555555555555ULL;
  x = (x | x >> 1) & 0x3333333333333333ULL;
  x = (x | x >> 2) & 0x0F0F0F0F0F0F0F0FULL;
  x = (x | x >> 4) & 0x00FF00FF00FF00FFULL;
  x = (x | x >> 8) & 0x0000FFFF0000FFFFULL;
  x = (x | x >> 16) & 0x00000000FFFFFFFFULL;
  return x;
}

struct Node {
  std::uint64_t code = 0;
  std::int64_t mm2 = 0;  ///< × weight
  std::int32_t weight = 1;
};

/// Nodes of one block in the order of their codes. Every cell has its own place along the curve, which is
/// quicker than sorting where many have ground.
void order_in_block(std::vector<Node>& nodes) {
  constexpr std::size_t places = std::size_t{1} << (2 * block_level), none = places;
  static_assert(places == std::size_t{block_cells} * block_cells);
  if (nodes.size() < places / 64) {
    std::sort(nodes.begin(), nodes.end(), [](const Node& a, const Node& b) { return a.code < b.code; });
    return;
  }
  std::vector<std::uint32_t> at(places, none);
  for (std::size_t i = 0; i < nodes.size(); ++i) at[nodes[i].code % places] = std::uint32_t(i);
  std::vector<Node> ordered;
  ordered.reserve(nodes.size());
  for (const std::uint32_t i : at) {
    if (i != none) ordered.push_back(nodes[i]);
  }
  nodes = std::move(ordered);
}

/// Of nodes in the order of their codes.
TreeSums sums_of(const std::vector<Node>& nodes, bool weighted) {
  TreeSums sums;
  if (weighted) {
    sums.weight.reserve(nodes.size());
    for (const Node& node : nodes) sums.weight.push_back(node.weight);
  }
  sums.codes.reserve(nodes.size());
  sums.before.reserve(nodes.size() + 1);
  sums.before.push_back(0);
  for (const Node& node : nodes) {
    sums.codes.push_back(node.code);
    sums.before.push_back(sums.before.back() + node.mm2);
  }
  return sums;
}

/// A permutation of 0 … 3, all 24 alike to within 2^-59.
std::array<int, 4> random_permutation(std::uint64_t bits) {
  std::uint64_t which = std::uint64_t((Wide(bits) * 24) >> 64);
  std::array<int, 4> order = {0, 1, 2, 3};
  for (std::uint64_t left = 4; left > 1; --left) {
    std::swap(order[std::size_t(left - 1)], order[std::size_t(which % left)]);
    which /= left;
  }
  return order;
}

/// The positions within one part of the tree, as [first, last) of all positions.
struct Positions {
  std::span<const std::int64_t> at;
  std::size_t first = 0, last = 0;
  [[nodiscard]] std::size_t up_to(std::int64_t end) const {
    return std::size_t(
        std::lower_bound(at.begin() + std::ptrdiff_t(first), at.begin() + std::ptrdiff_t(last), end) -
        at.begin());
  }
};

/// Walks down to the elements that hold a position, in the random order of `key`. `start` is where
/// this part's ground begins among the positions. Only nodes with ground in two or more children
/// matter, so the walk jumps to the lowest such node and the choice of a root has no effect.
template <typename Visit>
void locate(const TreeSums& sums, std::size_t first, std::size_t last, std::int64_t start, int leaf_level,
            Positions wanted, const RandomKey& key, Visit&& visit) {
  if (wanted.first == wanted.last) return;
  if (last - first == 1) {
    visit(first, start, wanted);
    return;
  }
  const int level = (int(std::bit_width(sums.codes[first] ^ sums.codes[last - 1])) + 1) / 2;
  const int shift = 2 * (level - 1);
  std::array<std::size_t, 5> bound = {first, last, last, last, last};
  for (std::uint64_t child = 1; child < 4; ++child) {
    bound[child] = std::size_t(
        std::lower_bound(sums.codes.begin() + std::ptrdiff_t(bound[child - 1]),
                         sums.codes.begin() + std::ptrdiff_t(last), child,
                         [shift](std::uint64_t code, std::uint64_t c) { return ((code >> shift) & 3) < c; }) -
        sums.codes.begin());
  }
  const auto ancestor = [&](std::uint64_t code) { return std::uint32_t(gather_bits(code) >> level); };
  const std::uint64_t bits = key.at(std::uint32_t(level + leaf_level), ancestor(sums.codes[first]),
                                    ancestor(sums.codes[first] >> 1));
  for (const int child : random_permutation(bits)) {
    const std::size_t from = bound[std::size_t(child)], to = bound[std::size_t(child) + 1];
    if (from == to) continue;
    const std::int64_t end = start + sums.sum(from, to);
    const Positions part{wanted.at, wanted.first, wanted.up_to(end)};
    locate(sums, from, to, start, leaf_level, part, key, visit);
    wanted.first = part.last;
    start = end;
  }
}

/// A square of 2^level cells of a block, by its north-west cell and the ground before and in it.
struct Quarter {
  int col = 0, row = 0, level = 0;
  std::int64_t start = 0, mm2 = 0;
};

/// `locate` within a block that is counted. Visits (quarter of one cell, positions in it).
template <typename Visit>
void locate_counted(const CountedBlock& counted, const Window& block, const Quarter& here, Positions wanted,
                    const RandomKey& key, Visit&& visit) {
  if (wanted.first == wanted.last) return;
  if (here.level == 0) {
    visit(here, wanted);
    return;
  }
  std::array<Quarter, 4> children;
  int with_ground = 0;
  std::int64_t left = here.mm2;
  for (int child = 0; child < 4; ++child) {
    Quarter& part = children[std::size_t(child)];
    part.level = here.level - 1;
    part.col = here.col + (child & 1) * (1 << part.level);
    part.row = here.row + (child >> 1) * (1 << part.level);
    part.mm2 = child == 3 ? left : counted.sum(part.col, part.row, part.level);
    left -= part.mm2;
    if (left < 0) throw Defect("kinds of cells do not add up to their block");
    with_ground += part.mm2 > 0 ? 1 : 0;
  }
  std::array<int, 4> order = {0, 1, 2, 3};
  if (with_ground > 1) {
    const std::uint64_t code = quadtree_code(block.col + here.col, block.row + here.row);
    const auto ancestor = [&](std::uint64_t bits) { return std::uint32_t(gather_bits(bits) >> here.level); };
    order = random_permutation(key.at(std::uint32_t(here.level), ancestor(code), ancestor(code >> 1)));
  }
  std::int64_t start = here.start;
  for (const int child : order) {
    Quarter& part = children[std::size_t(child)];
    if (part.mm2 == 0) continue;
    part.start = start;
    start += part.mm2;
    const Positions inside{wanted.at, wanted.first, wanted.up_to(start)};
    locate_counted(counted, block, part, inside, key, visit);
    wanted.first = inside.last;
  }
}

/// Any whole-millimetre point strictly inside a cell.
Point point_in_square(const Box& cell, RandomStream& random) {
  const auto within = [&random](double low, double high) {
    // The thousandth of a millimetre keeps rounding in `low * 1000` from letting the edge in.
    const auto from = std::int64_t(std::floor(low * 1000 + 1e-3)) + 1;
    const auto to = std::int64_t(std::ceil(high * 1000 - 1e-3)) - 1;
    if (to < from) return (low + high) / 2;
    return double(from + std::int64_t(random.below(std::uint64_t(to - from + 1)))) / 1000;
  };
  const double x = within(cell.x0, cell.x1);
  return {x, within(cell.y0, cell.y1)};
}

}  // namespace

std::uint64_t quadtree_code(std::int64_t col, std::int64_t row) {
  constexpr std::int64_t middle = std::int64_t{1} << 31;
  if (col < -middle || col >= middle || row < -middle || row >= middle) {
    throw InputError({}, "The ground lies more than 2,147,483,648 cells from the grid's origin.",
                     "Choose larger cells or a coordinate system made for the area.");
  }
  return spread_bits(std::uint64_t(col + middle)) | spread_bits(std::uint64_t(row + middle)) << 1;
}

std::pair<std::int64_t, std::int64_t> cell_of_code(std::uint64_t code) {
  constexpr std::int64_t middle = std::int64_t{1} << 31;
  return {std::int64_t(gather_bits(code)) - middle, std::int64_t(gather_bits(code >> 1)) - middle};
}

Ground::Ground(const Frame& frame) : frame_(frame), full_mm2_(cell_mm2(frame.grid())) {
  std::vector<Node> nodes;
  std::vector<std::pair<std::uint64_t, std::size_t>> indices;
  const std::vector<BlockArea>& blocks = frame.blocks();
  for (std::size_t i = 0; i < blocks.size(); ++i) {
    const Window window = blocks[i].block.window();
    const std::uint64_t code = quadtree_code(window.col, window.row) >> (2 * block_level);
    nodes.push_back({code, frame.weighted() ? blocks[i].weighted_mm2 : blocks[i].mm2});
    indices.emplace_back(code, i);
    area_mm2_ += blocks[i].mm2;
  }
  std::sort(indices.begin(), indices.end());
  for (const auto& [code, i] : indices) block_of_.push_back(i);
  std::sort(nodes.begin(), nodes.end(), [](const Node& a, const Node& b) { return a.code < b.code; });
  sums_ = sums_of(nodes, false);
}

std::shared_ptr<const TreeSums> Ground::block_sums(std::size_t block) {
  if (const auto found = kept_.find(block); found != kept_.end()) return found->second;
  const BlockArea& whole_block = frame_.blocks()[block];
  const bool weighted = frame_.weighted();
  std::vector<Node> nodes;
  for (const CellArea& cell : frame_.cells(whole_block.block)) {
    const std::int32_t weight = weighted ? cell.weight : 1;
    if (cell.mm2 > 0 && weight > 0) {
      nodes.push_back({quadtree_code(cell.col, cell.row), cell.mm2 * weight, weight});
    }
  }
  order_in_block(nodes);
  const auto sums = std::make_shared<const TreeSums>(sums_of(nodes, weighted));
  if (sums->before.back() != (weighted ? whole_block.weighted_mm2 : whole_block.mm2)) {
    throw Defect("cells do not add up to their block");
  }
  if (kept_cells_ + sums->codes.size() <= most_kept_cells) {
    kept_cells_ += sums->codes.size();
    kept_.emplace(block, sums);
  }
  return sums;
}

bool Ground::kept_whole() const {
  return frame_.blocks().size() <= most_kept_cells / (block_cells * block_cells);
}

const CellGround& Ground::cell_ground(std::int64_t col, std::int64_t row) {
  const std::uint64_t code = quadtree_code(col, row);
  if (const auto found = cut_.find(code); found != cut_.end()) return found->second;
  if (cut_.size() >= most_cut_cells) cut_.clear();
  return cut_.emplace(code, CellGround(frame_.ground(col, row))).first->second;
}

bool Ground::holds(const Cell& cell, Point at) {
  return cell.whole || cell_ground(cell.col, cell.row).holds(at);
}

void Ground::each_cell(const std::function<void(const Cell&)>& visit) {
  for (const std::size_t block : block_of_) {
    const std::shared_ptr<const TreeSums> sums = block_sums(block);
    for (std::size_t i = 0; i < sums->codes.size(); ++i) {
      const auto [col, row] = cell_of_code(sums->codes[i]);
      visit({col, row, whole(*sums, i), sums->weight_of(i)});
    }
  }
}

std::size_t Ground::cells() {
  if (all_cells_ == 0) each_cell([this](const Cell&) { ++all_cells_; });
  return all_cells_;
}

std::int64_t Ground::largest_weight() {
  if (!frame_.weighted()) return 1;
  if (largest_weight_ == 0) {
    each_cell([this](const Cell& cell) { largest_weight_ = std::max(largest_weight_, cell.weight); });
  }
  return largest_weight_;
}

Candidate Ground::candidate(const TreeSums& sums, std::size_t element, RandomStream random) {
  // Areas are rounded to square millimetres, so a cell can have area and no ground to stand on:
  // the next cell along the curve that has some takes its place.
  for (std::size_t step = 0; step < sums.codes.size(); ++step) {
    const std::size_t i = (element + step) % sums.codes.size();
    const auto [col, row] = cell_of_code(sums.codes[i]);
    const std::int64_t weight = sums.weight_of(i);
    if (whole(sums, i)) return {point_in_square(frame_.grid().cell_box(col, row), random), col, row, weight};
    const CellGround& ground = cell_ground(col, row);
    if (!ground.empty()) return {ground.point(random), col, row, weight};
  }
  throw Defect("a block with area has no ground");
}

Candidate Ground::candidate(std::size_t block, std::int64_t col, std::int64_t row, bool is_whole,
                            RandomStream random) {
  if (is_whole) return {point_in_square(frame_.grid().cell_box(col, row), random), col, row, 1};
  const CellGround& ground = cell_ground(col, row);
  if (!ground.empty()) return {ground.point(random), col, row, 1};
  const std::shared_ptr<const TreeSums> sums = block_sums(block);
  const auto found = std::lower_bound(sums->codes.begin(), sums->codes.end(), quadtree_code(col, row));
  return candidate(*sums, std::size_t(found - sums->codes.begin()), random);
}

bool Ground::draw_counted(std::size_t block, std::int64_t start, std::span<const std::int64_t> positions,
                          std::size_t first, std::size_t last, const RandomKey& order,
                          const RandomKey& points, std::vector<Candidate>& found) {
  // Where positions are many, or many draws are made, the list of cells is worth its making.
  constexpr std::size_t few = 64;
  if (listed_ || last - first > few || kept_.contains(block)) return false;
  const BlockArea& area = frame_.blocks()[block];
  std::optional<BlockKinds> kinds = frame_.kinds(area.block);
  if (!kinds) return false;
  const CountedBlock counted(area.block, std::move(*kinds), frame_.grid());
  const Quarter all{0, 0, block_level, start, area.mm2};
  const Window window = area.block.window();
  locate_counted(counted, window, all, {positions, first, last}, order,
                 [&](const Quarter& cell, const Positions& in_cell) {
                   for (std::size_t k = in_cell.first; k < in_cell.last; ++k) {
                     found.push_back(candidate(block, window.col + cell.col, window.row + cell.row,
                                               cell.mm2 >= full_mm2_, RandomStream(points.under(k))));
                   }
                 });
  return true;
}

std::vector<Candidate> Ground::candidates(std::int64_t count, const RandomKey& key) {
  std::vector<Candidate> found;
  if (count <= 0 || weighted_mm2() <= 0) return found;
  // Whole numbers: position k is the whole part of (start + k·A)/count, which falls in the same cell.
  const auto area = std::uint64_t(weighted_mm2());
  const std::uint64_t start = RandomStream(key.under("start")).below(area);
  std::vector<std::int64_t> positions(std::size_t(count), 0);
  for (std::uint64_t k = 0; k < std::uint64_t(count); ++k) {
    positions[k] = std::int64_t((Wide(start) + Wide(k) * area) / std::uint64_t(count));
  }
  const RandomKey order = key.under("order"), points = key.under("point");
  found.reserve(positions.size());
  locate(
      sums_, 0, sums_.codes.size(), 0, block_level, {positions, 0, positions.size()}, order,
      [&](std::size_t node, std::int64_t block_start, const Positions& in_block) {
        const std::size_t block = block_of_[node];
        if (draw_counted(block, block_start, positions, in_block.first, in_block.last, order, points, found))
          return;
        const std::shared_ptr<const TreeSums> sums = block_sums(block);
        locate(*sums, 0, sums->codes.size(), block_start, 0, in_block, order,
               [&](std::size_t cell, std::int64_t, const Positions& in_cell) {
                 for (std::size_t k = in_cell.first; k < in_cell.last; ++k) {
                   found.push_back(candidate(*sums, cell, RandomStream(points.under(k))));
                 }
               });
      });
  listed_ = true;
  return found;
}

std::vector<Candidate> hierarchical_candidates(const Frame& frame, std::int64_t count, const RandomKey& key) {
  return Ground(frame).candidates(count, key);
}

}  // namespace swardline
