#include "swardline/estimate/change.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <string_view>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/estimate/change_ground.hpp"
#include "swardline/estimate/stratified.hpp"

namespace swardline {
namespace {

using namespace change_parts;

/// With fewer pairs that hold a plant, t limits are rough.
constexpr int few_occupied = 5;

/// Counts of one species, beside the ground.
using Counts = std::vector<StratumCounted>;

/// Pairs by the site they lie in, for domains that cut strata; all pairs by stratum.
struct PairsBySite {
  struct Pair {
    std::size_t stratum = 0;
    const PairedPlot* of = nullptr;
  };
  std::map<std::string_view, std::vector<Pair>> sites;
  std::vector<StratumPairs> strata;
};

double variance_of_ratio(const std::vector<SeasonPlot>& plots, double density, double area) {
  const double n = double(plots.size());
  double squares = 0;
  for (const SeasonPlot& plot : plots) {
    const double off = plot.weight * residual(plot.stems, density, plot.area_m2) / area;
    squares += off * off;
  }
  return squares * n / (n - 1);
}

/// Adds a piece of one stratum that only one season has; `plots` are the stratum's.
void add_piece(const std::vector<SeasonPlot>& plots, double area_m2, double ratio, OneSeasonGround& ground,
               double& variance, bool& known) {
  ground.area_m2 += area_m2;
  if (plots.empty()) return;
  double stems = 0, area = 0;
  for (const SeasonPlot& plot : plots) {
    stems += plot.weight * plot.stems;
    area += plot.weight * plot.area_m2;
  }
  ground.counted_m2 += area_m2;
  ground.plots += int(plots.size());
  ground.stems += area_m2 * ratio * stems / area;
  if (plots.size() < 2) {
    known = false;
    return;
  }
  variance += area_m2 * area_m2 * ratio * ratio * variance_of_ratio(plots, stems / area, area);
}

class Changes {
 public:
  Changes(const EvaluatedSeason& earlier, const EvaluatedSeason& later, const ChangeOptions& options,
          Flags& flags)
      : earlier_(earlier), later_(later), grounds_(two_grounds(earlier, later)) {
    all_.options = options;
    all_.earlier_name = earlier.season;
    all_.later_name = later.season;
    all_.earlier_year = earlier.year;
    all_.later_year = later.year;
    all_.transects = later.unit == SampleUnit::transect;
    constexpr double same = 0.01;
    const bool alike = earlier.unit == later.unit &&
                       std::abs(earlier.unit_area_m2 - later.unit_area_m2) <= same * later.unit_area_m2;
    all_.unit_area_m2 = alike ? later.unit_area_m2 : 0;
    all_.plots = match_plots(earlier, later, options.moved_m, flags);
    for (const MatchedPlot& plot : all_.plots) {
      const EvaluatedUnit& unit =
          plot.later != no_unit ? later.units[plot.later] : earlier.units[plot.earlier];
      all_.names.push_back(unit.name);
      all_.sites.push_back(unit.site);
    }
    compare_sampling(earlier, later, all_.plots, grounds_, flags);
  }

  SeasonChange work_out() {
    const std::vector<Domain> domains = domains_of(later_, grounds_, all_.options.by);
    std::vector<std::string> missing;
    bool any = false;
    for (std::size_t now = 0; now < later_.species.size(); ++now) {
      const auto then = std::find(earlier_.species.begin(), earlier_.species.end(), later_.species[now]);
      if (then == earlier_.species.end()) continue;
      any = true;
      const auto index = std::size_t(then - earlier_.species.begin());
      of_species(index, now, false, domains);
      if (doubtful(earlier_, index) || doubtful(later_, now)) of_species(index, now, true, domains);
    }
    if (!any)
      throw InputError({}, fmt::format("{} and {} share no species.", earlier_.season, later_.season),
                       "Give the store of a season in which the same species were counted.");
    all_.ground = grounds_.ground;
    return std::move(all_);
  }

 private:
  static bool doubtful(const EvaluatedSeason& season, std::size_t species) {
    return std::any_of(season.units.begin(), season.units.end(), [&](const EvaluatedUnit& unit) {
      return unit.evaluated && unit.counts[species].searched && unit.counts[species].not_certain > 0;
    });
  }

  /// A plot of one season; nowhere where the species was not searched for on it.
  SeasonPlot plot_of(const EvaluatedSeason& season, std::size_t unit, std::size_t species,
                     bool with_not_certain) const {
    SeasonPlot plot;
    if (unit == no_unit || !season.units[unit].evaluated) return plot;
    const EvaluatedUnit& of = season.units[unit];
    const UnitCount& count = of.counts[species];
    if (!count.searched || !(count.area_m2 > 0)) return plot;
    plot.unit = unit;
    plot.stratum = grounds_.of(of.stratum);
    if (season.weighted && of.chance_per_m2 > 0) plot.weight = 1 / of.chance_per_m2;
    plot.stems = stems_of(count, with_not_certain);
    plot.area_m2 = count.area_m2;
    return plot;
  }

  Counts counts_of(std::size_t then, std::size_t now, bool with_not_certain) const {
    Counts counts(grounds_.ground.size());
    for (std::size_t i = 0; i < all_.plots.size(); ++i) {
      const MatchedPlot& match = all_.plots[i];
      const SeasonPlot a = plot_of(earlier_, match.earlier, then, with_not_certain);
      SeasonPlot b = plot_of(later_, match.later, now, with_not_certain);
      if (a.stratum != nowhere) counts[a.stratum].all_then.push_back(a);
      if (b.stratum != nowhere) counts[b.stratum].all_now.push_back(b);
      if (match.matching == Matching::paired && a.stratum != nowhere && b.stratum != nowhere) {
        // Strata of record: the plot stays in the stratum it was drawn in.
        b.stratum = a.stratum;
        b.weight = a.weight;
        if (grounds_.ground[a.stratum].shared_m2 > 0) counts[a.stratum].pairs.push_back({a, b, i});
        continue;
      }
      // What was counted away from a pin was not drawn.
      if (a.stratum != nowhere && !match.off_pin_then) counts[a.stratum].only_then.push_back(a);
      if (b.stratum != nowhere && !match.off_pin_now) counts[b.stratum].only_now.push_back(b);
    }
    return counts;
  }

  void of_species(std::size_t then, std::size_t now, bool with_not_certain,
                  const std::vector<Domain>& domains) {
    const Counts counts = counts_of(then, now, with_not_certain);
    const PairsBySite by_site = by_site_of(counts);
    const bool any = std::any_of(counts.begin(), counts.end(),
                                 [](const StratumCounted& stratum) { return !stratum.all_now.empty(); });
    for (const Domain& domain : domains) {
      ChangeEstimate estimate;
      estimate.where = domain.where;
      estimate.stratum = domain.stratum;
      estimate.species = later_.species[now];
      estimate.with_not_certain = with_not_certain;
      pair_up(counts, by_site, domain, estimate);
      const bool whole = domain.cut == DomainCut::whole_strata;
      if (whole) ground_of(counts, domain, estimate);
      if (estimate.paired.pairs == 0 && (!estimate.stratum.empty() || !any)) continue;
      if (whole) add_composite(counts, domain, grounds_, all_.options.confidence, estimate);
      all_.estimates.push_back(std::move(estimate));
    }
  }

  [[nodiscard]] PairsBySite by_site_of(const Counts& counts) const {
    PairsBySite by_site;
    by_site.strata.resize(counts.size());
    for (std::size_t h = 0; h < counts.size(); ++h)
      for (const PairedPlot& pair : counts[h].pairs) {
        by_site.sites[earlier_.units[all_.plots[pair.match].earlier].site].push_back({h, &pair});
        ++by_site.strata[h].pairs;
        by_site.strata[h].weights += pair.then.weight;
      }
    return by_site;
  }

  /// The pairs of a domain; strata are numbered as the arithmetic has them.
  static std::vector<PairsBySite::Pair> pairs_of(const Counts& counts, const PairsBySite& by_site,
                                                 const Domain& domain) {
    std::vector<PairsBySite::Pair> pairs;
    if (domain.cut == DomainCut::whole_strata) {
      for (std::size_t k = 0; k < domain.strata.size(); ++k)
        for (const PairedPlot& pair : counts[domain.strata[k]].pairs) pairs.push_back({k, &pair});
      return pairs;
    }
    for (const auto& [code, holds] : domain.sites)
      if (const auto site = by_site.sites.find(code); site != by_site.sites.end())
        pairs.insert(pairs.end(), site->second.begin(), site->second.end());
    return pairs;
  }

  void pair_up(const Counts& counts, const PairsBySite& by_site, const Domain& domain,
               ChangeEstimate& estimate) const {
    const bool whole = domain.cut == DomainCut::whole_strata;
    std::vector<double> ground;
    if (whole)
      for (const std::size_t h : domain.strata) ground.push_back(grounds_.ground[h].shared_m2);
    else
      for (const SharedGround& one : grounds_.ground) ground.push_back(one.shared_m2);
    std::vector<PairedCount> pairs;
    double differences = 0, largest = 0;
    std::string largest_on;
    for (const auto& [stratum, pair] : pairs_of(counts, by_site, domain)) {
      const SeasonPlot &a = pair->then, &b = pair->now;
      pairs.push_back({stratum, true, a.weight, a.stems, a.area_m2, b.stems, b.area_m2});
      estimate.occupied_pairs += a.stems > 0 || b.stems > 0 ? 1 : 0;
      const double difference = std::abs(b.stems / b.area_m2 - a.stems / a.area_m2);
      differences += difference;
      if (difference <= largest) continue;
      largest = difference;
      largest_on = all_.names[pair->match];
    }
    estimate.paired =
        paired_change(pairs, ground, domain.cut, whole ? std::vector<StratumPairs>{} : by_site.strata);
    judge(estimate);
    say_doubts(estimate, differences > 0 ? largest / differences : 0, largest_on);
  }

  void judge(ChangeEstimate& estimate) const {
    const PairedChange& paired = estimate.paired;
    const double confidence = all_.options.confidence;
    if (paired.pairs == 0) return;
    if (paired.then > 0) estimate.ratio = paired.now / paired.then;
    if (!paired.standard_error || !(*paired.standard_error > 0)) {
      if (paired.standard_error && paired.change == 0) estimate.change = ChangeWord::no_clear_change;
      return;
    }
    const double se = *paired.standard_error, df = paired.degrees_freedom;
    estimate.limits = symmetric_limits(paired.change, se, df, confidence);
    estimate.change = estimate.limits->low > 0    ? ChangeWord::more
                      : estimate.limits->high < 0 ? ChangeWord::fewer
                                                  : ChangeWord::no_clear_change;
    if (estimate.ratio) estimate.ratio_limits = fieller_limits(paired, confidence);
    // Fewer occupied pairs tell little of the spread, and nothing of how many pairs would do.
    if (!estimate.stratum.empty() || !(paired.then > 0) || estimate.occupied_pairs < few_occupied) return;
    PairsNeeded needed;
    needed.change = all_.options.worth_seeing * paired.then;
    needed.sd = se * std::sqrt(double(paired.pairs));
    const double formula = plots_for_change(needed.sd, needed.change, all_.options.test, Revisit::same_plots);
    constexpr double most = 1e6;
    if (formula > most) return;
    needed.by_formula = std::max(1, int(std::ceil(formula - 1e-9)));
    // With next to no spread two pairs do; t's chances there are beyond computing.
    constexpr double next_to_none = 1e-3;
    needed.by_test = needed.sd < next_to_none * needed.change ? 2 : pairs_by_t(needed);
    estimate.needed = needed;
  }

  [[nodiscard]] int pairs_by_t(const PairsNeeded& needed) const {
    return int(std::ceil(
        plots_for_change_by_t(needed.sd, needed.change, all_.options.test, Revisit::same_plots) - 1e-9));
  }

  static void say_doubts(ChangeEstimate& estimate, double largest_share, const std::string& largest_on) {
    const PairedChange& paired = estimate.paired;
    std::vector<std::string>& caution = estimate.caution;
    if (paired.pairs == 0) {
      caution.emplace_back("no plot was counted in both seasons");
    } else if (estimate.occupied_pairs == 0) {
      caution.emplace_back("none found on these plots in either season");
    } else if (!paired.standard_error) {
      caution.push_back(paired.pairs == 1 ? "one pair: no limits" : "no stratum has two pairs: no limits");
    } else if (!(*paired.standard_error > 0)) {
      caution.emplace_back("the difference is the same on every plot: no limits");
    } else {
      if (estimate.occupied_pairs < few_occupied)
        caution.push_back(fmt::format("only {} {} a plant in either season: limits from so few are rough",
                                      estimate.occupied_pairs,
                                      estimate.occupied_pairs == 1 ? "pair holds" : "pairs hold"));
      if (largest_share > 0.5 && paired.pairs > 2)
        caution.push_back(fmt::format("more than half of all difference is on one plot, {}", largest_on));
    }
    if (paired.alone > 0 && paired.standard_error)
      caution.push_back(
          fmt::format("{} with a single pair {} taken to vary as the others do",
                      paired.alone == 1 ? "one stratum" : fmt::format("{} strata", paired.alone),
                      paired.alone == 1 ? "is" : "are"));
  }

  void ground_of(const Counts& counts, const Domain& domain, ChangeEstimate& estimate) const {
    double over_ellipsoid = 0, gained = 0, lost = 0;
    bool gained_known = true, lost_known = true;
    for (const std::size_t h : domain.strata) {
      const SharedGround& ground = grounds_.ground[h];
      const bool paired = !counts[h].pairs.empty();
      (paired ? estimate.shared_m2 : estimate.without_pairs_m2) += ground.shared_m2;
      if (paired) over_ellipsoid += ground.shared_m2 * ground.geodesic_ratio;
      if (ground.gained_m2() > 0)
        add_piece(counts[h].all_now, ground.gained_m2(), ground.geodesic_ratio, estimate.gained, gained,
                  gained_known);
      if (ground.lost_m2() > 0)
        add_piece(counts[h].all_then, ground.lost_m2(), ground.geodesic_ratio, estimate.lost, lost,
                  lost_known);
    }
    if (estimate.gained.plots > 0 && gained_known) estimate.gained.standard_error = std::sqrt(gained);
    if (estimate.lost.plots > 0 && lost_known) estimate.lost.standard_error = std::sqrt(lost);
    estimate.stems = estimate.paired.change * over_ellipsoid;
    if (estimate.paired.standard_error) estimate.stems_se = *estimate.paired.standard_error * over_ellipsoid;
  }

  const EvaluatedSeason& earlier_;
  const EvaluatedSeason& later_;
  TwoGrounds grounds_;
  SeasonChange all_;
};

}  // namespace

const char* word(ChangeWord change) {
  switch (change) {
    case ChangeWord::not_known:
      return "not known";
    case ChangeWord::no_clear_change:
      return "no clear change";
    case ChangeWord::fewer:
      return "fewer";
    case ChangeWord::more:
      return "more";
  }
  return "";
}

ChangeOptions change_options(const Plan& plan) {
  ChangeOptions options;
  options.confidence = plan.estimate.confidence;
  options.moved_m = plan.estimate.moved_m;
  options.by = plan.estimate.by;
  if (plan.effort.change) options.worth_seeing = *plan.effort.change;
  options.test = {plan.effort.false_change, plan.effort.power, false};
  return options;
}

SeasonChange change_between(const EvaluatedSeason& earlier, const EvaluatedSeason& later,
                            const ChangeOptions& options, Flags& flags) {
  return Changes(earlier, later, options, flags).work_out();
}

}  // namespace swardline
