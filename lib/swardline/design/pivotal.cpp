#include "swardline/design/pivotal.hpp"

#include <algorithm>

#include "swardline/base/error.hpp"
#include "swardline/design/drawing.hpp"
#include "swardline/geo/point_tree.hpp"

namespace swardline {

void pivotal_step(std::uint64_t& a, std::uint64_t& b, std::uint64_t whole, RandomStream& random) {
  const std::uint64_t sum = a + b;
  if (sum < whole) {
    if (random.below(sum) < a) {
      a = sum;
      b = 0;
    } else {
      a = 0;
      b = sum;
    }
  } else if (random.below(2 * whole - sum) < whole - b) {
    a = whole;
    b = sum - whole;
  } else {
    a = sum - whole;
    b = whole;
  }
}

std::vector<std::size_t> pivotal_sample(const std::vector<Point>& points, std::size_t keep,
                                        const RandomKey& key) {
  const std::size_t size = points.size();
  if (keep > size) throw Defect("a sample larger than its points was asked for");
  std::vector<std::size_t> taken;
  if (keep == 0) return taken;
  taken.reserve(keep);
  if (keep == size) {
    for (std::size_t i = 0; i < size; ++i) taken.push_back(i);
    return taken;
  }
  // The local pivotal method 2 of Grafström, Lundström & Schelin 2012: a random undecided unit
  // against its nearest undecided neighbour. Whole-number chances, because in floating point
  // nearly every run leaves a remainder and some sizes come out wrong.
  RandomStream random(key);
  PointTree tree(points);
  std::vector<std::uint64_t> chance(size, keep);
  std::vector<std::uint32_t> undecided(size), place(size);
  for (std::size_t i = 0; i < size; ++i) undecided[i] = place[i] = std::uint32_t(i);
  const auto decide = [&](std::uint32_t unit) {
    if (chance[unit] != 0 && chance[unit] != size) return;
    if (chance[unit] == size) taken.push_back(unit);
    tree.remove(unit);
    const std::uint32_t last = undecided.back();
    undecided[place[unit]] = last;
    place[last] = place[unit];
    undecided.pop_back();
  };
  while (undecided.size() > 1) {
    const std::uint32_t a = undecided[random.below(undecided.size())];
    const std::uint32_t b = tree.nearest_other(a, random);
    pivotal_step(chance[a], chance[b], size, random);
    decide(a);
    decide(b);
  }
  if (!undecided.empty() || taken.size() != keep) throw Defect("the pivotal draw left a remainder");
  std::sort(taken.begin(), taken.end());
  return taken;
}

namespace {

/// Orders `units` (indices into points) in place; `node` numbers the halves like a heap, so that
/// every half has its own numbers.
void order_by_halving(const std::vector<Point>& points, std::span<std::size_t> units, std::uint64_t node,
                      const RandomKey& key) {
  if (units.size() < 2) return;
  const std::size_t half = (units.size() + 1) / 2;
  std::vector<Point> at;
  at.reserve(units.size());
  for (const std::size_t unit : units) at.push_back(points[unit]);
  const std::vector<std::size_t> first = pivotal_sample(at, half, key.under(node));
  std::vector<std::size_t> before, after;
  std::size_t next = 0;
  for (std::size_t i = 0; i < units.size(); ++i) {
    if (next < first.size() && first[next] == i) {
      before.push_back(units[i]);
      ++next;
    } else {
      after.push_back(units[i]);
    }
  }
  std::copy(before.begin(), before.end(), units.begin());
  std::copy(after.begin(), after.end(), units.begin() + std::ptrdiff_t(half));
  order_by_halving(points, units.first(half), 2 * node, key);
  order_by_halving(points, units.subspan(half), 2 * node + 1, key);
}

}  // namespace

std::vector<std::size_t> spread_order(const std::vector<Point>& points, const RandomKey& key) {
  std::vector<std::size_t> order(points.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  order_by_halving(points, order, 1, key);
  return order;
}

}  // namespace swardline
