#include <algorithm>
#include <cmath>
#include <limits>

#include "swardline/effort/effort.hpp"

namespace swardline {
namespace {

// Days at a site: whole ones, for each costs the way there; of a site that gets less than a plot, its share.
double days(double plots, double minutes, double hours_per_day) {
  return plots < 1 ? plots : std::ceil(minutes / (60 * hours_per_day) - 1e-9);
}

}  // namespace

std::vector<SiteWork> ground_of(const Plan& plan, const Sites& sites, const std::vector<Plot>& drawn) {
  std::vector<SiteWork> ground;
  for (const Site& site : sites.sites) {
    ground.push_back({site.code, site.survey_m2, 0, 0});
    if (plan.sample.total_from == TotalFrom::hours) continue;
    for (const Plot& plot : drawn) {
      if (plot.site != site.code || plot.spare || !plot.due()) continue;
      ++ground.back().walked_plots;
      ground.back().walked_m += plot.metres_from_last;
    }
  }
  return ground;
}

double hours_for(int plots, const std::vector<SiteWork>& sites, const EffortSpec& spec) {
  constexpr double shortest_way = 0.7124;
  double ground = 0;
  double walked = 0;
  for (const SiteWork& site : sites) {
    ground += site.area_m2;
    walked += site.walked_plots;
  }
  if (plots <= 0 || !(ground > 0)) return 0;
  double minutes = 0;
  for (const SiteWork& site : sites) {
    const double here = plots * (walked > 0 ? site.walked_plots / walked : site.area_m2 / ground);
    if (!(here > 0)) continue;
    const double walk_m = site.walked_plots > 0 ? site.walked_m * std::sqrt(here / site.walked_plots)
                                                : shortest_way * std::sqrt(here * site.area_m2);
    const double at_site =
        here * (1 - spec.refused) * spec.minutes_per_plot + walk_m / spec.walk_m_per_minute;
    minutes += at_site + days(here, at_site, spec.hours_per_day) * spec.minutes_per_site;
  }
  return minutes * spec.people * spec.visits / 60;
}

int plots_for_hours(double hours, const std::vector<SiteWork>& sites, const EffortSpec& spec) {
  if (!(hours_for(1, sites, spec) > 0)) return 0;
  int low = 0;
  int high = 1;
  while (hours_for(high, sites, spec) <= hours) {
    low = high;
    if (high > std::numeric_limits<int>::max() / 2) return low;
    high *= 2;
  }
  while (high - low > 1) {
    const int middle = low + (high - low) / 2;
    (hours_for(middle, sites, spec) <= hours ? low : high) = middle;
  }
  return low;
}

}  // namespace swardline
