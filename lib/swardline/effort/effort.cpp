#include "swardline/effort/effort.hpp"

#include <algorithm>
#include <cmath>

#include "swardline/effort/sample_size.hpp"

namespace swardline {
namespace {

constexpr double most_plots = 1e6;  // beyond, no season is planned, and the adjustments take long

class WorkOut {
 public:
  WorkOut(const Season& season, const std::vector<SiteGround>& sites, Effort& effort)
      : spec_(season.plan.effort), sites_(sites), effort_(effort) {
    test_ = {spec_.false_change, spec_.power, false};
    revisit_ = spec_.same_plots ? Revisit::same_plots : Revisit::separate_plots;
  }

  SpeciesEffort species(const ExpectedSpread& spread) const {
    SpeciesEffort result;
    result.spread = spread;
    if (!spread.unanswered.empty()) return result;
    if (spec_.precision) precision(result);
    if (spec_.change) change(result);
    for (const int plots : effort_.plots) result.reach.push_back(reach(spread, plots));
    return result;
  }

 private:
  void finish(Need& need) const {
    need.planned = int(std::ceil(need.in_area / (1 - spec_.refused) - 1e-9));
    if (spec_.hours) need.hours = hours_for(need.planned, sites_, spec_);
  }

  void precision(SpeciesEffort& result) const {
    const ExpectedSpread& spread = result.spread;
    const double half_width = *spec_.precision * spread.mean;
    Need need;
    need.by_normal = plots_for_mean(spread.sd, half_width, spec_.confidence);
    if (need.by_normal > most_plots) {
      result.spread.unanswered = "limits this narrow need more than a million plots";
      return;
    }
    need.by_t = plots_for_mean_by_t(spread.sd, half_width, spec_.confidence);
    need.adjusted = plots_with_assurance(int(std::ceil(need.by_normal)), spec_.confidence, spec_.assurance);
    need.in_area = int(std::ceil(plots_in_finite_area(need.adjusted, effort_.possible_plots) - 1e-9));
    finish(need);
    result.precision = need;
  }

  void change(SpeciesEffort& result) const {
    const ExpectedSpread& spread = result.spread;
    if (spec_.same_plots && !spread.sd_of_differences) {
      result.change_unanswered =
          "the spread of differences on the same plots is not known: count plots in two seasons, give "
          "sd_of_differences, or a correlation";
      return;
    }
    const double sd = sd_for_change(spread);
    Need need;
    need.by_normal = plots_for_change(sd, *spec_.change * spread.mean, test_, revisit_);
    if (need.by_normal > most_plots) {
      result.change_unanswered = "a change this small needs more than a million plots";
      return;
    }
    need.by_t =
        int(std::ceil(plots_for_change_by_t(sd, *spec_.change * spread.mean, test_, revisit_) - 1e-9));
    need.in_area = need.adjusted = need.by_t;
    finish(need);
    result.change = need;
  }

  double sd_for_change(const ExpectedSpread& spread) const {
    return spec_.same_plots ? *spread.sd_of_differences : spread.sd;
  }

  Reach reach(const ExpectedSpread& spread, int plots) const {
    Reach reach;
    const double counted = std::min(std::max(2.0, plots * (1 - spec_.refused)), effort_.possible_plots);
    reach.half_width =
        half_width_of_mean(spread.sd, counted, spec_.confidence, effort_.possible_plots) / spread.mean;
    reach.variation = spread.sd * std::sqrt((1 - counted / effort_.possible_plots) / counted) / spread.mean;
    if (spec_.change && (!spec_.same_plots || spread.sd_of_differences))
      reach.change = detectable_change(sd_for_change(spread), counted, test_, revisit_) / spread.mean;
    return reach;
  }

  const EffortSpec& spec_;
  const std::vector<SiteGround>& sites_;
  Effort& effort_;
  ChangeTest test_;
  Revisit revisit_ = Revisit::same_plots;
};

// Round numbers, and the two that matter.
std::vector<int> numbers_to_show(const Effort& effort) {
  std::vector<int> plots;
  const int most = std::max({100, 2 * effort.planned, 2 * effort.affordable.value_or(0)});
  for (const int step : {10, 20, 30, 50, 75, 100, 150, 200, 300, 400, 500, 750, 1000, 1500, 2000, 3000, 5000})
    if (step <= most) plots.push_back(step);
  for (const int own : {effort.planned, effort.affordable.value_or(0)})
    if (own >= 2) plots.push_back(own);
  std::sort(plots.begin(), plots.end());
  plots.erase(std::unique(plots.begin(), plots.end()), plots.end());
  std::erase_if(plots, [&](int n) { return n > effort.possible_plots; });
  return plots;
}

void find_failing(Effort& effort) {
  const int there_are = effort.affordable.value_or(effort.planned);
  for (const SpeciesEffort& species : effort.species) {
    if (species.precision && species.precision->planned > there_are)
      effort.failing.push_back({species.spread.code, false, species.precision->planned});
    if (species.change && species.change->planned > there_are)
      effort.failing.push_back({species.spread.code, true, species.change->planned});
  }
  std::stable_sort(effort.failing.begin(), effort.failing.end(),
                   [](const Failing& a, const Failing& b) { return a.needed > b.needed; });
}

}  // namespace

Effort work_out_effort(const Season& season, const std::vector<ExpectedSpread>& spreads,
                       const std::vector<SiteGround>& sites, int planned) {
  const EffortSpec& spec = season.plan.effort;
  Effort effort;
  effort.planned = planned;
  double ground = 0;
  for (const SiteGround& site : sites) ground += site.area_m2;
  effort.possible_plots = std::floor(ground / season.plan.sample.unit_area_m2());
  if (effort.possible_plots < 2) return effort;
  if (spec.hours) effort.affordable = plots_for_hours(*spec.hours, sites, spec);
  effort.plots = numbers_to_show(effort);
  for (const int plots : effort.plots) effort.hours.push_back(hours_for(plots, sites, spec));
  const WorkOut work(season, sites, effort);
  for (const ExpectedSpread& spread : spreads) effort.species.push_back(work.species(spread));
  find_failing(effort);
  return effort;
}

}  // namespace swardline
