// The fewest characters and the best order of looks, against brute force and against known optima.
#include "swardline/field/separation.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <bit>
#include <limits>
#include <map>
#include <queue>
#include <set>

#include "swardline/base/random.hpp"
#include "swardline/field/look_tree.hpp"

namespace separation_test {

using namespace swardline;

namespace {

using Set = std::uint64_t;

/// This file's own reading of which rows must be told apart.
bool to_be_told(const LookTable& table, std::size_t a, std::size_t b) {
  if (!table.plant.empty() && table.plant[a] == table.plant[b]) return false;
  if (!table.stray.empty() && table.stray[a] && table.stray[b]) return false;
  return table.likely[a] || table.likely[b];
}

std::vector<Set> pairs_of(const LookTable& table) {
  std::vector<Set> pairs;
  for (std::size_t a = 0; a < table.plants(); ++a)
    for (std::size_t b = 0; b < a; ++b) {
      if (!to_be_told(table, a, b)) continue;
      Set tells = 0;
      for (std::size_t c = 0; c < table.characters(); ++c) {
        const Set x = table.shown[a][c], y = table.shown[b][c];
        if (x && y && !(x & y)) tells |= Set{1} << c;
      }
      if (tells && !(tells & table.given)) pairs.push_back(tells);
    }
  return pairs;
}

/// Looks at every subset.
Set shortest_by_force(const std::vector<Set>& pairs, const std::vector<int>& effort) {
  Set best = 0;
  bool any = false;
  const auto key = [&](Set set) {
    int sum = 0;
    std::vector<int> members;
    for (std::size_t c = 0; c < effort.size(); ++c)
      if (set >> c & 1U) sum += effort[c], members.push_back(int(c));
    return std::tuple(std::popcount(set), sum, members);
  };
  for (Set set = 0; set < Set{1} << effort.size(); ++set) {
    if (!std::all_of(pairs.begin(), pairs.end(), [&](Set pair) { return (pair & set) != 0; })) continue;
    if (any && std::popcount(set) > std::popcount(best)) continue;
    if (!any || key(set) < key(best)) best = set;
    any = true;
  }
  return best;
}

/// Of `kind`: how often states are unknown or several.
LookTable random_table(RandomStream& random, std::size_t plants, std::size_t characters, int kind) {
  LookTable table;
  for (std::size_t c = 0; c < characters; ++c) table.effort.push_back(1 << random.below(3));
  for (std::size_t p = 0; p < plants; ++p) {
    std::vector<Set> shown;
    for (std::size_t c = 0; c < characters; ++c) {
      Set states = Set{1} << random.below(kind == 2 ? 2 : 3);
      if (kind >= 1 && random.below(4) == 0) states |= Set{1} << random.below(3);
      if (kind >= 1 && random.below(5) == 0) states = 0;
      if (kind == 3) states = p == c ? 2 : 1;
      if (kind == 4) states = 1 + random.below(7);
      shown.push_back(states);
    }
    table.shown.push_back(shown);
    table.weight.push_back(double(1 + random.below(20)) / 20);
    table.likely.push_back(p == 0 || random.below(4) != 0);
  }
  return table;
}

/// Plants met at up to three stages, which the first character tells; of the others each shows at some.
LookTable staged_table(RandomStream& random, std::size_t plants, std::size_t characters) {
  const std::vector<Set> stages_shown = {7, 7, 1, 1, 5};  // leaves, flowers, flowers and capsules
  LookTable table;
  table.given = 1;
  table.effort = {1};
  std::vector<Set> shows = {7};
  for (std::size_t c = 0; c < characters; ++c) {
    table.effort.push_back(1 << random.below(3));
    shows.push_back(stages_shown[random.below(stages_shown.size())]);
  }
  for (std::size_t p = 0; p < plants; ++p) {
    const Set expected = 1 + random.below(7);
    const bool likely = p == 0 || random.below(4) != 0;
    std::vector<Set> written = {0};
    for (std::size_t c = 0; c < characters; ++c)
      written.push_back(random.below(5) == 0 ? 0 : 1 + random.below(random.below(4) == 0 ? 7 : 2));
    for (std::size_t stage = 0; stage < 3; ++stage) {
      const Set bit = Set{1} << stage;
      if (!(expected & bit) && !(expected & 1)) continue;
      table.plant.push_back(p);
      table.likely.push_back(likely);
      table.stray.push_back((expected & bit) == 0);
      table.weight.push_back(expected & bit ? double(1 + random.below(20)) / 20 : 0);
      table.hidden.push_back(0);
      table.shown.push_back(written);
      table.shown.back()[0] = bit;
      for (std::size_t c = 1; c < shows.size(); ++c)
        if (!(shows[c] & bit)) table.hidden.back() |= Set{1} << c, table.shown.back()[c] = 0;
    }
  }
  return table;
}

struct Here {
  std::vector<std::size_t> plants;
  std::vector<double> weight;
  Set asked = 0;
};

std::map<std::vector<std::size_t>, std::pair<Set, Here>> answers(const LookTable& table, const Here& here,
                                                                 std::size_t c) {
  std::map<std::vector<std::size_t>, std::pair<Set, Here>> branches;
  Set any = 0;
  for (const std::size_t p : here.plants) any |= table.shown[p][c];
  for (std::size_t state = 0; state < 64; ++state) {
    if (!(any >> state & 1U)) continue;
    std::vector<std::size_t> plants;
    for (const std::size_t p : here.plants)
      if (table.shown[p][c] == 0 || (table.shown[p][c] >> state & 1U)) plants.push_back(p);
    branches[plants].first |= Set{1} << state;
  }
  for (auto& [plants, branch] : branches) {
    branch.second = {plants, {}, here.asked | Set{1} << c};
    for (const std::size_t p : plants) {
      const auto at = std::find(here.plants.begin(), here.plants.end(), p) - here.plants.begin();
      const Set shown = table.shown[p][c];
      const double share = shown ? double(std::popcount(shown & branch.first)) / std::popcount(shown)
                                 : 1.0 / double(branches.size());
      branch.second.weight.push_back(here.weight[std::size_t(at)] * share);
    }
  }
  return branches;
}

bool parts(const LookTable& table, const Here& here, std::size_t c) {
  for (const std::size_t a : here.plants)
    for (const std::size_t b : here.plants) {
      const Set x = table.shown[a][c], y = table.shown[b][c];
      if (to_be_told(table, a, b) && x && y && !(x & y)) return true;
    }
  return false;
}

/// Parts some that are left, and can be looked at on all that are.
bool splits(const LookTable& table, const Here& here, std::size_t c) {
  return parts(table, here, c) && std::none_of(here.plants.begin(), here.plants.end(), [&](std::size_t row) {
           return !table.hidden.empty() && (table.hidden[row] >> c & 1U);
         });
}

std::vector<std::size_t> names_of(const LookTable& table, const std::vector<std::size_t>& rows) {
  std::set<std::size_t> names;
  for (const std::size_t row : rows) names.insert(table.plant.empty() ? row : table.plant[row]);
  return {names.begin(), names.end()};
}

/// Tries every order, remembering nothing.
double least_by_force(const LookTable& table, const Here& here) {
  double best = std::numeric_limits<double>::infinity();
  bool ends = true;
  for (std::size_t c = 0; c < table.characters(); ++c) {
    if ((here.asked >> c & 1U) || !splits(table, here, c)) continue;
    ends = false;
    double effort = 0;
    for (const double each : here.weight) effort += table.effort[c] * each;
    for (const auto& [plants, branch] : answers(table, here, c))
      effort += least_by_force(table, branch.second);
    best = std::min(best, effort);
  }
  return ends ? 0 : best;
}

Here everyone(const LookTable& table) {
  Here here{{}, table.weight, 0};
  for (std::size_t p = 0; p < table.plants(); ++p) here.plants.push_back(p);
  return here;
}

double whole_weight(const LookTable& table) {
  double sum = 0;
  for (const double each : table.weight) sum += each;
  return sum;
}

/// What a tree costs, walked from its first look by this file's own rules; checks that it is sound.
double walked(const LookTable& table, const LookTree& tree, std::size_t at, const Here& here) {
  CHECK(tree.looks[at].plants == names_of(table, here.plants));
  const std::size_t c = tree.looks[at].character;
  if (c == TreeLook::end) {
    // Also none that could not be looked at here: what is given must have led there first.
    for (std::size_t other = 0; other < table.characters(); ++other) CHECK_FALSE(parts(table, here, other));
    return 0;
  }
  for (const std::size_t row : here.plants)
    CHECK_FALSE((!table.hidden.empty() && (table.hidden[row] >> c & 1U)));
  double effort = 0;
  for (const double each : here.weight) effort += table.effort[c] * each;
  const auto branches = answers(table, here, c);
  // Branches that lead to the same looks are one answer.
  Set answered = 0;
  for (const TreeLook::Answer& answer : tree.looks[at].answers) {
    Set states = 0;
    for (const auto& [plants, branch] : branches) {
      if (!(branch.first & answer.states)) continue;
      states |= branch.first;
      effort += walked(table, tree, answer.next, branch.second);
    }
    CHECK(states == answer.states);
    CHECK((answered & states) == 0);
    answered |= states;
  }
  for (const auto& [plants, branch] : branches) CHECK((branch.first & ~answered) == 0);
  return effort;
}

double huffman(const std::vector<double>& weights) {
  std::priority_queue<double, std::vector<double>, std::greater<>> queue(weights.begin(), weights.end());
  double sum = 0;
  while (queue.size() > 1) {
    const double a = queue.top();
    queue.pop();
    const double b = queue.top();
    queue.pop();
    sum += a + b;
    queue.push(a + b);
  }
  return sum;
}

/// n plants and every way to part them in two.
LookTable all_partings(const std::vector<double>& weights) {
  LookTable table;
  table.weight = weights;
  table.likely.assign(weights.size(), true);
  table.shown.assign(weights.size(), {});
  for (Set part = 1; part < Set{1} << (weights.size() - 1); ++part) {
    table.effort.push_back(1);
    for (std::size_t p = 0; p < weights.size(); ++p) table.shown[p].push_back(part >> p & 1U ? 1 : 2);
  }
  return table;
}

}  // namespace

TEST_CASE("the shortest set is that of brute force, on random tables of every kind") {
  RandomStream random(RandomKey(2027, "shortest sets"));
  for (int i = 0; i < 400; ++i) {
    const int kind = i % 4;
    const LookTable table = random_table(random, 3 + random.below(10), 2 + random.below(8), kind);
    CAPTURE(i);
    const ShortestSet found = shortest_set(table);
    CHECK(found.exact);
    CHECK(found.characters == shortest_by_force(pairs_of(table), table.effort));
  }
}

TEST_CASE("the shortest set is that of brute force where pairs are any sets of characters") {
  RandomStream random(RandomKey(2027, "any pairs"));
  for (int i = 0; i < 300; ++i) {
    const std::size_t characters = 3 + random.below(10);
    std::vector<int> effort;
    for (std::size_t c = 0; c < characters; ++c) effort.push_back(1 << random.below(3));
    std::vector<Set> pairs;
    for (std::size_t left = 2 + random.below(30); left > 0; --left) {
      Set pair = 0;
      for (int k = 0; k < 2 + i % 3; ++k) pair |= Set{1} << random.below(characters);
      pairs.push_back(pair);
    }
    CAPTURE(i);
    CHECK(shortest_hitting_set(pairs, effort).characters == shortest_by_force(pairs, effort));
  }
}

// Known optima (textbook facts, from memory): the Petersen graph has vertex covers of 6 of its 10 vertices
// and none of 5; every set that meets all lines of the Fano plane has at least 3 points, and those of 3 are
// lines.
TEST_CASE("known optima of graphs and planes") {
  std::vector<Set> petersen;
  for (std::size_t i = 0; i < 5; ++i) {
    petersen.push_back(Set{1} << i | Set{1} << ((i + 1) % 5));
    petersen.push_back(Set{1} << (5 + i) | Set{1} << (5 + (i + 2) % 5));
    petersen.push_back(Set{1} << i | Set{1} << (5 + i));
  }
  CHECK(std::popcount(shortest_hitting_set(petersen, std::vector<int>(10, 1)).characters) == 6);
  std::vector<Set> fano;
  for (std::size_t i = 0; i < 7; ++i)
    fano.push_back(Set{1} << i | Set{1} << ((i + 1) % 7) | Set{1} << ((i + 3) % 7));
  const Set met = shortest_hitting_set(fano, std::vector<int>(7, 1)).characters;
  CHECK(std::popcount(met) == 3);
  CHECK(std::find(fano.begin(), fano.end(), met) != fano.end());
}

TEST_CASE("a search that meets its limit says so and still separates all") {
  RandomStream random(RandomKey(2027, "limits"));
  LookTable table = random_table(random, 30, 20, 2);
  const ShortestSet found = shortest_set(table, 3);
  CHECK_FALSE(found.exact);
  for (const Set pair : pairs_of(table)) CHECK((pair & found.characters) != 0);
}

TEST_CASE("the best order costs what brute force finds, and every end is one") {
  RandomStream random(RandomKey(2027, "orders"));
  for (int i = 0; i < 1500; ++i) {
    const LookTable table = random_table(random, 2 + random.below(6), 1 + random.below(4), i % 5);
    CAPTURE(i);
    const LookTree tree = best_order(table, (Set{1} << table.characters()) - 1);
    CHECK(tree.exact);
    CHECK(tree.whole);
    const double least = least_by_force(table, everyone(table)) / whole_weight(table);
    CHECK(tree.effort == doctest::Approx(least).epsilon(1e-9));
    if (tree.looks.empty()) continue;
    CHECK(walked(table, tree, 0, everyone(table)) / whole_weight(table) ==
          doctest::Approx(least).epsilon(1e-9));
  }
}

TEST_CASE("of plants met at several stages the shortest set and the best order are those of brute force") {
  RandomStream random(RandomKey(2027, "stages"));
  for (int i = 0; i < 1500; ++i) {
    const LookTable table = staged_table(random, 2 + random.below(3), 1 + random.below(4));
    CAPTURE(i);
    const ShortestSet shortest = shortest_set(table);
    CHECK(shortest.exact);
    CHECK(shortest.characters == shortest_by_force(pairs_of(table), table.effort));
    // Of all characters, not of the shortest set: there are more orders.
    const LookTree tree = best_order(table, (Set{1} << table.characters()) - 1);
    CHECK(tree.exact);
    const double least = least_by_force(table, everyone(table)) / whole_weight(table);
    CHECK(tree.effort == doctest::Approx(least).epsilon(1e-9));
    if (tree.looks.empty()) continue;
    CHECK(walked(table, tree, 0, everyone(table)) / whole_weight(table) ==
          doctest::Approx(least).epsilon(1e-9));
  }
}

// Where any parting in two is a look, the best order is Huffman's code (Huffman 1952; that it solves this
// identification problem: Zimmerman 1959, Garey 1972; from memory). The first weights and 2.2 are a common
// textbook example.
TEST_CASE("with every parting at hand the best order is as short as Huffman's code") {
  const LookTable textbook = all_partings({0.4, 0.2, 0.2, 0.1, 0.1});
  CHECK(best_order(textbook, (Set{1} << 15) - 1).number == doctest::Approx(2.2));
  RandomStream random(RandomKey(2027, "codes"));
  for (int i = 0; i < 20; ++i) {
    std::vector<double> weights;
    for (std::size_t left = 2 + random.below(4); left > 0; --left)
      weights.push_back(double(1 + random.below(50)));
    const LookTable table = all_partings(weights);
    const LookTree tree = best_order(table, (Set{1} << table.characters()) - 1);
    CHECK(tree.number == doctest::Approx(huffman(weights) / whole_weight(table)));
  }
}

TEST_CASE("an order too long to weigh is sound and says so; looks beyond the limit are cut off and said") {
  RandomStream random(RandomKey(2027, "long orders"));
  const LookTable table = random_table(random, 14, 8, 1);
  const Set all = (Set{1} << table.characters()) - 1;
  const LookTree best = best_order(table, all);
  REQUIRE(best.exact);
  const LookTree hasty = best_order(table, all, {.weighed = 1, .always_weighed = 2, .looks = 100000});
  CHECK_FALSE(hasty.exact);
  CHECK(hasty.whole);
  CHECK(hasty.effort >= best.effort - 1e-9);
  CHECK(walked(table, hasty, 0, everyone(table)) / whole_weight(table) ==
        doctest::Approx(hasty.effort).epsilon(1e-9));
  const LookTree cut = best_order(table, all, {.looks = 10});
  CHECK_FALSE(cut.whole);
  CHECK(cut.looks.size() <= 13);
}

TEST_CASE("nothing to tell apart, nothing to look at") {
  LookTable table;
  CHECK(shortest_set(table).characters == 0);
  CHECK(best_order(table, 0).looks.empty());
  table = {{1}, {{1}, {1}}, {1, 1}, {true, true}};
  CHECK(shortest_set(table).characters == 0);
  CHECK(best_order(table, 1).looks.empty());
}

}  // namespace separation_test
