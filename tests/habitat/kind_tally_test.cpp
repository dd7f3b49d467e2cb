// Areas by joint number, against counting cell by cell.
#include "swardline/habitat/kind_tally.hpp"

#include <doctest/doctest.h>

#include <map>

#include "swardline/base/random.hpp"

namespace kind_tally_test {

using namespace swardline;

namespace {

/// A group over layers whose bytes are told apart by `codes` of them.
JointGroup group_of(const std::vector<std::uint32_t>& codes) {
  JointGroup group;
  for (std::size_t slot = 0; slot < codes.size(); ++slot) {
    JointGroup::Axis axis;
    axis.slot = slot;
    axis.stride = group.entries;
    for (std::size_t raw = 0; raw < 256; ++raw)
      axis.offset[raw] = std::uint32_t(raw) % codes[slot] * axis.stride;
    for (std::uint32_t code = 0; code < codes[slot]; ++code) axis.example.push_back(std::uint8_t(code));
    group.entries *= codes[slot];
    group.axes.push_back(axis);
  }
  return group;
}

Tile random_tile(std::size_t layers, RandomStream& random) {
  Tile tile;
  tile.window = {0, 0, 64, 32};
  tile.layers.resize(layers);
  for (LayerTile& layer : tile.layers)
    for (std::size_t i = 0; i < tile.window.cells(); ++i)
      layer.bytes.push_back(std::uint8_t(random.below(256)));
  return tile;
}

}  // namespace

TEST_CASE("areas by joint number are those of counting cell by cell, for few numbers and many") {
  constexpr std::int64_t cell_mm2 = 100'000'000;
  const std::vector<std::vector<std::uint32_t>> groups = {{5}, {13, 60}, {3, 4, 5}, {200, 200}, {30, 20, 50}};
  for (const std::vector<std::uint32_t>& codes : groups) {
    CAPTURE(codes.size());
    const JointGroup group = group_of(codes);
    RandomStream random(RandomKey(3, "kinds"));
    constexpr std::size_t areas = 3;
    KindTally one(group, areas), other(group, areas);
    std::vector<std::map<std::uint32_t, std::int64_t>> expected(areas);
    for (int round = 0; round < 60; ++round) {
      const Tile tile = random_tile(codes.size(), random);
      KindTally& tally = round % 3 == 0 ? other : one;
      const std::size_t area = random.below(areas);
      const auto number = [&](std::size_t cell) {
        std::uint32_t sum = 0;
        for (const JointGroup::Axis& axis : group.axes)
          sum += axis.offset[tile.layers[axis.slot].bytes[cell]];
        return sum;
      };
      for (int run = 0; run < 4; ++run) {
        const std::size_t first = random.below(tile.window.cells()), most = tile.window.cells() - first;
        const std::size_t cells = random.below(most + 1);
        tally.count(tile, first, cells);
        for (std::size_t i = first; i < first + cells; ++i) expected[area][number(i)] += cell_mm2;
      }
      tally.give_to(area, cell_mm2);
      const std::size_t cut = random.below(tile.window.cells());
      tally.add(area, tile, cut, 12'345);
      expected[area][number(cut)] += 12'345;
    }
    one.add(other);
    for (std::size_t area = 0; area < areas; ++area) {
      std::map<std::uint32_t, std::int64_t> met;
      one.each(area, [&](std::uint32_t number, std::int64_t mm2) { met[number] = mm2; });
      CHECK(met == expected[area]);
    }
  }
}

}  // namespace kind_tally_test
