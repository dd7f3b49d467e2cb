#include "swardline/field/look_tree.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <limits>
#include <map>
#include <string>
#include <unordered_map>

namespace swardline {
namespace {

using Members = std::vector<std::uint64_t>;  ///< plants, one bit each

bool holds(const Members& set, std::size_t plant) { return (set[plant / 64] >> (plant % 64)) & 1U; }
void put(Members& set, std::size_t plant) { set[plant / 64] |= std::uint64_t{1} << (plant % 64); }
bool meet(const Members& a, const Members& b) {
  for (std::size_t w = 0; w < a.size(); ++w)
    if (a[w] & b[w]) return true;
  return false;
}

/// Plants that are left, how likely each is to have come here, and what was looked at.
struct Left {
  Members plants;
  std::vector<double> weight;  ///< by plant; 0 for those that are not left
  std::uint64_t asked = 0;
};
struct SplitBranch {
  std::uint64_t states = 0;
  Left left;
};

class OrderSearch {
 public:
  OrderSearch(const LookTable& table, std::uint64_t characters) : table_(table), characters_(characters) {
    const std::size_t words = (table.plants() + 63) / 64;
    for (std::size_t p = 0; p < table.plants(); ++p) {
      std::uint64_t divided = 0;
      for (std::size_t c = 0; c < table.characters(); ++c)
        if ((characters >> c & 1U) && std::popcount(table.shown[p][c]) != 1) divided |= std::uint64_t{1} << c;
      divided_.push_back(table.weight[p] > 0 ? divided : 0);  // nothing divided is nothing
    }
    separated_.assign(table.characters(), {});
    hides_.assign(table.characters(), Members(words, 0));
    for (std::size_t c = 0; c < table.characters(); ++c) {
      if (!(characters >> c & 1U)) continue;
      separated_[c].assign(table.plants(), Members(words, 0));
      for (std::size_t a = 0; a < table.plants(); ++a)
        if (table.hides(a, c)) put(hides_[c], a);
      for (std::size_t a = 0; a < table.plants(); ++a)
        for (std::size_t b = 0; b < table.plants(); ++b)
          if (table.matters(a, b) && table.separates(c, a, b)) put(separated_[c][a], b);
    }
    note_what_parts();
  }

  [[nodiscard]] Left all() const {
    Left left{Members((table_.plants() + 63) / 64, 0), table_.weight, 0};
    for (std::size_t p = 0; p < table_.plants(); ++p) put(left.plants, p);
    return left;
  }

  /// Whether the character can be looked at on all that are left, and separates a pair that matters of them.
  [[nodiscard]] bool tells(std::size_t c, const Left& left) const {
    if (!(characters_ >> c & 1U) || (left.asked >> c & 1U) || meet(hides_[c], left.plants)) return false;
    for (std::size_t p = 0; p < table_.plants(); ++p)
      if (holds(left.plants, p) && meet(separated_[c][p], left.plants)) return true;
    return false;
  }

  [[nodiscard]] std::vector<SplitBranch> split(const Left& left, std::size_t c) const {
    std::uint64_t states = 0;
    for (std::size_t p = 0; p < table_.plants(); ++p)
      if (holds(left.plants, p)) states |= table_.shown[p][c];
    std::vector<SplitBranch> branches;
    for (std::uint64_t rest = states; rest; rest &= rest - 1) {
      const std::uint64_t state = rest & (~rest + 1);
      Members plants(left.plants.size(), 0);
      for (std::size_t p = 0; p < table_.plants(); ++p)
        if (holds(left.plants, p) && (table_.shown[p][c] == 0 || (table_.shown[p][c] & state)))
          put(plants, p);
      const auto same = std::find_if(branches.begin(), branches.end(),
                                     [&](const SplitBranch& b) { return b.left.plants == plants; });
      if (same != branches.end())
        same->states |= state;
      else
        branches.push_back({state, {std::move(plants), {}, left.asked | std::uint64_t{1} << c}});
    }
    for (SplitBranch& branch : branches) {
      branch.left.weight.assign(table_.plants(), 0);
      for (std::size_t p = 0; p < table_.plants(); ++p) {
        if (!holds(branch.left.plants, p)) continue;
        const std::uint64_t shown = table_.shown[p][c];
        const double share =
            shown == 0 ? 1.0 / double(branches.size())
                       : double(std::popcount(shown & branch.states)) / double(std::popcount(shown));
        branch.left.weight[p] = left.weight[p] * share;
      }
    }
    return branches;
  }

  /// Least expected effort from here on, times the weight that is here. Stops meaning anything once
  /// `stopped()`.
  double least(const Left& left) {
    const std::string key = key_of(left);
    if (const auto known = known_.find(key); known != known_.end()) return known->second.effort;
    if (known_.size() >= limit_) stopped_ = true;
    if (stopped_) return 0;
    struct Try {
      double bound;
      std::size_t character;
      std::vector<SplitBranch> branches;
      std::vector<double> bounds;
    };
    std::vector<Try> tries;
    for (std::size_t c = 0; c < table_.characters(); ++c) {
      if (!tells(c, left)) continue;
      Try each{table_.effort[c] * weight_of(left), c, split(left, c), {}};
      for (const SplitBranch& branch : each.branches) {
        each.bounds.push_back(at_least(branch.left));
        each.bound += each.bounds.back();
      }
      tries.push_back(std::move(each));
    }
    Answer best;
    if (!tries.empty()) best.effort = std::numeric_limits<double>::infinity();
    std::stable_sort(tries.begin(), tries.end(),
                     [](const Try& a, const Try& b) { return a.bound < b.bound; });
    for (const Try& each : tries) {
      double effort = each.bound;
      for (std::size_t i = 0; i < each.branches.size() && !clearly_less(best.effort, effort); ++i)
        effort += least(each.branches[i].left) - each.bounds[i];
      if (stopped_) return 0;
      if (clearly_less(effort, best.effort) ||
          (!clearly_less(best.effort, effort) && each.character < best.character))
        best = {effort, each.character};
    }
    known_.emplace(key, best);
    return best.effort;
  }

  /// Begins anew, with room for `limit` sets of plants.
  void allow(std::size_t limit) {
    known_.clear();
    limit_ = limit;
    stopped_ = false;
  }
  [[nodiscard]] bool stopped() const { return stopped_; }
  [[nodiscard]] std::size_t sets_weighed() const { return known_.size(); }
  /// What is known now stays known to `first_look`.
  void keep() {
    for (const auto& [key, answer] : known_) kept_.emplace(key, answer.character);
  }
  /// The look that `least` found best; TreeLook::end where there is none.
  [[nodiscard]] std::size_t first_look(const Left& left) const { return kept_.at(key_of(left)); }

  /// The look that separates most for its effort, each pair by the lesser of its weights.
  [[nodiscard]] std::size_t telling_look(const Left& left) const {
    std::size_t best = TreeLook::end;
    double most = 0;
    for (std::size_t c = 0; c < table_.characters(); ++c) {
      if (!tells(c, left)) continue;
      double told = 0;
      for (std::size_t a = 0; a < table_.plants(); ++a)
        for (std::size_t b = a + 1; holds(left.plants, a) && b < table_.plants(); ++b)
          if (holds(left.plants, b) && holds(separated_[c][a], b))
            told += std::min(left.weight[a], left.weight[b]);
      told /= table_.effort[c];
      if (best == TreeLook::end || told > most) best = c, most = told;
    }
    return best;
  }

 private:
  struct Answer {
    double effort = 0;
    std::size_t character = TreeLook::end;
  };

  static bool clearly_less(double a, double b) {
    return std::isinf(b) ? !std::isinf(a) : a < b - 1e-12 * (1 + b);
  }

  static constexpr std::array<int, 3> levels = {1, 2, 4};

  /// On some branch of a look at the character where `a` still is, `b` no longer is.
  [[nodiscard]] bool may_part(std::size_t c, std::size_t a, std::size_t b) const {
    const std::uint64_t x = table_.shown[a][c], y = table_.shown[b][c];
    return !table_.hides(a, c) && y != 0 && (x == 0 || (x & ~y) != 0);
  }

  void note_what_parts() {
    const Members none((table_.plants() + 63) / 64, 0);
    parted_from_.assign(levels.size(), std::vector<Members>(table_.plants(), none));
    for (std::size_t a = 0; a < table_.plants(); ++a) {
      for (std::size_t b = 0; b < table_.plants(); ++b) {
        int cheapest = 0;
        bool must = false;
        for (std::size_t c = 0; c < table_.characters(); ++c) {
          if (!(characters_ >> c & 1U)) continue;
          must = must || (table_.matters(a, b) && table_.separates(c, a, b));
          if (may_part(c, a, b) && (cheapest == 0 || table_.effort[c] < cheapest))
            cheapest = table_.effort[c];
        }
        for (std::size_t level = 0; must && level < levels.size(); ++level)
          if (cheapest >= levels[level]) put(parted_from_[level][a], b);
      }
    }
  }

  [[nodiscard]] double weight_of(const Left& left) const {
    double sum = 0;
    for (const double each : left.weight) sum += each;
    return sum;
  }

  /// A plant costs at least the cheapest look that can part it from the one it is hardest to part from.
  [[nodiscard]] double at_least(const Left& left) const {
    double sum = 0;
    for (std::size_t p = 0; p < table_.plants(); ++p) {
      if (!holds(left.plants, p)) continue;
      for (std::size_t level = levels.size(); level-- > 0;) {
        if (!meet(parted_from_[level][p], left.plants)) continue;
        sum += levels[level] * left.weight[p];
        break;
      }
    }
    return sum;
  }

  /// Weights are part of it only where looks divide them: for all others they follow from who is left.
  [[nodiscard]] std::string key_of(const Left& left) const {
    std::uint64_t divided = 0;
    for (std::size_t p = 0; p < table_.plants(); ++p)
      if (holds(left.plants, p)) divided |= divided_[p];
    const std::uint64_t asked = left.asked & divided;
    std::string key(reinterpret_cast<const char*>(left.plants.data()), left.plants.size() * 8);
    if (asked == 0) return key;
    key.append(reinterpret_cast<const char*>(&asked), 8);
    for (std::size_t p = 0; p < table_.plants(); ++p)
      if (holds(left.plants, p) && (divided_[p] & left.asked))
        key.append(reinterpret_cast<const char*>(&left.weight[p]), sizeof(double));
    return key;
  }

  const LookTable& table_;
  std::uint64_t characters_;
  std::vector<std::uint64_t> divided_;           ///< by plant: characters whose looks divide its weight
  std::vector<std::vector<Members>> separated_;  ///< by character and plant, pairs that matter only
  std::vector<Members> hides_;                   ///< by character: on whom it cannot be looked at
  std::vector<std::vector<Members>>
      parted_from_;  ///< by level of effort and plant: those no cheaper look parts
  std::unordered_map<std::string, Answer> known_;
  std::unordered_map<std::string, std::size_t> kept_;
  std::size_t limit_ = 0;
  bool stopped_ = false;
};

/// Grows the likeliest ends first, so that what a limit cuts off is what is met least.
class TreeMaker {
 public:
  TreeMaker(const LookTable& table, OrderSearch& search, const OrderLimits& limits)
      : table_(table), search_(search), limits_(limits) {}

  LookTree make() {
    double whole = 0;
    for (const double each : table_.weight) whole += each;
    std::size_t room = limits_.weighed;
    open_.push_back({add(search_.all()), search_.all(), false});
    while (!open_.empty()) {
      const auto likeliest = std::max_element(open_.begin(), open_.end(), [](const Open& x, const Open& y) {
        return weight_of(x.left) != weight_of(y.left) ? weight_of(x.left) < weight_of(y.left) : x.at > y.at;
      });
      const Open next = *likeliest;
      open_.erase(likeliest);
      grow(next, room);
    }
    if (whole > 0) tree_.effort /= whole, tree_.number /= whole;
    return in_reading_order();
  }

 private:
  struct Open {
    std::size_t at;
    Left left;
    bool weighed;  ///< the best look of it and of all below is in `first_`
  };

  static double weight_of(const Left& left) {
    double sum = 0;
    for (const double each : left.weight) sum += each;
    return sum;
  }

  std::size_t add(const Left& left) {
    tree_.looks.emplace_back();
    std::vector<std::size_t>& plants = tree_.looks.back().plants;
    for (std::size_t p = 0; p < table_.plants(); ++p)
      if (holds(left.plants, p)) plants.push_back(table_.plant_of(p));
    std::sort(plants.begin(), plants.end());
    plants.erase(std::unique(plants.begin(), plants.end()), plants.end());
    return tree_.looks.size() - 1;
  }

  void grow(const Open& open, std::size_t& room) {
    bool weighed = open.weighed;
    if (!weighed) {
      // Half of the room for the first try, the rest for what is below; small questions are always weighed.
      search_.allow(std::max<std::size_t>(room / 2, limits_.always_weighed));
      search_.least(open.left);
      room -= std::min(room, search_.sets_weighed());
      weighed = !search_.stopped();
      if (weighed) search_.keep();
    }
    const std::size_t look = weighed ? search_.first_look(open.left) : search_.telling_look(open.left);
    if (look == TreeLook::end) return;
    if (!weighed) tree_.exact = false;
    if (tree_.looks.size() >= limits_.looks) {
      tree_.whole = false;
      return;
    }
    tree_.looks[open.at].character = look;
    const double here = weight_of(open.left);
    tree_.effort += table_.effort[look] * here;
    tree_.number += here;
    for (SplitBranch& branch : search_.split(open.left, look)) {
      const std::size_t next = add(branch.left);
      tree_.looks[open.at].answers.push_back({branch.states, next});
      open_.push_back({next, std::move(branch.left), weighed});
    }
  }

  /// Looks in the order one meets them, going down the first answer first. Looks from which everything is
  /// the same are one, and so are answers that lead to one.
  LookTree in_reading_order() {
    if (tree_.looks.front().character == TreeLook::end) return {};
    LookTree ordered;
    ordered.effort = tree_.effort;
    ordered.number = tree_.number;
    ordered.exact = tree_.exact;
    ordered.whole = tree_.whole;
    name_alike(0);
    place(0, ordered);
    return ordered;
  }

  /// The number that look `at` shares with those that are the same.
  std::size_t name_alike(std::size_t at) {
    const TreeLook& look = tree_.looks[at];
    std::vector<std::size_t> signature = {look.character, look.plants.size()};
    signature.insert(signature.end(), look.plants.begin(), look.plants.end());
    for (const TreeLook::Answer& answer : look.answers) {
      signature.push_back(answer.states);
      signature.push_back(name_alike(answer.next));
    }
    alike_.resize(tree_.looks.size());
    return alike_[at] = names_.emplace(std::move(signature), names_.size()).first->second;
  }

  std::size_t place(std::size_t at, LookTree& ordered) {
    if (const auto placed = placed_.find(alike_[at]); placed != placed_.end()) return placed->second;
    const std::size_t here = placed_[alike_[at]] = ordered.looks.size();
    ordered.looks.push_back(tree_.looks[at]);
    ordered.looks.back().answers.clear();
    for (std::size_t i = 0; i < tree_.looks[at].answers.size(); ++i) {
      const TreeLook::Answer& answer = tree_.looks[at].answers[i];
      const std::size_t next = place(answer.next, ordered);
      std::vector<TreeLook::Answer>& answers = ordered.looks[here].answers;
      const auto same = std::find_if(answers.begin(), answers.end(),
                                     [next](const TreeLook::Answer& other) { return other.next == next; });
      if (same == answers.end())
        answers.push_back({answer.states, next});
      else
        same->states |= answer.states;
    }
    return here;
  }

  const LookTable& table_;
  OrderSearch& search_;
  const OrderLimits& limits_;
  LookTree tree_;
  std::vector<Open> open_;
  std::vector<std::size_t> alike_;
  std::map<std::vector<std::size_t>, std::size_t> names_;
  std::map<std::size_t, std::size_t> placed_;
};

}  // namespace

LookTree best_order(const LookTable& table, std::uint64_t characters, const OrderLimits& limits) {
  characters |= table.given;
  if (table.plants() == 0 || characters == 0) return {};
  OrderSearch search(table, characters);
  return TreeMaker(table, search, limits).make();
}

}  // namespace swardline
