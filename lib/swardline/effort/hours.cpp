#include <algorithm>
#include <cmath>
#include <limits>

#include "swardline/effort/effort.hpp"

namespace swardline {

double hours_for(int plots, const std::vector<SiteGround>& sites, const EffortSpec& spec) {
  constexpr double shortest_way = 0.7124;
  double ground = 0;
  for (const SiteGround& site : sites) ground += site.area_m2;
  if (plots <= 0 || !(ground > 0)) return 0;
  double minutes = 0;
  for (const SiteGround& site : sites) {
    if (!(site.area_m2 > 0)) continue;
    const double here = plots * site.area_m2 / ground;
    const double walk_m = site.walked_plots > 0 ? site.walked_m * std::sqrt(here / site.walked_plots)
                                                : shortest_way * std::sqrt(here * site.area_m2);
    minutes += here * (1 - spec.refused) * spec.minutes_per_plot + walk_m / spec.walk_m_per_minute +
               spec.minutes_per_site;
  }
  return minutes * spec.people / 60;
}

int plots_for_hours(double hours, const std::vector<SiteGround>& sites, const EffortSpec& spec) {
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
