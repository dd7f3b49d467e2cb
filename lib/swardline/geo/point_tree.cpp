#include "swardline/geo/point_tree.hpp"

#include <algorithm>
#include <array>
#include <limits>

#include "swardline/geo/plane_vectors.hpp"

namespace swardline {
namespace {

constexpr std::size_t leaf_size = 6;
constexpr std::uint32_t nobody = std::numeric_limits<std::uint32_t>::max();

double squared_to(const Box& box, Point at) {
  const double dx = std::max({box.x0 - at.x, 0.0, at.x - box.x1});
  const double dy = std::max({box.y0 - at.y, 0.0, at.y - box.y1});
  return dx * dx + dy * dy;
}

}  // namespace

PointTree::PointTree(std::span<const Point> points)
    : slots_(points.size()), slot_of_(points.size()), leaf_of_(points.size()) {
  for (std::size_t i = 0; i < points.size(); ++i) slots_[i] = {points[i], std::uint32_t(i)};
  nodes_.reserve(points.size() / leaf_size * 4 + 1);
  if (!points.empty()) build(slots_, 0, -1);
}

std::int32_t PointTree::build(std::span<Slot> slots, std::uint32_t begin, std::int32_t parent) {
  const std::int32_t index = std::int32_t(nodes_.size());
  Box box{slots[0].at.x, slots[0].at.y, slots[0].at.x, slots[0].at.y};
  for (const Slot& slot : slots) {
    box.x0 = std::min(box.x0, slot.at.x);
    box.y0 = std::min(box.y0, slot.at.y);
    box.x1 = std::max(box.x1, slot.at.x);
    box.y1 = std::max(box.y1, slot.at.y);
  }
  nodes_.push_back({box, begin, std::uint32_t(slots.size()), parent, -1, -1});
  if (slots.size() <= leaf_size) {
    // The order within a leaf decides ties, so it must not be left to nth_element.
    std::sort(slots.begin(), slots.end(), [](const Slot& a, const Slot& b) { return a.point < b.point; });
    for (std::size_t i = 0; i < slots.size(); ++i) {
      slot_of_[slots[i].point] = begin + std::uint32_t(i);
      leaf_of_[slots[i].point] = index;
    }
    return index;
  }
  const bool by_x = box.x1 - box.x0 >= box.y1 - box.y0;
  const std::size_t half = slots.size() / 2;
  std::nth_element(slots.begin(), slots.begin() + std::ptrdiff_t(half), slots.end(),
                   [by_x](const Slot& a, const Slot& b) {
                     const double p = by_x ? a.at.x : a.at.y, q = by_x ? b.at.x : b.at.y;
                     return p != q ? p < q : a.point < b.point;
                   });
  const std::int32_t left = build(slots.first(half), begin, index);
  const std::int32_t right = build(slots.subspan(half), begin + std::uint32_t(half), index);
  nodes_[std::size_t(index)].left = left;
  nodes_[std::size_t(index)].right = right;
  return index;
}

void PointTree::remove(std::uint32_t point) {
  const Node& leaf = nodes_[std::size_t(leaf_of_[point])];
  const std::uint32_t here = slot_of_[point], last = leaf.begin + leaf.alive - 1;
  std::swap(slots_[here], slots_[last]);
  slot_of_[slots_[here].point] = here;
  slot_of_[point] = last;
  for (std::int32_t n = leaf_of_[point]; n >= 0; n = nodes_[std::size_t(n)].parent)
    --nodes_[std::size_t(n)].alive;
}

template <typename Visit>
void PointTree::search(Point at, std::uint32_t except, Visit&& visit) const {
  struct Waiting {
    std::int32_t node;
    double squared;
  };
  std::array<Waiting, 64> waiting;  // depth is at most log2(2^32 points)
  std::size_t count = 0;
  double best = std::numeric_limits<double>::infinity();
  if (nodes_.empty() || nodes_[0].alive == 0) return;
  waiting[count++] = {0, 0};
  while (count > 0) {
    const Waiting next = waiting[--count];
    if (next.squared > best) continue;
    const Node& node = nodes_[std::size_t(next.node)];
    if (node.left < 0) {
      for (std::uint32_t s = node.begin; s < node.begin + node.alive; ++s) {
        if (slots_[s].point == except) continue;
        const double d = squared(slots_[s].at, at);
        if (d > best) continue;
        best = d;
        visit(slots_[s].point, d);
      }
      continue;
    }
    const Node& left = nodes_[std::size_t(node.left)];
    const Node& right = nodes_[std::size_t(node.right)];
    Waiting near{node.left, left.alive > 0 ? squared_to(left.box, at) : -1};
    Waiting far{node.right, right.alive > 0 ? squared_to(right.box, at) : -1};
    if (near.squared > far.squared) std::swap(near, far);
    if (far.squared >= 0 && far.squared <= best) waiting[count++] = far;
    if (near.squared >= 0 && near.squared <= best) waiting[count++] = near;
  }
}

std::uint32_t PointTree::nearest_other(std::uint32_t point, RandomStream& ties) const {
  std::uint32_t found = nobody;
  double best = -1;
  std::uint64_t equals = 0;
  search(slots_[slot_of_[point]].at, point, [&](std::uint32_t other, double d) {
    if (found == nobody || d < best) {
      found = other;
      best = d;
      equals = 1;
    } else if (ties.below(++equals) == 0) {
      found = other;
    }
  });
  return found;
}

void PointTree::all_nearest(Point at, std::vector<std::uint32_t>& found) const {
  found.clear();
  double best = -1;
  search(at, nobody, [&](std::uint32_t other, double d) {
    if (!found.empty() && d < best) found.clear();
    best = d;
    found.push_back(other);
  });
}

double PointTree::nearest_squared(std::uint32_t point) const {
  double best = std::numeric_limits<double>::infinity();
  search(slots_[slot_of_[point]].at, point, [&](std::uint32_t, double d) { best = d; });
  return best;
}

}  // namespace swardline
