#include "swardline/design/allocation.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"

namespace swardline {
namespace {

double weight_of(const Share& share, Allocation how) {
  switch (how) {
    case Allocation::equal:
      return 1;
    case Allocation::proportional:
      return share.area;
    case Allocation::optimal:
      return share.area * share.spread;
  }
  return 0;
}

struct Claim {
  std::size_t share;  ///< index into the shares as given
  double weight = 0;
  double fair = 0;
};

/// Holds at the minimum what cannot reach it and shares the rest again, until every fair
/// share left is at least the minimum. Ends, because the mean of the fair shares is never below it.
void settle_fair_shares(std::vector<Claim>& free, int& left, int least) {
  for (bool held = true; held && !free.empty();) {
    double sum = 0;
    for (const Claim& claim : free) sum += claim.weight;
    for (Claim& claim : free) {
      claim.fair = sum > 0 ? double(left) * claim.weight / sum : double(left) / double(free.size());
    }
    const auto small = std::partition(free.begin(), free.end(),
                                      [&](const Claim& claim) { return claim.fair >= double(least); });
    const auto count = std::distance(small, free.end());
    // Rounding may put every equal share a hair under a whole minimum: then all of them hold it.
    held = count > 0;
    left -= least * int(count);
    free.erase(small, free.end());
    std::sort(free.begin(), free.end(), [](const Claim& a, const Claim& b) { return a.share < b.share; });
  }
}

}  // namespace

std::vector<int> allocate(const std::vector<Share>& shares, int total, int least, Allocation how,
                          const Place& place) {
  const std::int64_t needed = std::int64_t(least) * std::int64_t(shares.size());
  if (total < needed) {
    throw InputError(
        place,
        fmt::format("{} asked, {} needed for the minimum of {}", grouped(total), grouped(needed), least) +
            fmt::format(" in each of {} strata.", shares.size()),
        "Raise total, lower least_per_stratum, or make fewer strata.");
  }
  // Sums run in the order of the strata's names, so that the order given changes no bit.
  std::vector<std::size_t> by_name(shares.size());
  std::iota(by_name.begin(), by_name.end(), std::size_t{0});
  std::sort(by_name.begin(), by_name.end(),
            [&](std::size_t a, std::size_t b) { return shares[a].stratum < shares[b].stratum; });
  std::vector<Claim> free;
  int left = total;
  for (std::size_t rank = 0; rank < by_name.size(); ++rank) {
    const Share& share = shares[by_name[rank]];
    if (share.least_only) {
      left -= least;
    } else {
      free.push_back({rank, weight_of(share, how), 0});
    }
  }
  const auto weighs = [](const Claim& claim) { return claim.weight > 0; };
  if (how == Allocation::optimal && !free.empty() && std::none_of(free.begin(), free.end(), weighs)) {
    throw InputError(place,
                     "allocation \"optimal\" with spread 0 everywhere: nothing says where plots are needed.",
                     "Give the standard deviations of plot counts under [sample.spread], from a pilot or an "
                     "earlier season, or use allocation = \"proportional\".");
  }
  settle_fair_shares(free, left, least);

  std::vector<int> numbers(shares.size(), least);
  int given = 0;
  for (const Claim& claim : free) {
    const int whole = int(std::floor(claim.fair));
    numbers[by_name[claim.share]] = whole;
    given += whole;
  }
  std::sort(free.begin(), free.end(), [](const Claim& a, const Claim& b) {
    const double over_a = a.fair - std::floor(a.fair), over_b = b.fair - std::floor(b.fair);
    return over_a != over_b ? over_a > over_b : a.share < b.share;
  });
  for (std::size_t i = 0; given < left && !free.empty(); i = (i + 1) % free.size()) {
    ++numbers[by_name[free[i].share]];
    ++given;
  }
  return numbers;
}

}  // namespace swardline
