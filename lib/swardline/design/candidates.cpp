// Step 2 of the draw: a randomised hierarchical systematic sample of points (Stevens & Olsen 2004,
// JASA 99:262-278) in two passes, the sums of the blocks and then only the blocks that hold a position.
#include <algorithm>
#include <bit>
#include <cmath>

#include "swardline/base/error.hpp"
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

CellGround::CellGround(const Geometry& ground) {
  if (ground.empty()) return;
  double sum = 0;
  for (const std::array<Point, 3>& t : triangles(ground)) {
    const double area =
        std::abs((t[1].x - t[0].x) * (t[2].y - t[0].y) - (t[2].x - t[0].x) * (t[1].y - t[0].y)) / 2;
    if (!(area > 0)) continue;
    sum += area;
    triangles_.push_back(t);
    up_to_.push_back(sum);
  }
  for (const std::vector<Point>& ring : rings_of(ground).rings) {
    for (std::size_t i = 0; i + 1 < ring.size(); ++i) edges_.push_back({ring[i], ring[i + 1]});
  }
}

bool CellGround::holds(Point at) const {
  constexpr double clear = 1e-5;
  bool inside = false;
  for (const Edge& edge : edges_) {
    const double dx = edge.b.x - edge.a.x, dy = edge.b.y - edge.a.y;
    const double px = at.x - edge.a.x, py = at.y - edge.a.y;
    const double length = dx * dx + dy * dy;
    const double t = length > 0 ? std::clamp((px * dx + py * dy) / length, 0.0, 1.0) : 0.0;
    const double ex = px - t * dx, ey = py - t * dy;
    if (ex * ex + ey * ey < clear * clear) return false;
    if ((edge.a.y > at.y) == (edge.b.y > at.y)) continue;
    if (at.x - edge.a.x < (edge.b.x - edge.a.x) * ((at.y - edge.a.y) / (edge.b.y - edge.a.y)))
      inside = !inside;
  }
  return inside;
}

Point CellGround::point(RandomStream& random) const {
  // A point whose four whole-millimetre neighbours all lie outside is in a sliver: a few more are
  // tried, and at last the sliver's own point is taken as it is.
  Point at;
  for (int attempt = 0; attempt < 32; ++attempt) {
    const double u = random.uniform() * up_to_.back();
    const auto found = std::upper_bound(up_to_.begin(), up_to_.end(), u);
    const std::size_t which = std::min(std::size_t(found - up_to_.begin()), triangles_.size() - 1);
    const auto& [a, b, c] = triangles_[which];
    const double r = std::sqrt(random.uniform()), s = random.uniform();
    at = {(1 - r) * a.x + r * (1 - s) * b.x + r * s * c.x, (1 - r) * a.y + r * (1 - s) * b.y + r * s * c.y};
    const double x = at.x * 1000, y = at.y * 1000;
    const double near_x = std::round(x), near_y = std::round(y);
    const double far_x = near_x > x ? near_x - 1 : near_x + 1, far_y = near_y > y ? near_y - 1 : near_y + 1;
    const bool x_first = std::abs(far_x - x) <= std::abs(far_y - y);
    const std::array<Point, 4> nearby = {{{near_x, near_y},
                                          x_first ? Point{far_x, near_y} : Point{near_x, far_y},
                                          x_first ? Point{near_x, far_y} : Point{far_x, near_y},
                                          {far_x, far_y}}};
    for (const Point& p : nearby) {
      const Point whole{p.x / 1000, p.y / 1000};
      if (holds(whole)) return whole;
    }
  }
  return at;
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
  locate(sums_, 0, sums_.codes.size(), 0, block_level, {positions, 0, positions.size()}, order,
         [&](std::size_t block, std::int64_t block_start, const Positions& in_block) {
           const std::shared_ptr<const TreeSums> sums = block_sums(block_of_[block]);
           locate(*sums, 0, sums->codes.size(), block_start, 0, in_block, order,
                  [&](std::size_t cell, std::int64_t, const Positions& in_cell) {
                    for (std::size_t k = in_cell.first; k < in_cell.last; ++k) {
                      found.push_back(candidate(*sums, cell, RandomStream(points.under(k))));
                    }
                  });
         });
  return found;
}

std::vector<Candidate> hierarchical_candidates(const Frame& frame, std::int64_t count, const RandomKey& key) {
  return Ground(frame).candidates(count, key);
}

}  // namespace swardline
