#include "swardline/design/walking_order.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <numeric>
#include <utility>

#include "swardline/design/walking_ways.hpp"

namespace swardline {
namespace {

constexpr std::size_t exact_up_to = 12;
/// Gains below this many metres are rounding, not a shorter route.
constexpr double real_gain = 1e-7;

/// What a leg costs between places: 0 is the start, 1 the first point.
class Legs {
 public:
  Legs(Point start, const std::vector<Point>& points) : places_(points) {
    places_.insert(places_.begin(), start);
  }
  explicit Legs(const Ways& ways) : ways_(&ways) {}
  [[nodiscard]] std::size_t places() const { return ways_ != nullptr ? ways_->places : places_.size(); }
  double operator()(std::size_t a, std::size_t b) const {
    if (ways_ == nullptr) return swardline::metres_between(places_[a], places_[b]);
    return ways_->between(a, b) + (!ways_->is_open(a, b)     ? no_way
                                   : ways_->is_outside(a, b) ? out_of_site
                                                             : 0);
  }
  [[nodiscard]] double metres_between(std::size_t a, std::size_t b) const {
    return ways_ == nullptr ? swardline::metres_between(places_[a], places_[b]) : ways_->between(a, b);
  }

 private:
  /// Longer than any walk: legs over a barrier are taken as seldom as can be.
  static constexpr double no_way = 1e7;
  /// Legs that leave the site and come back: rather any other way.
  static constexpr double out_of_site = 1e5;
  std::vector<Point> places_;
  const Ways* ways_ = nullptr;
};

/// Held & Karp 1962: cheapest way to have visited each set of points and stand on its last.
std::vector<std::size_t> shortest(const Legs& legs) {
  const std::size_t n = legs.places() - 1;
  const std::size_t sets = std::size_t{1} << n;
  constexpr double never = std::numeric_limits<double>::infinity();
  std::vector<double> cost(sets * n, never);
  std::vector<std::uint8_t> before(sets * n, 0);
  for (std::size_t i = 0; i < n; ++i) cost[(std::size_t{1} << i) * n + i] = legs(0, i + 1);
  for (std::size_t set = 1; set < sets; ++set) {
    for (std::size_t last = 0; last < n; ++last) {
      const double so_far = cost[set * n + last];
      if (so_far == never) continue;
      for (std::size_t next = 0; next < n; ++next) {
        if (set >> next & 1) continue;
        const std::size_t slot = (set | std::size_t{1} << next) * n + next;
        const double total = so_far + legs(last + 1, next + 1);
        if (total < cost[slot]) {
          cost[slot] = total;
          before[slot] = std::uint8_t(last);
        }
      }
    }
  }
  std::size_t set = sets - 1, last = 0;
  for (std::size_t i = 1; i < n; ++i) {
    if (cost[set * n + i] < cost[set * n + last]) last = i;
  }
  std::vector<std::size_t> order(n);
  for (std::size_t place = n; place-- > 0;) {
    order[place] = last;
    const std::size_t previous = before[set * n + last];
    set &= ~(std::size_t{1} << last);
    last = previous;
  }
  return order;
}

/// An open route from a fixed start, improved by moves between near neighbours.
class OpenRoute {
 public:
  explicit OpenRoute(const Legs& legs) : legs_(legs), nodes_(legs.places()) {
    find_neighbours();
    nearest_first();
  }

  void improve() {
    while (reversed_one() || moved_one()) {
    }
  }

  [[nodiscard]] std::vector<std::size_t> order() const {
    std::vector<std::size_t> result;
    for (std::size_t i = 1; i < route_.size(); ++i) result.push_back(route_[i] - 1);
    return result;
  }

 private:
  double between(std::size_t a, std::size_t b) const { return legs_(a, b); }
  /// Metres of the leg between two places of the route; the route has no leg after its end.
  double leg(std::size_t from, std::size_t to) const {
    return to < route_.size() ? between(route_[from], route_[to]) : 0;
  }

  void find_neighbours() {
    const std::size_t keep = std::min<std::size_t>(nodes_ - 1, 24);
    near_.resize(nodes_);
    std::vector<std::pair<double, std::size_t>> all;
    for (std::size_t a = 0; a < nodes_; ++a) {
      all.clear();
      for (std::size_t b = 0; b < nodes_; ++b) {
        if (a != b) all.emplace_back(between(a, b), b);
      }
      std::partial_sort(all.begin(), all.begin() + std::ptrdiff_t(keep), all.end());
      for (std::size_t k = 0; k < keep; ++k) near_[a].push_back(all[k].second);
    }
  }

  void nearest_first() {
    std::vector<bool> seen(nodes_, false);
    route_ = {0};
    seen[0] = true;
    while (route_.size() < nodes_) {
      std::size_t best = 0;
      double least = std::numeric_limits<double>::infinity();
      for (std::size_t next = 0; next < nodes_; ++next) {
        const double away = seen[next] ? least : between(route_.back(), next);
        if (away < least) {
          least = away;
          best = next;
        }
      }
      seen[best] = true;
      route_.push_back(best);
    }
    place_.resize(nodes_);
    number_places(0, route_.size());
  }

  void number_places(std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) place_[route_[i]] = i;
  }

  /// 2-opt: turns the stretch [i, j] round when that shortens the route.
  bool reverse_if_shorter(std::size_t i, std::size_t j) {
    if (i < 1 || i >= j) return false;
    const double now = leg(i - 1, i) + leg(j, j + 1);
    const double after = leg(i - 1, j) + leg(i, j + 1);
    if (after >= now - real_gain) return false;
    std::reverse(route_.begin() + std::ptrdiff_t(i), route_.begin() + std::ptrdiff_t(j) + 1);
    number_places(i, j + 1);
    return true;
  }

  bool reversed_one() {
    bool any = false;
    for (std::size_t at = 0; at < route_.size(); ++at) {
      const std::size_t node = route_[at];
      for (const std::size_t other : near_[node]) {
        const std::size_t here = place_[node], there = place_[other];
        // The new leg node–other stands at the front of the reversed stretch, or at its end.
        if (there > here ? reverse_if_shorter(here + 1, there) : reverse_if_shorter(there, here - 1)) {
          any = true;
          break;
        }
      }
    }
    return any;
  }

  /// Or-opt: takes out the stretch [i, i + count) and puts it after place `after` (counted in
  /// the route without it), turned round or not, when that shortens the route.
  bool move_if_shorter(std::size_t i, std::size_t count, std::size_t after, bool turned) {
    const std::size_t j = i + count - 1;
    const std::size_t gap = after < i ? after : after + count;  // place in the route as it stands
    if (gap + 1 == i) return false;
    const std::size_t head = turned ? j : i, tail = turned ? i : j;
    const double now = leg(i - 1, i) + leg(j, j + 1) + leg(gap, gap + 1);
    const double joined = j + 1 < route_.size() ? leg(i - 1, j + 1) : 0;
    const double onward = gap + 1 < route_.size() ? between(route_[tail], route_[gap + 1]) : 0;
    const double after_move = joined + between(route_[gap], route_[head]) + onward;
    if (after_move >= now - real_gain) return false;
    using Step = std::vector<std::size_t>::difference_type;
    const auto begin = route_.begin();
    if (turned) std::reverse(begin + Step(i), begin + Step(j) + 1);
    if (gap > j) {
      std::rotate(begin + Step(i), begin + Step(j) + 1, begin + Step(gap) + 1);
    } else {
      std::rotate(begin + Step(gap) + 1, begin + Step(i), begin + Step(j) + 1);
    }
    number_places(std::min(i, gap), std::max(j, gap) + 1);
    return true;
  }

  /// Places, counted without the stretch, after which one end of it would stand beside `other`.
  bool move_beside(std::size_t i, std::size_t count, std::size_t other) {
    const std::size_t there = place_[other];
    if (there >= i && there < i + count) return false;
    const std::size_t without = there < i ? there : there - count;
    for (const bool turned : {false, true}) {
      if (move_if_shorter(i, count, without, turned)) return true;
      if (without > 0 && move_if_shorter(i, count, without - 1, turned)) return true;
    }
    return false;
  }

  bool moved_one() {
    bool any = false;
    for (std::size_t count = 1; count <= 3; ++count) {
      for (std::size_t i = 1; i + count <= route_.size(); ++i) {
        any = moved(i, count) || any;
      }
    }
    return any;
  }

  bool moved(std::size_t i, std::size_t count) {
    for (const std::size_t end : {i, i + count - 1}) {
      for (const std::size_t other : near_[route_[end]]) {
        if (move_beside(i, count, other)) return true;
      }
    }
    return false;
  }

  const Legs& legs_;
  std::size_t nodes_;  ///< the start, then the points
  std::vector<std::vector<std::size_t>> near_;
  std::vector<std::size_t> route_;  ///< nodes in order; the start stays first
  std::vector<std::size_t> place_;  ///< of each node in the route
};

Walk walk_over(const Legs& legs) {
  Walk walk;
  const std::size_t points = legs.places() - 1;
  walk.exact = points <= exact_up_to;
  if (points == 0) return walk;
  if (walk.exact) {
    walk.order = shortest(legs);
  } else {
    OpenRoute route(legs);
    route.improve();
    walk.order = route.order();
  }
  std::size_t from = 0;
  for (const std::size_t i : walk.order) {
    walk.leg_m.push_back(legs.metres_between(from, i + 1));
    walk.total_m += walk.leg_m.back();
    from = i + 1;
  }
  return walk;
}

}  // namespace

Walk walking_order(Point start, const std::vector<Point>& points) { return walk_over(Legs(start, points)); }

Walk walking_order(const Ways& ways) { return walk_over(Legs(ways)); }

}  // namespace swardline
