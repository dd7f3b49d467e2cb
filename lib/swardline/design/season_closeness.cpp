// Plots of a season that lie close together or over one another, whatever their strata.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/design/draw_season.hpp"
#include "swardline/design/season_parts.hpp"

namespace swardline {
namespace {

std::string called(const Plot& plot) {
  if (!plot.name.empty()) return plot.name;
  return fmt::format("{} {} of {}", plot.spare ? "spare" : "plot", plot.order,
                     season_parts::spoken(plot.stratum));
}

/// Counts a pair, and keeps it when it comes before the one kept. Planned plots come before spares.
void add(ClosePairs& pairs, const Plot& a, const Plot& b, double value, bool smaller_first) {
  const bool spare = a.spare || b.spare;
  const bool first_planned = !spare && pairs.planned == 0;
  const bool rank_kept = spare && pairs.planned > 0;
  const bool better = smaller_first ? value < pairs.extreme : value > pairs.extreme;
  const bool none = pairs.planned + pairs.with_spares == 0;
  ++(spare ? pairs.with_spares : pairs.planned);
  if (!none && !first_planned && (rank_kept || !better)) return;
  pairs.extreme = value;
  pairs.names = {called(a), called(b)};
}

/// Square metres of the survey area that both plots cover.
double overlap_m2(const SampleSpec& sample, const Site& site, const Plot& a, const Plot& b) {
  const auto ground = [&](const Plot& plot) {
    return plot_polygon(sample.shape, sample.size_m, {plot.east, plot.north}, plot.grid_bearing_deg);
  };
  const Geometry both = polygons_of(intersection(ground(a), ground(b)));
  constexpr double nothing = 1e-6;
  if (both.empty() || both.area() < nothing) return 0;
  const double whole = sample.unit_area_m2() - 0.001;
  const double inside = a.inside_m2 > whole && b.inside_m2 > whole
                            ? both.area()
                            : polygons_of(intersection(both, clipped(site.survey, both.box()))).area();
  return inside < nothing ? 0 : inside;
}

void look_at_site(const SampleSpec& sample, const Site& site, std::vector<const Plot*> plots,
                  Closeness& closeness) {
  std::sort(plots.begin(), plots.end(), [](const Plot* a, const Plot* b) {
    return a->east != b->east ? a->east < b->east : called(*a) < called(*b);
  });
  const double touching = 2 * sample.reach_m(), farthest = std::max(sample.apart_m, touching);
  for (std::size_t i = 0; i < plots.size(); ++i) {
    for (std::size_t j = i + 1; j < plots.size(); ++j) {
      const Plot &a = *plots[i], &b = *plots[j];
      const double dx = b.east - a.east, dy = b.north - a.north;
      if (dx > farthest) break;
      const double metres = std::sqrt(dx * dx + dy * dy);
      if (a.stratum != b.stratum && metres < sample.apart_m)
        add(closeness.near_across_strata, a, b, metres, true);
      if (metres >= touching) continue;
      const double m2 = overlap_m2(sample, site, a, b);
      if (m2 == 0) continue;
      if (!a.spare && !b.spare) closeness.overlap_m2 += m2;
      add(closeness.overlapping, a, b, m2, false);
    }
  }
}

std::string counted(const ClosePairs& pairs) {
  return pairs.with_spares == 0 ? fmt::format("{}", pairs.planned)
                                : fmt::format("{}, and {} with a spare", pairs.planned, pairs.with_spares);
}

void say(const Plan& plan, const Closeness& closeness, Flags& flags) {
  const ClosePairs &near = closeness.near_across_strata, &over = closeness.overlapping;
  if (near.any()) {
    flags.add(
        Severity::ask, "plots of different strata close together", plan.sample.place,
        fmt::format("pairs of plots of one site but different strata nearer than {:.4g} m: {}; the nearest "
                    "{} and {}, {:.1f} m. apart_m holds between plots of one stratum.",
                    plan.sample.apart_m, counted(near), near.names[0], near.names[1], near.extreme),
        "Keep them: their chances are as stated. For a distance that holds over a whole site, make one "
        "stratum of it: by = [\"site\"].");
  }
  if (over.any()) {
    flags.add(
        Severity::note, "plots overlap", plan.sample.place,
        fmt::format("pairs of plots that overlap on the ground: {}; the most {} and {}, {:.1f} m². Stems "
                    "there stand in both.",
                    counted(over), over.names[0], over.names[1], over.extreme),
        "Count each plot as if the other were not there: the chances allow for it.");
  }
}

}  // namespace

void look_for_close_plots(const Plan& plan, const Sites& sites, SeasonDraw& draw, Flags& flags) {
  Closeness closeness;
  closeness.apart_m = plan.sample.apart_m;
  std::map<std::string, std::vector<const Plot*>> by_site;
  for (const Plot& plot : draw.plots) {
    if (plot.due()) by_site[plot.site].push_back(&plot);
  }
  for (const Site& site : sites.sites) {
    // Segments share no ground, and their distance along the line is the draw's.
    if (!site.verge) look_at_site(plan.sample, site, by_site[site.code], closeness);
  }
  say(plan, closeness, flags);
  draw.certificate.closeness = closeness;
}

}  // namespace swardline
