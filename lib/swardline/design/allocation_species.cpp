// Sharing out plots over strata for several species at once.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <queue>

#include "swardline/base/error.hpp"
#include "swardline/design/allocation_parts.hpp"

namespace swardline {
namespace {

double total_expected(const std::vector<Share>& shares, const std::vector<std::size_t>& order,
                      const ExpectedSpecies& species) {
  double total = 0;
  for (const std::size_t i : order) {
    if (!shares[i].least_only) total += shares[i].area * species.mean[i];
  }
  return total;
}

/// Hands out plots one by one. Everything is in the order of the strata's and the species' names, and
/// compared as squares, so that no order given and no square root decides anything.
class Compromise {
 public:
  Compromise(const std::vector<Share>& shares, std::vector<const ExpectedSpecies*> species,
             Available available, int least)
      : shares_(shares),
        order_(allocation_parts::by_name(shares)),
        species_(std::move(species)),
        left_(available.amount),
        by_cost_(available.is_cost),
        numbers_(shares.size(), least) {
    for (std::size_t rank = 0; rank < order_.size(); ++rank) start(rank);
    queues_.resize(species_.size());
    for (std::size_t k = 0; k < species_.size(); ++k) open(k);
  }

  [[nodiscard]] double left() const { return left_; }
  [[nodiscard]] bool any_spread() const {
    return std::any_of(variance_.begin(), variance_.end(), [](double v) { return v > 0; });
  }

  std::vector<int> numbers() {
    for (std::size_t k = worst(); k < species_.size(); k = worst()) {
      const std::size_t rank = best(k);
      if (rank == order_.size()) {
        done_[k] = true;
      } else {
        add_plot(rank);
      }
    }
    return std::move(numbers_);
  }

 private:
  struct Gain {
    double lowered = 0;  ///< of the variance by one more plot, for its cost
    std::size_t rank = 0;
    int plots = 0;  ///< when it was computed; gains only fall
    bool operator<(const Gain& other) const {
      return lowered != other.lowered ? lowered < other.lowered : rank > other.rank;
    }
  };

  [[nodiscard]] double price(std::size_t i) const { return by_cost_ ? shares_[i].cost : 1; }

  /// A²S² of one species in one share.
  [[nodiscard]] double weight(std::size_t k, std::size_t i) const {
    const double as = shares_[i].area * species_[k]->sd[i];
    return as * as;
  }

  void start(std::size_t rank) {
    const std::size_t i = order_[rank];
    const bool spread = std::any_of(species_.begin(), species_.end(),
                                    [i](const ExpectedSpecies* one) { return one->sd[i] > 0; });
    if (!shares_[i].least_only && spread) numbers_[i] = std::max(numbers_[i], 1);
    left_ -= numbers_[i] * price(i);
  }

  void open(std::size_t k) {
    const double wanted = total_expected(shares_, order_, *species_[k]) * species_[k]->target;
    scale_.push_back(1 / (wanted * wanted));
    variance_.push_back(0);
    done_.push_back(false);
    for (std::size_t rank = 0; rank < order_.size(); ++rank) {
      const std::size_t i = order_[rank];
      if (shares_[i].least_only || !(weight(k, i) > 0)) continue;
      variance_[k] += weight(k, i) / numbers_[i];
      queues_[k].push(gain(k, rank));
    }
    done_[k] = queues_[k].empty();
  }

  [[nodiscard]] Gain gain(std::size_t k, std::size_t rank) const {
    const std::size_t i = order_[rank];
    const double n = numbers_[i];
    return {weight(k, i) / (n * (n + 1) * shares_[i].cost), rank, numbers_[i]};
  }

  /// The species farthest from its target of those that can still be helped; their number when none can.
  [[nodiscard]] std::size_t worst() const {
    std::size_t found = species_.size();
    for (std::size_t k = 0; k < species_.size(); ++k) {
      if (done_[k]) continue;
      if (found == species_.size() || variance_[k] * scale_[k] > variance_[found] * scale_[found]) found = k;
    }
    return found;
  }

  /// The stratum that helps the species most and can be paid for; the number of strata when there is none.
  [[nodiscard]] std::size_t best(std::size_t k) {
    std::priority_queue<Gain>& queue = queues_[k];
    while (!queue.empty()) {
      const Gain top = queue.top();
      const std::size_t i = order_[top.rank];
      // What is left only falls, so a stratum too dear now stays too dear.
      if (left_ < price(i) * (1 - 1e-9)) {
        queue.pop();
      } else if (top.plots != numbers_[i]) {
        queue.pop();
        queue.push(gain(k, top.rank));
      } else {
        return top.rank;
      }
    }
    return order_.size();
  }

  void add_plot(std::size_t rank) {
    const std::size_t i = order_[rank];
    const double n = numbers_[i]++;
    left_ -= price(i);
    for (std::size_t k = 0; k < species_.size(); ++k) variance_[k] -= weight(k, i) / (n * (n + 1));
  }

  const std::vector<Share>& shares_;
  std::vector<std::size_t> order_;
  std::vector<const ExpectedSpecies*> species_;
  double left_;
  bool by_cost_;
  std::vector<int> numbers_;
  std::vector<double> scale_;     ///< 1/(target × total)², by species
  std::vector<double> variance_;  ///< of the estimated total, by species
  std::vector<bool> done_;        ///< nothing that can be paid for helps it
  std::vector<std::priority_queue<Gain>> queues_;
};

}  // namespace

std::vector<int> allocate_over_species(const std::vector<Share>& shares,
                                       const std::vector<ExpectedSpecies>& species, Available available,
                                       int least, const Place& place) {
  allocation_parts::check_minimum(shares, available, least, place);
  if (std::all_of(shares.begin(), shares.end(), [](const Share& share) { return share.least_only; })) {
    return std::vector<int>(shares.size(), least);
  }
  const std::vector<std::size_t> order = allocation_parts::by_name(shares);
  std::vector<const ExpectedSpecies*> by_code;
  for (const ExpectedSpecies& one : species) {
    by_code.push_back(&one);
    if (total_expected(shares, order, one) > 0) continue;
    throw InputError(
        place,
        fmt::format("{} is expected nowhere (mean 0 in every stratum), so no relative error can "
                    "be aimed at.",
                    one.code),
        fmt::format("Give its means under [sample.spread.{}], or take the table out.", one.code));
  }
  std::sort(by_code.begin(), by_code.end(),
            [](const ExpectedSpecies* a, const ExpectedSpecies* b) { return a->code < b->code; });
  Compromise compromise(shares, std::move(by_code), available, least);
  if (!compromise.any_spread()) allocation_parts::no_spread(place);
  // With a minimum of 0, one plot in each stratum with spread may be more than there is.
  if (compromise.left() < 0) allocation_parts::check_minimum(shares, available, std::max(1, least), place);
  return compromise.numbers();
}

std::optional<double> expected_relative_error(const std::vector<Share>& shares,
                                              const std::vector<int>& numbers,
                                              const ExpectedSpecies& species) {
  const std::vector<std::size_t> order = allocation_parts::by_name(shares);
  const double total = total_expected(shares, order, species);
  if (!(total > 0)) return std::nullopt;
  double variance = 0;
  for (const std::size_t i : order) {
    if (shares[i].least_only || !(species.sd[i] > 0)) continue;
    if (numbers[i] <= 0) return std::nullopt;
    const double as = shares[i].area * species.sd[i];
    variance += as * as / numbers[i];
  }
  return std::sqrt(variance) / total;
}

}  // namespace swardline
