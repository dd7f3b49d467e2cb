// Lines placed by hand, and sites too small for the lines that are drawn.
#include <fmt/format.h>
#include <geos_c.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/design/heights.hpp"
#include "swardline/design/season_parts.hpp"
#include "swardline/geo/vectors.hpp"

namespace swardline {
namespace {

/// The longest way across an area, in metres: between two corners of its hull.
double longest_way(const Geometry& area) {
  const Geometry hull(GEOSConvexHull_r(geos(), area.get()));
  const std::vector<Point> corners = points_of(hull);
  double longest = 0;
  for (std::size_t i = 0; i < corners.size(); ++i)
    for (std::size_t j = i + 1; j < corners.size(); ++j) {
      const double dx = corners[i].x - corners[j].x, dy = corners[i].y - corners[j].y;
      longest = std::max(longest, dx * dx + dy * dy);
    }
  return std::sqrt(longest);
}

/// The site that holds most of a line; none where no part of it is in one.
const Site* site_of(const Sites& sites, const Geometry& line) {
  const Site* best = nullptr;
  double most = 0;
  for (const Site& site : sites.sites) {
    if (!site.survey.box().meets(line.box())) continue;
    const double inside = intersection(site.survey, line).length();
    if (inside <= most) continue;
    most = inside;
    best = &site;
  }
  return best;
}

std::string name_of(const Feature& feature, std::size_t number) {
  for (const char* key : {"name", "Name", "NAME"})
    if (const auto found = feature.fields.find(key); found != feature.fields.end() && !found->second.empty())
      return found->second;
  return fmt::format("reference {}", number);
}

/// Tape along every leg of a line; nothing where a height is missing.
std::optional<double> tape_along(const std::vector<Point>& points, Heights& heights) {
  double sum = 0;
  for (std::size_t i = 0; i + 1 < points.size(); ++i) {
    const Point a = points[i], b = points[i + 1];
    const double length = std::sqrt((b.x - a.x) * (b.x - a.x) + (b.y - a.y) * (b.y - a.y));
    if (length == 0) continue;
    const auto tape = Tape::along(a, {(b.x - a.x) / length, (b.y - a.y) / length}, length, heights.cell_m(),
                                  [&](Point p) { return heights.at(p); });
    if (!tape) return {};
    sum += tape->length();
  }
  return sum;
}

}  // namespace

void check_transect_length(const Plan& plan, const Sites& sites, Flags& flags) {
  if (plan.sample.unit != SampleUnit::transect) return;
  for (const Site& site : sites.sites) {
    if (site.survey.empty()) continue;
    const double across = longest_way(site.survey);
    if (plan.transect.length_m <= across) continue;
    flags.add(
        Severity::stop, "transect longer than the site", plan.transect.place,
        fmt::format("transects of {} m are longer than {}, which is {:.0f} m at its longest.",
                    shortest(plan.transect.length_m), site.code, across),
        fmt::format("Write length_m = {:.0f} ({:.0f} at most; shorter lines leave room for a random start), "
                    "or leave {} out with [sites] only.",
                    std::floor(across / 2), std::floor(across), site.code));
  }
}

namespace season_parts {

std::vector<ReferenceLine> read_reference_lines(const Plan& plan, const Crs& crs, const Sites& sites,
                                                const Layers& layers, Flags& flags) {
  std::vector<ReferenceLine> lines;
  if (!plan.transect.reference_lines) return lines;
  const SourceSpec& source = *plan.transect.reference_lines;
  VectorRequest request;
  request.file = source.file;
  request.layer = source.layer;
  request.declared_crs = source.crs;
  request.private_fields = plan.sites.private_attributes;
  request.place = source.place;
  const VectorLayer read = read_vectors(request, crs, flags);
  const Route to_wgs84(crs, Crs::wgs84());
  Heights heights(layers);
  for (const Feature& feature : read.features) {
    const std::vector<Point> points = points_of(feature.geometry);
    if (points.size() < 2 || feature.geometry.length() <= 0 || feature.geometry.area() > 0) {
      flags.add(Severity::ask, "reference line is no line", feature.place, "a reference line must be a line.",
                "Draw it as a line, or take it out.");
      continue;
    }
    const Site* site = site_of(sites, feature.geometry);
    if (site == nullptr)
      flags.add(Severity::ask, "reference line outside", feature.place,
                fmt::format("{} lies in no survey area.", name_of(feature, lines.size() + 1)),
                "Check where it was drawn and in which system.");
    const Point start = to_wgs84.forward(points.front());
    lines.push_back({name_of(feature, lines.size() + 1), site == nullptr ? "" : site->code,
                     feature.geometry.length(), tape_along(points, heights), feature.geometry, start.y,
                     start.x});
  }
  return lines;
}

}  // namespace season_parts
}  // namespace swardline
