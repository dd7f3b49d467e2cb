#include <algorithm>
#include <chrono>
#include <iterator>

#include "bench.hpp"
#include "swardline/base/random.hpp"
#include "swardline/field/look_tree.hpp"
#include "swardline/field/separation.hpp"

namespace swardline::bench {
namespace {

using Set = std::uint64_t;

/// What a plant shows of one character: one of `states`, now and then several or nothing known.
Set shown(RandomStream& random, std::size_t states, bool loose) {
  Set set = Set{1} << random.below(states);
  if (loose && random.below(4) == 0) set |= Set{1} << random.below(states);
  return loose && random.below(6) == 0 ? 0 : set;
}

LookTable plain_table(RandomStream& random, const LooksJob& job, std::size_t most_states, bool loose) {
  LookTable table;
  std::vector<std::size_t> states;
  for (int c = 0; c < job.characters; ++c) {
    table.effort.push_back(1 << random.below(3));
    states.push_back(2 + random.below(most_states - 1));
  }
  for (int p = 0; p < job.plants; ++p) {
    table.weight.push_back(double(1 + random.below(100)) / 100);
    table.likely.push_back(p == 0 || random.below(3) != 0);
    table.shown.emplace_back();
    for (const std::size_t each : states) table.shown.back().push_back(shown(random, each, loose));
  }
  return table;
}

/// The same plants in a week in which one in three is past flowering and the others may be met at any stage,
/// half of the characters being of the flower: rows and a first character as field/card_week makes them.
LookTable staged_table(RandomStream& random, const LooksJob& job) {
  const LookTable plants = plain_table(random, job, 4, true);
  LookTable table;
  table.effort = {1};
  table.effort.insert(table.effort.end(), plants.effort.begin(), plants.effort.end());
  table.given = 1;
  for (std::size_t p = 0; p < plants.plants(); ++p) {
    const bool over = p % 3 == 2;
    for (std::size_t stage = 0; stage < 3; ++stage) {  // in flower, in bud, in capsule
      if (over && stage != 2) continue;
      const bool stray = !over && stage != 0;
      table.plant.push_back(p);
      table.likely.push_back(plants.likely[p]);
      table.stray.push_back(stray);
      table.weight.push_back(stray ? 0 : plants.weight[p]);
      table.hidden.push_back(0);
      table.shown.push_back({Set{1} << stage});
      for (std::size_t c = 0; c < plants.characters(); ++c) {
        const bool hidden = stage != 0 && c % 2 == 0;
        if (hidden) table.hidden.back() |= Set{1} << (c + 1);
        table.shown.back().push_back(hidden ? 0 : plants.shown[p][c]);
      }
    }
  }
  return table;
}

LookTable table_of(RandomStream& random, const LooksJob& job, int kind) {
  switch (kind) {
    case 0:
      return plain_table(random, job, 5, false);
    case 1:
      return plain_table(random, job, 5, true);
    case 2:
      return plain_table(random, job, 2, false);
    case 3:
      return plain_table(random, job, 2, true);
    default:
      return staged_table(random, job);
  }
}

constexpr const char* kinds[] = {"two to five states", "two to five states, several or unknown", "two states",
                                 "two states, several or unknown",
                                 "three stages, half of the characters of flowers"};

}  // namespace

std::vector<LooksTimed> time_looks(const LooksJob& job) {
  std::vector<LooksTimed> all;
  for (int kind = 0; kind < int(std::size(kinds)); ++kind) {
    RandomStream random(RandomKey(job.seed, kinds[kind]));
    LooksTimed timed;
    timed.kind = kinds[kind];
    std::vector<double> whole;
    for (int i = 0; i < job.tables; ++i) {
      const LookTable table = table_of(random, job, kind);
      const auto seconds_since = [](auto start) {
        return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
      };
      const auto start = std::chrono::steady_clock::now();
      const ShortestSet set = shortest_set(table);
      const double for_set = seconds_since(start);
      const LookTree tree = best_order(table, set.characters);
      whole.push_back(seconds_since(start));
      timed.slowest_set = std::max(timed.slowest_set, for_set);
      timed.slowest_order = std::max(timed.slowest_order, whole.back() - for_set);
      timed.sets_exact += set.exact ? 1 : 0;
      timed.orders_exact += tree.exact ? 1 : 0;
      timed.trees_whole += tree.whole ? 1 : 0;
    }
    std::sort(whole.begin(), whole.end());
    timed.tables = job.tables;
    timed.median = whole[whole.size() / 2];
    timed.slowest = whole.back();
    all.push_back(timed);
  }
  return all;
}

}  // namespace swardline::bench
