#include "swardline/design/allocation.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/design/allocation_parts.hpp"

namespace swardline {
namespace {

double weight_of(const Share& share, Allocation how) {
  switch (how) {
    case Allocation::equal:
      return 1;
    case Allocation::proportional:
      return share.area;
    case Allocation::optimal:
      return share.area * share.spread / std::sqrt(share.cost);
  }
  return 0;
}

struct Claim {
  std::size_t share;  ///< index into the shares by name
  double weight = 0;
  double price = 1;  ///< of one plot, in the unit of what is available
  double fair = 0;
};

/// Holds at the minimum what cannot reach it and shares the rest again, until every fair
/// share left is at least the minimum. Ends, because the mean of the fair shares is never below it.
void settle_fair_shares(std::vector<Claim>& free, double& left, int least) {
  for (bool held = true; held && !free.empty();) {
    double sum = 0, prices = 0;
    for (const Claim& claim : free) {
      sum += claim.price * claim.weight;
      prices += claim.price;
    }
    for (Claim& claim : free) claim.fair = sum > 0 ? left * claim.weight / sum : left / prices;
    const auto small = std::partition(free.begin(), free.end(),
                                      [&](const Claim& claim) { return claim.fair >= double(least); });
    // Rounding may put every equal share a hair under a whole minimum: then all of them hold it.
    held = small != free.end();
    for (auto claim = small; claim != free.end(); ++claim) left -= least * claim->price;
    free.erase(small, free.end());
    std::sort(free.begin(), free.end(), [](const Claim& a, const Claim& b) { return a.share < b.share; });
  }
}

/// Whole numbers: what is left over goes to the largest remainders that it can pay for.
void round_fair_shares(std::vector<Claim>& free, double left, std::vector<int>& numbers,
                       const std::vector<std::size_t>& by_name) {
  for (const Claim& claim : free) {
    const double whole = std::floor(claim.fair);
    numbers[by_name[claim.share]] = int(whole);
    left -= whole * claim.price;
  }
  std::sort(free.begin(), free.end(), [](const Claim& a, const Claim& b) {
    const double over_a = a.fair - std::floor(a.fair), over_b = b.fair - std::floor(b.fair);
    return over_a != over_b ? over_a > over_b : a.share < b.share;
  });
  for (const Claim& claim : free) {
    // The hair is for sums of costs that are no whole numbers; plots are.
    if (left < claim.price * (1 - 1e-9)) continue;
    ++numbers[by_name[claim.share]];
    left -= claim.price;
  }
}

}  // namespace

namespace allocation_parts {

std::vector<std::size_t> by_name(const std::vector<Share>& shares) {
  std::vector<std::size_t> order(shares.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(),
            [&](std::size_t a, std::size_t b) { return shares[a].stratum < shares[b].stratum; });
  return order;
}

void check_minimum(const std::vector<Share>& shares, Available available, int least, const Place& place) {
  double needed = 0;
  for (const std::size_t i : by_name(shares)) needed += least * (available.is_cost ? shares[i].cost : 1);
  if (available.amount >= needed) return;
  throw InputError(
      place,
      fmt::format("{} {}asked, {} needed for the minimum of {} in each of {} strata.",
                  grouped(std::int64_t(std::floor(available.amount))), available.is_cost ? "minutes " : "",
                  grouped(std::int64_t(std::ceil(needed))), least, shares.size()),
      fmt::format("Raise {}, lower least_per_stratum, or make fewer strata.",
                  available.is_cost ? "budget_minutes" : "total"));
}

void no_spread(const Place& place) {
  throw InputError(place,
                   "allocation \"optimal\" with spread 0 everywhere: nothing says where plots are needed.",
                   "Give the standard deviations of plot counts under [sample.spread], from a pilot or an "
                   "earlier season, or use allocation = \"proportional\".");
}

}  // namespace allocation_parts

std::vector<int> allocate(const std::vector<Share>& shares, Available available, int least, Allocation how,
                          const Place& place) {
  allocation_parts::check_minimum(shares, available, least, place);
  // Sums run in the order of the strata's names, so that the order given changes no bit.
  const std::vector<std::size_t> by_name = allocation_parts::by_name(shares);
  std::vector<Claim> free;
  double left = available.amount;
  for (std::size_t rank = 0; rank < by_name.size(); ++rank) {
    const Share& share = shares[by_name[rank]];
    const double price = available.is_cost ? share.cost : 1;
    if (share.least_only) {
      left -= least * price;
    } else {
      free.push_back({rank, weight_of(share, how), price, 0});
    }
  }
  const auto weighs = [](const Claim& claim) { return claim.weight > 0; };
  if (how == Allocation::optimal && !free.empty() && std::none_of(free.begin(), free.end(), weighs)) {
    allocation_parts::no_spread(place);
  }
  settle_fair_shares(free, left, least);
  std::vector<int> numbers(shares.size(), least);
  round_fair_shares(free, left, numbers, by_name);
  return numbers;
}

}  // namespace swardline
