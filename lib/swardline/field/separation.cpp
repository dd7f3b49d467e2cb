#include "swardline/field/separation.hpp"

#include <algorithm>
#include <bit>
#include <limits>

namespace swardline {
namespace {

using CharacterSet = std::uint64_t;
using Pairs = std::vector<CharacterSet>;
using Cost = std::int64_t;

constexpr CharacterSet only(std::size_t character) { return CharacterSet{1} << character; }
constexpr Cost no_set = std::numeric_limits<Cost>::max() / 4;

/// Each pair once, and none that is separated whenever another one is.
void drop_needless_pairs(Pairs& pairs) {
  std::sort(pairs.begin(), pairs.end(), [](CharacterSet a, CharacterSet b) {
    const int na = std::popcount(a), nb = std::popcount(b);
    return na != nb ? na < nb : a < b;
  });
  pairs.erase(std::unique(pairs.begin(), pairs.end()), pairs.end());
  Pairs kept;
  for (const CharacterSet pair : pairs) {
    const bool needless =
        std::any_of(kept.begin(), kept.end(), [&](CharacterSet other) { return (other & ~pair) == 0; });
    if (!needless) kept.push_back(pair);
  }
  pairs = std::move(kept);
}

/// Branch and bound. A character costs `whole` and its effort, so that one character less outweighs any
/// effort: costs compare as (number, effort) do.
class CoverSearch {
 public:
  CoverSearch(const std::vector<int>& effort, std::size_t limit) : limit_(limit) {
    Cost whole = 1;
    for (const int each : effort) whole += each;
    for (const int each : effort) cost_.push_back(whole + each);
  }

  /// Least cost below `bound` of a set of `allowed` characters that meets all pairs; no_set where there is
  /// none. `pairs` sorted by drop_needless_pairs.
  Cost least(Pairs pairs, CharacterSet allowed, Cost bound) {
    best_ = bound;
    found_ = no_set;
    best_set_ = 0;
    search(std::move(pairs), allowed, 0, 0);
    return found_;
  }
  [[nodiscard]] CharacterSet set() const { return best_set_; }
  [[nodiscard]] Cost cost(std::size_t character) const { return cost_[character]; }
  [[nodiscard]] Cost cost_of(CharacterSet set) const {
    Cost sum = 0;
    for (; set; set &= set - 1) sum += cost_[std::size_t(std::countr_zero(set))];
    return sum;
  }
  [[nodiscard]] bool stopped() const { return steps_ > limit_; }

  /// A set that meets all pairs: again and again the character that meets most of the rest for its cost.
  [[nodiscard]] CharacterSet greedy(Pairs pairs, CharacterSet allowed) const {
    CharacterSet set = 0;
    while (!pairs.empty()) {
      const std::vector<std::size_t> met = meets(pairs);
      std::size_t best = 64;
      for (std::size_t c = 0; c < cost_.size(); ++c)
        if ((allowed & only(c)) && met[c] > 0 &&
            (best == 64 || Cost(met[c]) * cost_[best] > Cost(met[best]) * cost_[c]))
          best = c;
      if (best == 64) return 0;
      set |= only(best);
      std::erase_if(pairs, [&](CharacterSet pair) { return pair & only(best); });
    }
    return set;
  }

 private:
  [[nodiscard]] std::vector<std::size_t> meets(const Pairs& pairs) const {
    std::vector<std::size_t> met(cost_.size(), 0);
    for (CharacterSet pair : pairs)
      for (; pair; pair &= pair - 1) ++met[std::size_t(std::countr_zero(pair))];
    return met;
  }

  /// Every one of some pairs without a character in common needs a character of its own, which costs at
  /// least its cheapest; and no character meets more pairs than the one that meets most.
  [[nodiscard]] Cost lower_bound(const Pairs& pairs, CharacterSet allowed,
                                 const std::vector<std::size_t>& met) const {
    Cost apart = 0;
    CharacterSet taken = 0;
    for (const CharacterSet pair : pairs) {
      if (pair & taken) continue;
      taken |= pair;
      apart += cheapest(pair);
    }
    std::vector<std::size_t> sorted;
    for (std::size_t c = 0; c < met.size(); ++c)
      if (allowed & only(c)) sorted.push_back(met[c]);
    std::sort(sorted.begin(), sorted.end(), std::greater<>());
    std::size_t number = 0, sum = 0;
    while (number < sorted.size() && sum < pairs.size()) sum += sorted[number++];
    return std::max(apart, Cost(number) * cheapest(allowed));
  }

  [[nodiscard]] Cost cheapest(CharacterSet set) const {
    Cost least = no_set;
    for (; set; set &= set - 1) least = std::min(least, cost_[std::size_t(std::countr_zero(set))]);
    return least;
  }

  void found(CharacterSet set, Cost cost) {
    if (cost >= best_) return;
    best_ = found_ = cost;
    best_set_ = set;
  }

  /// Takes out characters that meet nothing another one, no dearer, does not meet as well.
  void drop_needless_characters(const Pairs& pairs, CharacterSet& allowed) const {
    std::vector<std::vector<std::uint64_t>> rows(cost_.size());
    const std::size_t words = (pairs.size() + 63) / 64;
    for (CharacterSet rest = allowed; rest; rest &= rest - 1)
      rows[std::size_t(std::countr_zero(rest))].assign(words, 0);
    for (std::size_t i = 0; i < pairs.size(); ++i)
      for (CharacterSet rest = pairs[i] & allowed; rest; rest &= rest - 1)
        rows[std::size_t(std::countr_zero(rest))][i / 64] |= std::uint64_t{1} << (i % 64);
    const auto within = [&](std::size_t a, std::size_t b) {
      for (std::size_t w = 0; w < words; ++w)
        if (rows[a][w] & ~rows[b][w]) return false;
      return true;
    };
    for (CharacterSet as = allowed; as; as &= as - 1) {
      const auto a = std::size_t(std::countr_zero(as));
      for (CharacterSet bs = allowed; bs; bs &= bs - 1) {
        const auto b = std::size_t(std::countr_zero(bs));
        if (a == b || cost_[b] > cost_[a] || !within(a, b)) continue;
        allowed &= ~only(a);
        break;
      }
    }
  }

  void search(Pairs pairs, CharacterSet allowed, CharacterSet set, Cost cost) {
    if (++steps_ > limit_ || cost >= best_) return;
    // Forced characters, needless characters and needless pairs, until nothing changes.
    for (bool changed = true; changed;) {
      changed = false;
      CharacterSet forced = 0;
      for (CharacterSet& pair : pairs) {
        pair &= allowed;
        if (pair == 0) return;
        if (std::has_single_bit(pair)) forced |= pair;
      }
      if (forced) {
        set |= forced;
        cost += cost_of(forced);
        if (cost >= best_) return;
        std::erase_if(pairs, [&](CharacterSet pair) { return pair & forced; });
        allowed &= ~forced;
      }
      if (pairs.empty()) return found(set, cost);
      drop_needless_pairs(pairs);
      const CharacterSet before = allowed;
      CharacterSet in_use = 0;
      for (const CharacterSet pair : pairs) in_use |= pair;
      allowed &= in_use;
      drop_needless_characters(pairs, allowed);
      changed = allowed != before;
    }
    const std::vector<std::size_t> met = meets(pairs);
    if (cost + lower_bound(pairs, allowed, met) >= best_) return;
    if (one_more(pairs, allowed, set, cost)) return;
    // One of the pair with the fewest characters must be taken; those tried before need not be tried again.
    CharacterSet choices = pairs.front();
    std::vector<std::size_t> order;
    for (; choices; choices &= choices - 1) order.push_back(std::size_t(std::countr_zero(choices)));
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return met[a] > met[b]; });
    for (const std::size_t c : order) {
      Pairs rest;
      for (const CharacterSet pair : pairs)
        if (!(pair & only(c))) rest.push_back(pair);
      allowed &= ~only(c);
      search(std::move(rest), allowed, set | only(c), cost + cost_[c]);
    }
  }

  /// Where one character meets all that is left no two are better; and where only one can be paid for and
  /// none does, nothing is to be found here. True where that settles it.
  bool one_more(const Pairs& pairs, CharacterSet allowed, CharacterSet set, Cost cost) {
    CharacterSet all = allowed;
    for (const CharacterSet pair : pairs) all &= pair;
    if (all) {
      std::size_t best = std::size_t(std::countr_zero(all));
      for (; all; all &= all - 1)
        if (const auto c = std::size_t(std::countr_zero(all)); cost_[c] < cost_[best]) best = c;
      found(set | only(best), cost + cost_[best]);
      return true;
    }
    return cost + 2 * cheapest(allowed) >= best_;
  }

  std::vector<Cost> cost_;
  std::size_t limit_, steps_ = 0;
  Cost best_ = 0, found_ = no_set;
  CharacterSet best_set_ = 0;
};

}  // namespace

std::uint64_t LookTable::separating(std::size_t a, std::size_t b) const {
  std::uint64_t set = 0;
  for (std::size_t c = 0; c < characters(); ++c)
    if (separates(c, a, b)) set |= only(c);
  return set;
}

ShortestSet shortest_hitting_set(Pairs pairs, const std::vector<int>& effort, std::size_t limit) {
  std::erase(pairs, CharacterSet{0});
  drop_needless_pairs(pairs);
  ShortestSet shortest;
  if (pairs.empty()) return shortest;
  CoverSearch search(effort, limit);
  CharacterSet allowed = 0;
  for (const CharacterSet pair : pairs) allowed |= pair;
  shortest.characters = search.greedy(pairs, allowed);
  Cost best = search.cost_of(shortest.characters);
  if (const Cost least = search.least(pairs, allowed, best); least < best) {
    best = least;
    shortest.characters = search.set();
  }
  // Of all sets of this cost the earliest: each character in turn, taken where a set of this cost has it.
  CharacterSet taken = 0;
  for (std::size_t c = 0; c < effort.size() && !pairs.empty() && !search.stopped(); ++c) {
    if (!(allowed & only(c))) continue;
    allowed &= ~only(c);
    if (shortest.characters & only(c)) {
      taken |= only(c);
    } else {
      Pairs rest;
      for (const CharacterSet pair : pairs)
        if (!(pair & only(c))) rest.push_back(pair);
      const Cost spent = search.cost_of(taken) + search.cost(c);
      const bool covered = rest.empty();
      if (spent > best || (covered && spent != best)) continue;
      if (!covered && search.least(rest, allowed, best - spent + 1) != best - spent) continue;
      taken |= only(c);
      shortest.characters = taken | (covered ? 0 : search.set());
    }
    std::erase_if(pairs, [&](CharacterSet pair) { return pair & only(c); });
  }
  shortest.exact = !search.stopped();
  return shortest;
}

ShortestSet shortest_set(const LookTable& table, std::size_t limit) {
  Pairs pairs;
  for (std::size_t a = 0; a < table.plants(); ++a)
    for (std::size_t b = a + 1; b < table.plants(); ++b)
      if (const CharacterSet tells = table.separating(a, b); table.matters(a, b) && !(tells & table.given))
        pairs.push_back(tells);
  return shortest_hitting_set(std::move(pairs), table.effort, limit);
}

}  // namespace swardline
