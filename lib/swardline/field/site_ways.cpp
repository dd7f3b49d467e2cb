#include "swardline/field/site_ways.hpp"

#include <algorithm>

namespace swardline {
namespace {

bool in_walk(const Plot& plot, const std::string& code) {
  return plot.site == code && plot.due() && !plot.spare && plot.walk > 0;
}

template <class Plots>
auto walked(Plots& plots, const std::string& code) {
  std::vector<decltype(&plots.front())> there;
  for (auto& plot : plots)
    if (in_walk(plot, code)) there.push_back(&plot);
  std::sort(there.begin(), there.end(), [](const Plot* a, const Plot* b) { return a->walk < b->walk; });
  return there;
}

}  // namespace

SiteWays site_ways(const Access& access, const Site* site, const Geometry& survey, const std::string& code,
                   const std::vector<Plot>& plots, const std::vector<Transect>& transects) {
  std::vector<const Plot*> there = walked(plots, code);
  for (const Transect& transect : transects)
    if (in_walk(transect.unit, code)) there.push_back(&transect.unit);
  std::sort(there.begin(), there.end(), [](const Plot* a, const Plot* b) { return a->walk < b->walk; });
  SiteWays ways;
  const auto start = access.start.find(code);
  ways.parking = start != access.start.end();
  if (ways.parking) ways.start = start->second;
  if (there.empty()) return ways;
  std::vector<Point> places;
  for (const Plot* plot : there) places.push_back({plot->east, plot->north});
  if (!ways.parking) ways.start = survey.empty() ? places.front() : entry_nearest(survey, places.front());
  if (site == nullptr || !site->verge) {
    ways.legs = walked_legs(access, site, ways.start, places);
    return ways;
  }
  std::vector<VergePlace> segments;
  for (const Plot* plot : there)
    segments.push_back({{plot->east, plot->north}, (plot->from_m + plot->to_m) / 2, plot->side});
  ways.legs = legs_along(*site->verge, ways.start, segments);
  return ways;
}

void mark_reached(const SiteWays& ways, const std::string& code, std::vector<Plot>& plots) {
  const std::vector<Plot*> there = walked(plots, code);
  for (std::size_t i = 0; i < std::min(there.size(), ways.legs.from_start.size()); ++i) {
    const WalkedLeg& leg = ways.legs.from_start[i];
    there[i]->beyond = leg.beyond;
    there[i]->round_outside = leg.outside ? leg.past : std::string();
  }
}

}  // namespace swardline
