// Design-weighted means and shares of parts of the ground, with limits.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "swardline/base/error.hpp"
#include "swardline/compare/compare_parts.hpp"
#include "swardline/habitat/score_season.hpp"

namespace swardline {
namespace {

struct StratumPlots {
  double ground_m2 = 0;
  std::vector<std::size_t> plots;
  double chances = 0;  // Σ 1/chance
};

constexpr double square_metres_per_ha = 1e4;

/// All used plots by stratum, those of the part inside.
std::vector<StratumCounts> domain(const std::vector<PlotAndScore>& plots, const PlotFilter& inside,
                                  bool occupancy) {
  std::map<std::size_t, StratumCounts> strata;
  for (const PlotAndScore& plot : plots) {
    if (!plot.used()) continue;
    StratumCounts& stratum = strata[plot.design];
    stratum.ground += plot.weight_m2;
    stratum.weights.push_back(plot.weight_m2);
    stratum.counts.push_back(occupancy ? (plot.occupied() ? 1 : 0) : plot.stems);
    stratum.areas.push_back(occupancy ? 1 : plot.area_m2);
    stratum.inside.push_back(inside(plot) ? 1 : 0);
  }
  std::vector<StratumCounts> out;
  for (auto& [number, stratum] : strata) out.push_back(std::move(stratum));
  return out;
}

/// The ground of a part, by stratum.
using Searched = std::map<std::size_t, SearchedGround>;

/// Stems per m² of a part that nothing was found in, as a season's estimates have it.
double most_if_none(const Searched& searched, double confidence) {
  std::vector<SearchedGround> strata;
  double ground = 0;
  for (const auto& [number, stratum] : searched) {
    strata.push_back(stratum);
    ground += stratum.ground;
  }
  return most_total_if_none(strata, (1 - confidence) / 2) / ground;
}

void add_density(const std::vector<PlotAndScore>& plots, const PlotFilter& inside, const Searched& searched,
                 double confidence, ComparedPart& part) {
  const Estimated density = combined_ratio(domain(plots, inside, false)).density;
  part.per_ha = density.value * square_metres_per_ha;
  part.standard_error = density.standard_error() * square_metres_per_ha;
  part.df = density.df;
  if (part.occupied == 0) {
    part.limits = LowHigh{0, most_if_none(searched, confidence) * square_metres_per_ha};
    part.limits_kind = "none found: at most this, one-sided, if scattered at random";
  } else if (part.plots < 2 || !(density.df > 0)) {
    part.limits_kind = part.plots < 2 ? "none: one plot" : "none: no spread between plots";
  } else {
    part.limits = log_based_limits(part.per_ha, part.standard_error, part.df, confidence);
    part.limits_kind = "log-based";
  }
}

std::string range_of(const ComparedPart& a) { return fmt::format("{:.2f}–{:.2f}", a.from, a.to); }

PlotFilter scored_within(double from, double to, bool then) {
  return [from, to, then](const PlotAndScore& plot) {
    const PlotUse use = then ? plot.use_then : plot.use;
    if (use != PlotUse::compared) return false;
    const int score = percent(then ? plot.score_then : plot.score);
    return score >= percent(from) && (score < percent(to) || to >= 1);
  };
}

}  // namespace

std::vector<std::string> weigh_plots(const EvaluatedSeason& counted, const std::vector<ComparedPlot>& places,
                                     std::vector<PlotAndScore>& plots) {
  std::map<std::string, StratumPlots> strata;
  for (const EvaluatedStratum& stratum : counted.strata)
    strata[stratum.id].ground_m2 = estimated_m2(counted, stratum);
  std::set<std::string> sites;  // that the species was looked for at: elsewhere it has no plot to lose
  const auto chance = [&](const PlotAndScore& plot) {
    const double given = counted.units[places[plot.plot].unit].chance_per_m2;
    return counted.weighted && given > 0 ? given : 1.0;
  };
  for (std::size_t i = 0; i < plots.size(); ++i) {
    const EvaluatedUnit& unit = counted.units[places[plots[i].plot].unit];
    const auto stratum = strata.find(unit.stratum);
    if (stratum == strata.end())
      throw Defect(fmt::format("plot {} is of stratum {}, which is not there", unit.name, unit.stratum));
    sites.insert(unit.site);
    if (!plots[i].used()) continue;
    stratum->second.plots.push_back(i);
    stratum->second.chances += 1 / chance(plots[i]);
  }
  // A single plot has no spread of its own: strata of one plot are taken together, a lone one with the
  // stratum after it (or before it), for variances only (Cochran 1977, 5A.12).
  std::map<std::string, std::string> site_of;
  for (const EvaluatedStratum& stratum : counted.strata) site_of[stratum.id] = stratum.site;
  std::vector<std::string> without;
  std::vector<std::size_t> lone;
  std::size_t design = 0, number = 0;
  for (const auto& [id, stratum] : strata) {
    ++number;
    if (stratum.plots.empty()) {
      if (stratum.ground_m2 > 0 && sites.contains(site_of[id])) without.push_back(id);
      continue;
    }
    for (const std::size_t i : stratum.plots) {
      plots[i].weight_m2 = stratum.ground_m2 / (chance(plots[i]) * stratum.chances);
      plots[i].stratum = number;
      plots[i].design = design;
    }
    if (stratum.plots.size() == 1)
      lone.push_back(stratum.plots.front());
    else
      ++design;
  }
  if (lone.size() == 1 && design > 0)
    plots[lone.front()].design = std::min(plots[lone.front()].design, design - 1);
  if (lone.size() > 1)
    for (const std::size_t i : lone) plots[i].design = design;
  return without;
}

ComparedPart part_of(const std::vector<PlotAndScore>& plots, const PlotFilter& inside,
                     const Comparison& comparison) {
  ComparedPart part;
  std::vector<double> weights, densities, density_weights;
  Searched searched;
  double area = 0, ground = 0, compared = 0;
  for (const PlotAndScore& plot : plots) {
    if (plot.use == PlotUse::compared) compared += plot.weight_m2;
    if (!plot.used() || !inside(plot)) continue;
    ++part.plots;
    part.occupied += plot.occupied() ? 1 : 0;
    SearchedGround& stratum = searched[plot.stratum];
    stratum.ground += plot.weight_m2;
    stratum.plots += 1;
    stratum.area += plot.area_m2;
    area += plot.area_m2;
    ground += plot.weight_m2;
    weights.push_back(plot.weight_m2);
    densities.push_back(plot.per_ha());
  }
  if (part.plots == 0 || !(area > 0) || !(ground > 0)) return part;
  part.ground_share = compared > 0 ? ground / compared : 0;
  const Estimated share = combined_ratio(domain(plots, inside, true)).density;
  part.share = std::clamp(share.value, 0.0, 1.0);
  const double n = equal_plots(weights);
  part.share_limits = wilson_limits(part.share * n, n, comparison.confidence);
  part.upper_per_ha = weighted_quantile(densities, weights, comparison.quantile);
  add_density(plots, inside, searched, comparison.confidence, part);
  return part;
}

ComparedBands bands_of(const std::vector<PlotAndScore>& plots, const std::vector<double>& edges,
                       int least_plots, const Comparison& comparison) {
  struct Range {
    double from, to;
    int plots;
  };
  std::vector<Range> ranges;
  for (std::size_t i = 0; i <= edges.size(); ++i)
    ranges.push_back({i == 0 ? 0 : edges[i - 1], i == edges.size() ? 1 : edges[i], 0});
  for (const PlotAndScore& plot : plots)
    if (plot.use == PlotUse::compared) ++ranges[band_of(edges, percent(plot.score))].plots;
  ComparedBands bands;
  const auto text = [](const Range& r) { return fmt::format("{:.2f}–{:.2f}", r.from, r.to); };
  while (ranges.size() > 1) {
    const auto fewest = std::min_element(ranges.begin(), ranges.end(),
                                         [](const Range& a, const Range& b) { return a.plots < b.plots; });
    if (fewest->plots >= least_plots) break;
    // The neighbour with fewer plots, the lower one of two alike: what is left stays as fine as it can be.
    const bool first = fewest == ranges.begin(), last = fewest + 1 == ranges.end();
    const auto neighbour = first                                                ? fewest + 1
                           : last || (fewest - 1)->plots <= (fewest + 1)->plots ? fewest - 1
                                                                                : fewest + 1;
    bands.joined.push_back(fmt::format("{} had {} and is joined with {}.", text(*fewest),
                                       fewest->plots == 0 ? "no plots" : counted_words(fewest->plots, "plot"),
                                       text(*neighbour)));
    const auto lower = std::min(fewest, neighbour), upper = std::max(fewest, neighbour);
    lower->to = upper->to;
    lower->plots += upper->plots;
    ranges.erase(upper);
  }
  for (const Range& range : ranges) {
    ComparedPart part = part_of(plots, scored_within(range.from, range.to, false), comparison);
    part.from = range.from;
    part.to = range.to;
    part.what = range_of(part);
    bands.parts.push_back(std::move(part));
  }
  bands.excluded = part_of(
      plots, [](const PlotAndScore& plot) { return plot.use == PlotUse::excluded; }, comparison);
  bands.excluded.what = "excluded";
  bands.no_score = part_of(
      plots, [](const PlotAndScore& plot) { return plot.use == PlotUse::no_score; }, comparison);
  bands.no_score.what = "no score";
  return bands;
}

std::vector<ComparedPart> bands_then(const std::vector<PlotAndScore>& plots,
                                     const std::vector<ComparedPart>& bands, const Comparison& comparison) {
  std::vector<ComparedPart> out;
  for (const ComparedPart& band : bands) {
    out.push_back(part_of(plots, scored_within(band.from, band.to, true), comparison));
    out.back().from = band.from;
    out.back().to = band.to;
    out.back().what = band.what;
  }
  return out;
}

std::vector<WeighedScore> weighed_scores(const std::vector<PlotAndScore>& plots, bool then) {
  std::vector<WeighedScore> out;
  for (const PlotAndScore& plot : plots)
    if ((then ? plot.use_then : plot.use) == PlotUse::compared && plot.used())
      out.push_back({then ? plot.score_then : plot.score, plot.weight_m2, plot.occupied(), plot.design});
  return out;
}

RatioIndex ratio_of(const std::vector<PlotAndScore>& plots, bool then, const CompareOptions& options) {
  std::vector<ScoreAndWeight> occupied, ground;
  for (const WeighedScore& plot : weighed_scores(plots, then)) {
    ground.emplace_back(plot.score, plot.weight);
    if (plot.occupied) occupied.emplace_back(plot.score, plot.weight);
  }
  return ratio_index(std::move(occupied), std::move(ground),
                     window_centres(options.window, options.window_step), options.window);
}

std::optional<double> agreement_of(const std::vector<PlotAndScore>& plots, bool then) {
  std::vector<double> score, density, weight;
  for (const PlotAndScore& plot : plots)
    if ((then ? plot.use_then : plot.use) == PlotUse::compared && plot.used()) {
      score.push_back(then ? plot.score_then : plot.score);
      density.push_back(plot.per_ha());
      weight.push_back(plot.weight_m2);
    }
  return rank_agreement(score, density, weight);
}

}  // namespace swardline
