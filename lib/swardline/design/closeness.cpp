#include "swardline/design/closeness.hpp"

#include <algorithm>
#include <cmath>
#include <unordered_map>

#include "swardline/geo/point_tree.hpp"

namespace swardline {
namespace {

constexpr double most_departure = 0.05;
constexpr double clear_of_noise = 3;  // standard errors

/// Points placed so far, to ask whether a new one is far enough from all.
class Placed {
 public:
  explicit Placed(double apart_m) : apart_(apart_m) {}
  [[nodiscard]] bool far_enough(Point at) const {
    const std::int64_t col = number(at.x), row = number(at.y);
    for (std::int64_t c = col - 1; c <= col + 1; ++c) {
      for (std::int64_t r = row - 1; r <= row + 1; ++r) {
        const auto found = squares_.find(square(c, r));
        if (found == squares_.end()) continue;
        for (const Point& other : found->second) {
          const double dx = other.x - at.x, dy = other.y - at.y;
          if (dx * dx + dy * dy < apart_ * apart_) return false;
        }
      }
    }
    return true;
  }
  void add(Point at) { squares_[square(number(at.x), number(at.y))].push_back(at); }

 private:
  [[nodiscard]] std::int64_t number(double metres) const { return std::int64_t(std::floor(metres / apart_)); }
  static std::uint64_t square(std::int64_t col, std::int64_t row) {
    return std::uint64_t(col) * 0x9E3779B97F4A7C15ULL + std::uint64_t(row);
  }
  double apart_;
  std::unordered_map<std::uint64_t, std::vector<Point>> squares_;
};

std::vector<std::size_t> without(const std::vector<std::size_t>& all, const std::vector<std::size_t>& taken) {
  std::vector<std::size_t> left;
  std::set_difference(all.begin(), all.end(), taken.begin(), taken.end(), std::back_inserter(left));
  return left;
}

/// `count` of the points at `from`, spread; ascending.
std::vector<std::size_t> spread_sample(const std::vector<Point>& points, const std::vector<std::size_t>& from,
                                       std::size_t count, const RandomKey& key) {
  std::vector<Point> at;
  at.reserve(from.size());
  for (const std::size_t index : from) at.push_back(points[index]);
  std::vector<std::size_t> taken = pivotal_sample(at, count, key);
  for (std::size_t& index : taken) index = from[index];
  return taken;
}

std::vector<std::size_t> in_spread_order(const std::vector<Point>& points,
                                         const std::vector<std::size_t>& units, const RandomKey& key) {
  std::vector<Point> at;
  for (const std::size_t unit : units) at.push_back(points[unit]);
  std::vector<std::size_t> order = spread_order(at, key);
  for (std::size_t& index : order) index = units[index];
  return order;
}

}  // namespace

Chosen choose(const std::vector<Point>& points, int planned, int spares, const RandomKey& key) {
  std::vector<std::size_t> all(points.size());
  for (std::size_t i = 0; i < all.size(); ++i) all[i] = i;
  const std::vector<std::size_t> first =
      spread_sample(points, all, std::size_t(planned), key.under("planned"));
  const std::vector<std::size_t> left = without(all, first);
  const std::vector<std::size_t> second =
      spread_sample(points, left, std::size_t(spares), key.under("spares"));
  Chosen chosen;
  chosen.planned = in_spread_order(points, first, key.under("planned order"));
  chosen.spares = in_spread_order(points, second, key.under("spares order"));
  return chosen;
}

void add_reserve(const std::vector<Point>& points, Chosen& chosen, const RandomKey& key) {
  std::vector<std::size_t> all(points.size()), taken = chosen.planned;
  for (std::size_t i = 0; i < all.size(); ++i) all[i] = i;
  taken.insert(taken.end(), chosen.spares.begin(), chosen.spares.end());
  std::sort(taken.begin(), taken.end());
  const std::vector<std::size_t> rest = without(all, taken);
  const std::size_t count = std::min(rest.size(), 2 * taken.size());
  chosen.reserve = in_spread_order(points, spread_sample(points, rest, count, key.under("reserve")),
                                   key.under("reserve order"));
}

namespace {

KeptApart keep_apart_of(const std::vector<Point>& points, const Chosen& chosen, double apart_m, int spares) {
  constexpr std::size_t gave_way = ~std::size_t{0};
  Placed placed(apart_m);
  KeptApart kept;
  for (const std::size_t unit : chosen.planned) {
    const bool stays = placed.far_enough(points[unit]);
    if (stays) placed.add(points[unit]);
    kept.planned.push_back(stays ? unit : gave_way);
  }
  std::vector<std::size_t> waiting = chosen.spares;
  waiting.insert(waiting.end(), chosen.reserve.begin(), chosen.reserve.end());
  // One pass is enough: who is too near to those placed now is too near to those placed later.
  auto next = waiting.begin();
  const auto take = [&](std::size_t& unit) {
    for (; next != waiting.end(); ++next) {
      if (!placed.far_enough(points[*next])) continue;
      placed.add(points[*next]);
      unit = *next++;
      return true;
    }
    return false;
  };
  for (std::size_t& unit : kept.planned) {
    if (unit == gave_way && take(unit)) ++kept.replaced;
  }
  std::erase(kept.planned, gave_way);
  std::size_t spare = 0;
  while (kept.spares.size() < std::size_t(spares) && take(spare)) kept.spares.push_back(spare);
  return kept;
}

}  // namespace

KeptApart keep_apart(const std::vector<Point>& points, Chosen& chosen, double apart_m, int spares,
                     const RandomKey& key) {
  KeptApart kept = keep_apart_of(points, chosen, apart_m, spares);
  const bool all = kept.planned.size() == chosen.planned.size() && kept.spares.size() == std::size_t(spares);
  if (all || !chosen.reserve.empty()) return kept;
  add_reserve(points, chosen, key);
  return keep_apart_of(points, chosen, apart_m, spares);
}

namespace {

/// Parts of the ground and the strip along its edge.
class Parts {
 public:
  static constexpr std::size_t parts = 20, all = parts + 1;

  Parts(Ground& ground, const DrawRequest& request, const RandomKey& key)
      : cloud_(points_of_cloud(ground, key)), tree_(cloud_) {
    if (request.survey_area == nullptr || request.reach_m <= 0) return;
    inner_.emplace(buffered(*request.survey_area, -request.reach_m));
  }
  /// The part a point is in: that of the nearest of 2,000 points, 100 that follow one another in
  /// hierarchical order to a part.
  [[nodiscard]] std::size_t part(Point at) const {
    tree_.all_nearest(at, nearest_);
    return nearest_.front() * parts / cloud_.size();
  }
  [[nodiscard]] bool at_edge(Point at) const { return inner_ && !inner_->contains(at); }

 private:
  static std::vector<Point> points_of_cloud(Ground& ground, const RandomKey& key) {
    std::vector<Point> points;
    for (const Candidate& c : ground.candidates(2000, key.under("parts"))) points.push_back(c.at);
    return points;
  }
  std::vector<Point> cloud_;
  PointTree tree_;
  std::optional<PreparedArea> inner_;
  mutable std::vector<std::uint32_t> nearest_;
};

using Counts = std::array<double, Parts::all>;

Counts count(const Parts& parts, const std::vector<Point>& points, const std::vector<std::size_t>& units) {
  Counts counts{};
  for (const std::size_t unit : units) {
    counts[parts.part(points[unit])] += 1;
    if (parts.at_edge(points[unit])) counts[Parts::parts] += 1;
  }
  return counts;
}

}  // namespace

Departure simulate_departure(Ground& ground, const DrawRequest& request, std::int64_t candidates,
                             const RandomKey& key) {
  Departure departure;
  // About four million candidates in all: the more plots a draw has, the fewer redraws tell as much.
  departure.redraws = int(std::clamp<std::int64_t>(4'000'000 / candidates, 100, 1000));
  if (!ground.kept_whole()) departure.redraws = 100;
  const Parts parts(ground, request, key);
  std::vector<Counts> with_rule, without_rule;
  Counts sum_with{}, sum_without{}, sum_candidates{};
  double all_with = 0, all_candidates = 0;
  for (int redraw = 0; redraw < departure.redraws; ++redraw) {
    const RandomKey own = key.under("redraw").under(std::uint64_t(redraw));
    std::vector<Point> points;
    std::vector<std::size_t> every;
    for (const Candidate& c : ground.candidates(candidates, own.under("candidates"))) {
      every.push_back(points.size());
      points.push_back(c.at);
    }
    Chosen chosen = choose(points, request.planned, request.spares, own);
    const KeptApart kept = keep_apart(points, chosen, request.apart_m, 0, own);
    if (kept.planned.size() < std::size_t(request.planned)) ++departure.short_redraws;
    with_rule.push_back(count(parts, points, kept.planned));
    without_rule.push_back(count(parts, points, chosen.planned));
    all_with += double(kept.planned.size());
    for (std::size_t p = 0; p < Parts::all; ++p) {
      sum_with[p] += with_rule.back()[p];
      sum_without[p] += without_rule.back()[p];
    }
    if (redraw >= 100) continue;  // enough to know the parts' shares of the area
    const Counts here = count(parts, points, every);
    for (std::size_t p = 0; p < Parts::all; ++p) sum_candidates[p] += here[p];
    all_candidates += double(every.size());
  }
  // The same draw without the rule has equal chances exactly, so the difference between the two is
  // the rule's doing, and most of the noise, being common to both, falls out.
  const double all_without = double(request.planned) * departure.redraws;
  const double scale = all_without / all_with;
  for (std::size_t p = 0; p < Parts::all; ++p) {
    const double expected = all_without * sum_candidates[p] / all_candidates;
    if (expected < 50) continue;  // an edge strip too thin to say anything about
    const double mean = (scale * sum_with[p] - sum_without[p]) / departure.redraws;
    double squares = 0;
    for (int i = 0; i < departure.redraws; ++i) {
      const double difference = scale * with_rule[std::size_t(i)][p] - without_rule[std::size_t(i)][p] - mean;
      squares += difference * difference;
    }
    const double value = std::abs(mean) * departure.redraws / expected;
    const double error = std::sqrt(squares * departure.redraws / (departure.redraws - 1.0)) / expected;
    if (value > most_departure && value > clear_of_noise * error) departure.beyond_noise = true;
    if (value > departure.largest) {
      departure.largest = value;
      departure.error = error;
      departure.at_edge = p == Parts::parts;
    }
  }
  return departure;
}

}  // namespace swardline
