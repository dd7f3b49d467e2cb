// What is cut out of the sites, by reason.
#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/text.hpp"
#include "swardline/base/workers.hpp"
#include "swardline/design/site_parts.hpp"

namespace swardline::site_parts {
namespace {

struct Reason {
  std::string text;
  bool verges_only = false;
  std::vector<Geometry> areas;
  std::vector<Box> boxes;
};

/// A feature's ground with its buffer; empty, and said, when that is no ground at all.
Geometry ground_of(const Feature& feature, const ExclusionSpec& spec, Flags& flags) {
  const std::string what = "excluded " + spec.reason;
  const Geometry area = mended_polygons(feature, what, flags);
  if (spec.buffer_m > 0) {
    const bool lines_or_points = area.empty();
    return polygons_of(snapped_mm(buffered(lines_or_points ? feature.geometry : area, spec.buffer_m)));
  }
  if (area.empty()) {
    flags.add(
        Severity::stop, "exclusion without an area", feature.place,
        fmt::format("{} is a line or a point and has no buffer, so nothing would be excluded.", spec.reason),
        "Give buffer_m, the metres to keep away from it.");
  }
  return area;
}

void read_exclusion(const Plan& plan, const ExclusionSpec& spec, const Crs& crs, Reason& reason, Sites& sites,
                    Flags& flags) {
  const SourceSpec& source = spec.source;
  const VectorLayer layer = read_vectors(
      {source.file, source.layer, source.crs, plan.sites.private_attributes, source.place}, crs, flags);
  if (!layer.route.empty() &&
      std::find(sites.routes.begin(), sites.routes.end(), layer.route) == sites.routes.end()) {
    sites.routes.push_back(layer.route);
  }
  bool meets = false;
  for (const Feature& feature : layer.features) {
    Geometry ground = ground_of(feature, spec, flags);
    if (ground.empty()) continue;
    const Box box = ground.box();
    meets = meets || std::any_of(sites.sites.begin(), sites.sites.end(), [&](const Site& site) {
              return (site.verge || !spec.verges_only) && site.drawn.box().meets(box) &&
                     intersects(site.drawn, ground);
            });
    reason.areas.push_back(std::move(ground));
    reason.boxes.push_back(box);
  }
  if (!layer.features.empty() && !meets) {
    flags.add(Severity::note, "exclusion outside the sites", source.place,
              fmt::format("nothing of {} ({}) lies within a {}.", source.file.filename().string(),
                          spec.reason, spec.verges_only ? "linear site" : "site"),
              "Is it the right file, in the right coordinate system?");
  }
}

/// Ground farther from its site than this matters to no way.
constexpr double no_way_so_far_m = 5000;

/// The ground as drawn, without what lies far from the site: a county's rivers can be one polygon.
Geometry near_site(const Geometry& ground, const Box& site) {
  const double reach = no_way_so_far_m + std::max(site.x1 - site.x0, site.y1 - site.y0);
  return clipped(ground, {site.x0 - reach, site.y0 - reach, site.x1 + reach, site.y1 + reach});
}

void cut_out(Site& site, const std::vector<Reason>& reasons) {
  const Box box = site.drawn.box();
  std::vector<Geometry> taken;
  for (const Reason& reason : reasons) {
    if (reason.verges_only && !site.verge) continue;
    std::vector<Geometry> within;
    for (std::size_t i = 0; i < reason.areas.size(); ++i) {
      if (!reason.boxes[i].meets(box)) continue;
      Geometry piece = polygons_of(intersection(site.drawn, reason.areas[i]));
      if (piece.empty()) continue;
      within.push_back(std::move(piece));
      // Gaps of a verge are passed on the road.
      if (!site.verge) site.keep_out.push_back({reason.text, near_site(reason.areas[i], box)});
    }
    if (within.empty()) continue;
    Geometry area = united(within);
    if (!taken.empty()) area = difference(area, united(taken));
    area = polygons_of(snapped_mm(polygons_of(area)));
    if (area.empty() || area.area() <= 0) continue;
    taken.push_back(area);
    site.excluded.push_back({reason.text, std::move(area)});
  }
  site.survey = taken.empty() ? site.drawn
                              : polygons_of(snapped_mm(polygons_of(difference(site.drawn, united(taken)))));
}

}  // namespace

void cut_out_exclusions(const Plan& plan, const Crs& crs, int threads, Sites& sites, Flags& flags) {
  std::vector<Reason> reasons;
  for (const ExclusionSpec& spec : plan.sites.exclusions) {
    auto found = std::find_if(reasons.begin(), reasons.end(), [&](const Reason& r) {
      return r.text == spec.reason && r.verges_only == spec.verges_only;
    });
    if (found == reasons.end())
      found = reasons.insert(reasons.end(), Reason{spec.reason, spec.verges_only, {}, {}});
    read_exclusion(plan, spec, crs, *found, sites, flags);
  }
  in_runs(sites.sites.size(), threads, [&](int, std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) cut_out(sites.sites[i], reasons);
  });
}

}  // namespace swardline::site_parts
