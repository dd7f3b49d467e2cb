// Where teams start their walk.
#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/text.hpp"
#include "swardline/design/site.hpp"
#include "swardline/geo/vectors.hpp"

namespace swardline {
namespace {

struct Start {
  std::string site;  ///< empty: for whichever site is near
  Geometry at;
  Point point;
};

constexpr double far_m = 1000;

std::vector<Start> read_starts(const SourceSpec& source, const Plan& plan, const Crs& crs, const Sites& sites,
                               Flags& flags) {
  std::vector<std::string> codes;
  for (const Site& site : sites.sites) codes.push_back(site.code);
  const VectorLayer layer = read_vectors(
      {source.file, source.layer, source.crs, plan.sites.private_attributes, source.place}, crs, flags);
  std::vector<Start> starts;
  for (const Feature& feature : layer.features) {
    const auto named = feature.fields.find("site");
    const std::string site = named == feature.fields.end() ? "" : named->second;
    const bool known = std::find(codes.begin(), codes.end(), site) != codes.end();
    // With `only` the other sites are not here to be known.
    if (!site.empty() && !known && plan.sites.only.empty()) {
      const std::string near = nearest_word(site, codes);
      flags.add(Severity::ask, "access point of no site", feature.place,
                fmt::format("it names site {}, and no site has that code: not used.", site),
                near.empty() ? "" : fmt::format("Did you mean {}?", near));
    }
    if (!site.empty() && !known) continue;
    for (const Point point : points_of(feature.geometry))
      starts.push_back({site, point_geometry(point), point});
  }
  return starts;
}

}  // namespace

Access read_access(const Plan& plan, const Crs& crs, const Sites& sites, Flags& flags) {
  Access access;
  std::vector<Start> starts;
  if (plan.sites.access.start) starts = read_starts(*plan.sites.access.start, plan, crs, sites, flags);
  std::vector<std::string> without;
  for (const Site& site : sites.sites) {
    if (site.survey.empty()) continue;
    const bool has_own =
        std::any_of(starts.begin(), starts.end(), [&](const Start& s) { return s.site == site.code; });
    const Start* nearest = nullptr;
    double least = 0;
    for (const Start& start : starts) {
      if (start.site != (has_own ? site.code : "")) continue;
      const double away = distance(site.survey, start.at);
      if (nearest == nullptr || away < least) {
        nearest = &start;
        least = away;
      }
    }
    if (nearest == nullptr) {
      without.push_back(site.code);
      continue;
    }
    access.start[site.code] = nearest->point;
    if (least > far_m) {
      flags.add(
          Severity::ask, "access point far off", site.place,
          fmt::format("the nearest access point of {} lies {:.1f} km from it.", site.code, least / 1000),
          "Add one nearer, with the site's code in its attribute `site`.");
    }
  }
  if (!without.empty()) {
    flags.add(Severity::note, "no access point",
              plan.sites.access.start ? plan.sites.access.start->place : plan.sites.place,
              fmt::format("{}: the walk starts at the edge of the survey area nearest to the first plot.",
                          in_words(without)),
              "Add parking or entry points under [sites.access], start.");
  }
  return access;
}

}  // namespace swardline
