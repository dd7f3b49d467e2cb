// Plots without a partner, weighted with the pairs.
#include <algorithm>
#include <cmath>

#include "swardline/estimate/change_ground.hpp"
#include "swardline/estimate/stratified.hpp"

namespace swardline::change_parts {
namespace {

/// With fewer pairs that hold a plant, a correlation and weights by variance rest on a handful of counts.
constexpr int least_occupied = 10;
/// Less of a gain reads as none.
constexpr double least_gain = 0.005;

/// One stratum in one season: plots with a partner and without.
struct Sums {
  double stems = 0, area = 0;
  int plots = 0;
  void add(const SeasonPlot& plot) {
    stems += plot.weight * plot.stems;
    area += plot.weight * plot.area_m2;
    ++plots;
  }
  [[nodiscard]] double density() const { return plots > 0 ? stems / area : 0; }
};

struct StratumSeason {
  Sums matched, alone;
  std::vector<double> residuals;  ///< of matched plots, in their order, then of the others
  [[nodiscard]] int plots() const { return matched.plots + alone.plots; }
};

/// Residuals of single plots in stems per m²: their mean over the stratum is 0.
StratumSeason season_of(const std::vector<const SeasonPlot*>& matched, const std::vector<SeasonPlot>& alone) {
  StratumSeason season;
  for (const SeasonPlot* plot : matched) season.matched.add(*plot);
  for (const SeasonPlot& plot : alone) season.alone.add(plot);
  const double stems = season.matched.stems + season.alone.stems;
  const double area = season.matched.area + season.alone.area;
  const auto add = [&](const SeasonPlot& plot) {
    season.residuals.push_back(season.plots() * plot.weight *
                               residual(plot.stems, stems / area, plot.area_m2) / area);
  };
  for (const SeasonPlot* plot : matched) add(*plot);
  for (const SeasonPlot& plot : alone) add(plot);
  return season;
}

double sd(const std::vector<double>& residuals) {
  double squares = 0;
  for (const double r : residuals) squares += r * r;
  return residuals.size() > 1 ? std::sqrt(squares / double(residuals.size() - 1)) : 0;
}

double mean(const std::vector<double>& values, int first) {
  double sum = 0;
  for (int i = 0; i < first; ++i) sum += values[std::size_t(i)];
  return sum / first;
}

/// Correlation of the seasons on the same plots, within strata, over all of them.
double pooled_correlation(const std::vector<StratumSeason>& then, const std::vector<StratumSeason>& now) {
  double both = 0, first = 0, second = 0;
  for (std::size_t h = 0; h < then.size(); ++h) {
    const int m = then[h].matched.plots;
    if (m < 2) continue;
    const double a = mean(then[h].residuals, m), b = mean(now[h].residuals, m);
    for (int i = 0; i < m; ++i) {
      const double x = then[h].residuals[std::size_t(i)] - a, y = now[h].residuals[std::size_t(i)] - b;
      both += x * y;
      first += x * x;
      second += y * y;
    }
  }
  if (!(first > 0 && second > 0)) return 0;
  constexpr double most = 0.99;  // beyond it a weight would rest on rounding
  return std::clamp(both / std::sqrt(first * second), -most, most);
}

}  // namespace

std::optional<CompositeChange> composite_of(const std::vector<StratumCounted>& counts, const Domain& domain,
                                            const TwoGrounds& grounds, double confidence,
                                            const PairedChange& paired, std::string& why_none) {
  CompositeChange composite;
  std::vector<StratumSeason> then, now;
  std::vector<double> area;
  double ground = 0;
  for (const std::size_t h : domain.strata) {
    const StratumCounted& stratum = counts[h];
    if (stratum.pairs.empty()) continue;  // no part of the paired estimate either
    std::vector<const SeasonPlot*> first, second;
    for (const PairedPlot& pair : stratum.pairs) {
      first.push_back(&pair.then);
      second.push_back(&pair.now);
    }
    then.push_back(season_of(first, stratum.only_then));
    now.push_back(season_of(second, stratum.only_now));
    area.push_back(grounds.ground[h].shared_m2);
    ground += area.back();
    composite.only_then += int(stratum.only_then.size());
    composite.only_now += int(stratum.only_now.size());
  }
  if (composite.only_then + composite.only_now == 0) return {};
  const double correlation = pooled_correlation(then, now);
  double variance = 0, below = 0;
  for (std::size_t k = 0; k < then.size(); ++k) {
    const StratumSeason &a = then[k], &b = now[k];
    if (a.plots() < 2 || b.plots() < 2) {
      why_none = "a stratum with a single pair and nothing else tells nothing of its spread";
      return {};
    }
    const auto means = two_seasons({sd(a.residuals), sd(b.residuals), correlation, a.matched.plots,
                                    a.alone.plots, b.alone.plots, a.matched.density(), b.matched.density(),
                                    a.alone.density(), b.alone.density()});
    const double share = area[k] / ground;
    const double part = share * share * means->variance_change;
    composite.change += share * means->change;
    variance += part;
    below += part * part / std::max(1, a.matched.plots - 1);
  }
  if (!(variance > 0)) return {};
  composite.standard_error = std::sqrt(variance);
  composite.degrees_freedom = variance * variance / below;
  composite.limits =
      symmetric_limits(composite.change, composite.standard_error, composite.degrees_freedom, confidence);
  const double se = paired.standard_error.value_or(0);
  if (se > 0) composite.gain = 1 - variance / (se * se);
  return composite;
}

void add_composite(const std::vector<StratumCounted>& counts, const Domain& domain, const TwoGrounds& grounds,
                   double confidence, ChangeEstimate& estimate) {
  std::string why;
  const auto composite = composite_of(counts, domain, grounds, confidence, estimate.paired, why);
  if (!composite && why.empty()) return;
  if (estimate.occupied_pairs < least_occupied)
    estimate.no_composite = "fewer than ten pairs hold a plant in either season";
  else if (!estimate.paired.standard_error)
    estimate.no_composite = "no stratum has two pairs, so nothing tells how alike the seasons are";
  else if (!composite)
    estimate.no_composite = why;
  else if (composite->gain < least_gain)  // a second answer that differs, and is no better
    estimate.no_composite = "with them the change is no better known than from the pairs alone";
  else
    estimate.composite = composite;
}

}  // namespace swardline::change_parts
