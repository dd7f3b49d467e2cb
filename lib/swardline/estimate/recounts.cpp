#include "swardline/estimate/recounts.hpp"

namespace swardline {

std::optional<Estimated> recount_ratio(std::span<const TwoCounts> pairs) {
  StratumCounts units;
  units.ground = 1;
  double found = 0;
  for (const TwoCounts& pair : pairs) {
    units.counts.push_back(pair.second);
    units.areas.push_back(pair.first);
    found += pair.first;
  }
  if (pairs.size() < 2 || !(found > 0)) return std::nullopt;
  return ratio_of_totals(units);
}

std::optional<TwoObservers> two_observers(std::span<const TwoCounts> pairs) {
  TwoObservers two;
  for (const TwoCounts& pair : pairs) {
    two.first += pair.first > 0 ? 1 : 0;
    two.second += pair.second > 0 ? 1 : 0;
    two.both += pair.first > 0 && pair.second > 0 ? 1 : 0;
  }
  if (two.both == 0) return std::nullopt;
  const double n1 = two.first, n2 = two.second, m = two.both;
  two.occupied = (n1 + 1) * (n2 + 1) / (m + 1) - 1;
  two.variance = (n1 + 1) * (n2 + 1) * (n1 - m) * (n2 - m) / ((m + 1) * (m + 1) * (m + 2));
  two.found_by_first = m / n2;
  two.missed_by_both = two.occupied - (n1 + n2 - m);
  return two;
}

}  // namespace swardline
