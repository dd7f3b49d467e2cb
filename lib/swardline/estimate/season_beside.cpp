// Rows that stand beside a species' estimates: second counts, and Horvitz and Thompson's total.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/estimate/recounts.hpp"
#include "swardline/estimate/season_parts.hpp"

namespace swardline::estimate_parts {

void add_recounts(const RowsOf& how, std::size_t species, Estimates& into) {
  const EvaluatedSeason& season = *how.parts.season;
  std::vector<TwoCounts> pairs;
  for (const Recount& recount : season.recounts)
    if (recount.species == species) pairs.push_back({recount.first, recount.second});
  if (pairs.empty()) return;
  EstimateRow row;
  row.where = "all sites";
  row.species = season.species[species];
  row.plots = int(pairs.size());
  row.occupied = int(std::count_if(pairs.begin(), pairs.end(),
                                   [](const TwoCounts& p) { return p.first > 0 || p.second > 0; }));
  if (const std::optional<Estimated> ratio = recount_ratio(pairs)) {
    row.measure = "recount ratio";
    row.value = ratio->value;
    row.estimator =
        "stems of second counts / stems of first counts, same plots; no estimate is changed by it";
    row.source = "Cochran 1977, 2.11; limits Burnham et al. 1987";
    if (ratio->variance > 0 && ratio->value > 0) {
      const LowHigh limits =
          log_based_limits(ratio->value, ratio->standard_error(), ratio->df, how.confidence);
      row.standard_error = ratio->standard_error();
      row.degrees_freedom = ratio->df;
      row.low = limits.low;
      row.high = limits.high;
      row.limits_kind = "log-based";
      row.confidence_percent = 100 * how.confidence;
    }
    into.rows.push_back(row);
  }
  const std::optional<TwoObservers> two = two_observers(pairs);
  if (!two) return;
  row.measure = "occupied plots by two observers";
  row.value = two->occupied;
  row.standard_error = std::sqrt(two->variance);
  row.degrees_freedom.reset();
  row.low.reset();
  row.high.reset();
  row.limits_kind.clear();
  row.confidence_percent = 0;
  row.estimator = fmt::format("of recounted plots: found by the first {}, the second {}, both {}; raw {}",
                              two->first, two->second, two->both, row.occupied);
  row.source = "Chapman 1951; Seber 1970";
  into.rows.push_back(row);
  const LowHigh found = wilson_limits(two->both, two->second, how.confidence);
  row.measure = "share of occupied plots found by the first count";
  row.value = two->found_by_first;
  row.standard_error.reset();
  row.low = found.low;
  row.high = found.high;
  row.limits_kind = "Wilson";
  row.confidence_percent = 100 * how.confidence;
  row.plots = two->second;
  row.estimator = "of plots where the second count found it, those where the first did";
  row.source = "Chapman 1951; limits Wilson 1927";
  into.rows.push_back(row);
}

void add_horvitz_thompson(const RowsOf& how, const PlaceOf& place, const std::string& species,
                          const std::vector<StratumSample>& samples, Estimates& into) {
  const EvaluatedSeason& season = *how.parts.season;
  if (!season.weighted || place.domain()) return;
  EstimateRow row;
  Satterthwaite variance;
  for (const Part& part : place.parts) {
    const StratumSample& sample = samples[part.stratum];
    const StratumUnits& stratum = how.parts.strata[part.stratum];
    if (sample.n() == 0) continue;
    // Chances are those of the planned plots; of the ones counted they are so much less.
    const double counted = stratum.of->planned > 0 ? double(sample.n()) / stratum.of->planned : 1;
    std::vector<double> z;
    for (std::size_t i = 0; i < sample.n(); ++i) {
      const double chance = season.units[sample.units[i]].chance_per_m2 * counted * sample.a[i];
      if (!(chance > 0)) return;
      z.push_back(stratum.of->geodesic_ratio * sample.y[i] / chance);
      row.value += z.back();
    }
    row.plots += int(sample.n());
    row.occupied += sample.occupied;
    variance.add(variance_of_sum(z), double(sample.n()) - 1);
  }
  if (row.occupied == 0) return;
  row.where = place.where;
  if (place.stratum >= 0) row.stratum = how.parts.strata[std::size_t(place.stratum)].of->id;
  row.species = species;
  row.measure = "total stems";
  row.beside = true;
  row.estimator = "sum of stems / (chance per m² × area), chances by plots counted (Horvitz-Thompson)";
  row.source = "Horvitz & Thompson 1952; limits Burnham et al. 1987";
  if (variance.variance() > 0) {
    row.standard_error = std::sqrt(variance.variance());
    row.degrees_freedom = variance.df();
    const LowHigh limits = log_based_limits(row.value, *row.standard_error, variance.df(), how.confidence);
    row.low = limits.low;
    row.high = limits.high;
    row.limits_kind = "log-based";
    row.confidence_percent = 100 * how.confidence;
  }
  into.rows.push_back(row);
}

}  // namespace swardline::estimate_parts
