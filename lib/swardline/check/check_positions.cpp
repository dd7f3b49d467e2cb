#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/check/check_parts.hpp"
#include "swardline/geo/vectors.hpp"

namespace swardline::check_parts {
namespace {

// A route stated worse than this can move a plot off its place (common practice: below the length of a plot).
constexpr double coarse_m = 3;
// Farther than this from its site, a point that belongs to it is out of place.
constexpr double off_m = 60;
constexpr double fits_m = 25;

struct Source {
  SourceSpec spec;
  VectorLayer layer;
};

std::vector<Source> read_all(const Plan& plan, const Crs& crs, const std::vector<SourceSpec>& specs) {
  std::vector<Source> sources;
  for (const SourceSpec& spec : specs) {
    Flags said_before;  // sites, access and patches report their own findings
    VectorRequest request{spec.file, spec.layer, spec.crs, plan.sites.private_attributes, spec.place};
    sources.push_back({spec, read_vectors(request, crs, said_before)});
  }
  return sources;
}

Point middle(const Box& box) { return {(box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2}; }

bool within(const Box& box, Point p, double margin) {
  return p.x >= box.x0 - margin && p.x <= box.x1 + margin && p.y >= box.y0 - margin && p.y <= box.y1 + margin;
}

// The same system on the datum NAD27, where there is one: UTM zones of North America and degrees.
std::optional<Crs> on_nad27(const Crs& crs) {
  if (crs.datum().find("1927") != std::string::npos) return {};
  if (!crs.projected()) return Crs::from_text("EPSG:4267");
  const std::optional<int> zone = crs.utm_zone();
  if (!zone || *zone < 1 || *zone > 22) return {};
  return Crs::from_text(fmt::format("EPSG:{}", 26700 + *zone));
}

std::optional<Crs> next_zone(const Crs& crs, int step) {
  const std::optional<int> zone = crs.utm_zone();
  const std::optional<std::string> code = crs.code();
  if (!zone || !code || code->rfind("EPSG:", 0) != 0 || std::abs(*zone) + step < 1 ||
      std::abs(*zone) + step > 60)
    return {};
  try {
    Crs other = Crs::from_text(fmt::format("EPSG:{}", std::stoi(code->substr(5)) + step));
    if (other.utm_zone() == (*zone > 0 ? *zone + step : *zone - step)) return other;
  } catch (const Error&) {
  }
  return {};
}

// Where a point of the source would fall if it had been misread in one of the usual ways; the
// first that lands in the valley explains it.
std::optional<std::string> usual_slip(const VectorLayer& layer, Point as_read, const Crs& plan_crs,
                                      const Box& valley) {
  struct Slip {
    std::string words;
    std::function<Point()> place;
  };
  const Crs& from = *layer.crs;
  std::vector<Slip> slips = {{"its coordinates are swapped (north before east)",
                              [&] {
                                return Route(from, plan_crs).forward(Point{as_read.y, as_read.x});
                              }},
                             {"the minus sign of its longitude was lost",
                              [&] {
                                return Route(from, plan_crs).forward(Point{-as_read.x, as_read.y});
                              }},
                             {"it is swapped and the minus sign was lost", [&] {
                                return Route(from, plan_crs).forward(Point{-as_read.y, as_read.x});
                              }}};
  for (const int step : {-1, 1})
    if (const std::optional<Crs> zone = next_zone(from, step))
      slips.push_back({"its numbers belong to " + zone->name(),
                       [zone, as_read, &plan_crs] { return Route(*zone, plan_crs).forward(as_read); }});
  for (const Slip& slip : slips) {
    try {
      const Point p = slip.place();
      if (std::isfinite(p.x) && std::isfinite(p.y) && within(valley, p, 0)) return slip.words;
    } catch (const Error&) {
      // This reading of the numbers is not a place at all.
    }
  }
  return {};
}

void check_outside(const Source& source, const Crs& crs, const Box& valley, Flags& flags) {
  const double margin = std::max({1000.0, valley.x1 - valley.x0, valley.y1 - valley.y0});
  int outside = 0;
  std::optional<std::string> slip;
  Place first;
  for (const Feature& feature : source.layer.features) {
    if (feature.geometry.empty() || within(valley, middle(feature.geometry.box()), margin)) continue;
    if (outside++ == 0) {
      first = feature.place;
      slip = usual_slip(source.layer, middle(feature.as_read.box()), crs, valley);
    }
  }
  if (outside == 0) return;
  flags.add(Severity::stop, "far outside the valley", first,
            fmt::format("{} of {} features lie far from the ground the layers cover{}.", outside,
                        source.layer.features.size(), slip ? "; it would fit if " + *slip : ""),
            slip ? "If that is so, mend the file or declare its system; nothing was changed."
                 : "Check the coordinate system and the numbers.");
}

void check_route(const Source& source, std::vector<std::string>& routes, Flags& flags) {
  if (source.layer.route.empty()) return;
  const std::string line = source.spec.file.filename().string() + ": " + source.layer.route;
  if (std::find(routes.begin(), routes.end(), line) == routes.end()) routes.push_back(line);
  const double accuracy = source.layer.route_accuracy_m;
  if (accuracy >= 0 && accuracy <= coarse_m) return;
  flags.add(Severity::ask, "coarse datum route", source.spec.place,
            accuracy < 0
                ? fmt::format("{}: the accuracy of the route to the plan's datum is not known ({}).",
                              source.spec.file.filename().string(), source.layer.route)
                : fmt::format("{}: points may be off by about {} m ({}).",
                              source.spec.file.filename().string(), shortest(accuracy), source.layer.route),
            "Install the datum grid it names, or accept it and write down why.");
}

// Points that name their site, or patches near one: what a site's boundary should agree with.
struct Evidence {
  std::string site;
  Point at;
};

std::vector<Evidence> evidence_of(const std::vector<Source>& points, const Sites& sites) {
  std::vector<Evidence> all;
  for (const Source& source : points)
    for (const Feature& feature : source.layer.features) {
      const std::vector<Point> at = points_of(feature.geometry);
      if (at.empty()) continue;
      const auto named = feature.fields.find("site");
      std::string site = named == feature.fields.end() ? "" : named->second;
      if (site.empty()) {
        double nearest = 1000;
        for (const Site& candidate : sites.sites) {
          const double metres = distance(candidate.drawn, feature.geometry);
          if (metres < nearest) {
            nearest = metres;
            site = candidate.code;
          }
        }
      }
      if (!site.empty()) all.push_back({site, at.front()});
    }
  return all;
}

std::string compass(double east, double north) {
  return fmt::format("{:.0f} m {}, {:.0f} m {}", std::abs(east), east < 0 ? "west" : "east", std::abs(north),
                     north < 0 ? "south" : "north");
}

// A boundary whose own points lie off it, and which NAD27 would bring back onto them.
void check_datum(const Source& source, const Plan& plan, const Crs& crs,
                 const std::vector<Evidence>& evidence, Flags& flags) {
  if (!source.layer.crs) return;
  const std::optional<Crs> older = on_nad27(*source.layer.crs);
  if (!older) return;
  for (const Feature& feature : source.layer.features) {
    const auto code = feature.fields.find(plan.sites.code);
    if (code == feature.fields.end() || feature.geometry.empty()) continue;
    std::optional<Geometry> moved;
    int off = 0;
    int fits = 0;
    int points = 0;
    double as_it_is = 0;
    double on_older = 0;
    for (const Evidence& point : evidence) {
      if (point.site != code->second) continue;
      if (!moved) moved = Route(*older, crs).forward(feature.as_read);
      ++points;
      const double here = distance(feature.geometry, point_geometry(point.at));
      const double there = distance(*moved, point_geometry(point.at));
      as_it_is += here;
      on_older += there;
      off += here > off_m ? 1 : 0;
      fits += there < fits_m ? 1 : 0;
    }
    if (off == 0 || fits < points || on_older >= as_it_is) continue;
    const Point now = middle(feature.geometry.box());
    const Point then = middle(moved->box());
    flags.add(Severity::ask, "looks like another datum", feature.place,
              fmt::format("{} sits {:.0f} m ({}) from where its {} known point{} would put it: looks like "
                          "NAD27 read as {}.",
                          code->second, std::hypot(now.x - then.x, now.y - then.y),
                          compass(now.x - then.x, now.y - then.y), points, points == 1 ? "" : "s",
                          source.layer.crs->name()),
              fmt::format("Ask who made the file; if so, declare crs = \"{}\". Nothing was moved.",
                          older->code().value_or(older->name())));
  }
}

}  // namespace

void check_positions(const Plan& plan, const Crs& crs, const Sites& sites, const std::optional<Box>& valley,
                     std::vector<std::string>& routes, Flags& flags) {
  std::vector<SourceSpec> polygons = plan.sites.sources;
  std::vector<SourceSpec> points;
  for (const auto& spec : {plan.sites.access.start, plan.sites.access.crossings, plan.known})
    if (spec) points.push_back(*spec);
  std::vector<SourceSpec> others;
  if (plan.sites.access.barriers) others.push_back(*plan.sites.access.barriers);
  for (const ExclusionSpec& exclusion : plan.sites.exclusions) others.push_back(exclusion.source);

  const std::vector<Source> site_sources = read_all(plan, crs, polygons);
  const std::vector<Source> point_sources = read_all(plan, crs, points);
  const std::vector<Source> other_sources = read_all(plan, crs, others);
  for (const auto* group : {&site_sources, &point_sources, &other_sources})
    for (const Source& source : *group) {
      check_route(source, routes, flags);
      if (valley && source.layer.crs) check_outside(source, crs, *valley, flags);
    }
  const std::vector<Evidence> evidence = evidence_of(point_sources, sites);
  for (const Source& source : site_sources) check_datum(source, plan, crs, evidence, flags);
}

}  // namespace swardline::check_parts
