// Where teams start their walk, what stops them and where they get over it.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

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

/// About the accuracy of a hand-held unit's fix under open sky (common practice).
constexpr double crossing_tolerance_m = 5;
/// A crossing this near was hardly meant for another barrier.
constexpr double crossing_doubt_m = 50;

std::string what_of(const Feature& feature, const std::string& without) {
  for (const char* field : {"what", "name", "kind"}) {
    const auto found = feature.fields.find(field);
    if (found != feature.fields.end() && !found->second.empty()) return found->second;
  }
  return without;
}

std::vector<Barrier> read_barriers(const SourceSpec& source, const Plan& plan, const Crs& crs, Flags& flags) {
  const VectorLayer layer = read_vectors(
      {source.file, source.layer, source.crs, plan.sites.private_attributes, source.place}, crs, flags);
  std::vector<Barrier> barriers;
  for (const Feature& feature : layer.features) {
    Barrier barrier{fmt::format("{} ({})", what_of(feature, "a barrier"), feature.place.text()),
                    lines_of(feature.geometry), what_of(feature, "a barrier")};
    if (barrier.lines.empty()) {
      flags.add(Severity::ask, "barrier that is a point", feature.place,
                "it has no length: nobody is stopped by it, and it is not used.",
                "Draw it as a line, or move it to the crossings.");
      continue;
    }
    barriers.push_back(std::move(barrier));
  }
  return barriers;
}

Point nearest_on(Point a, Point b, Point to) {
  const double dx = b.x - a.x, dy = b.y - a.y;
  const double length2 = dx * dx + dy * dy;
  const double t = length2 > 0 ? std::clamp(((to.x - a.x) * dx + (to.y - a.y) * dy) / length2, 0.0, 1.0) : 0;
  return {a.x + t * dx, a.y + t * dy};
}

/// Calls `visit(a, b)` for every edge.
template <class Visit>
void each_edge(const Barrier& barrier, Visit&& visit) {
  for (const auto& line : barrier.lines)
    for (std::size_t i = 0; i + 1 < line.size(); ++i) visit(line[i], line[i + 1]);
}

struct Nearest {
  const Barrier* barrier = nullptr;
  Point at;
  double away = std::numeric_limits<double>::infinity();
};

Nearest nearest_barrier(const std::vector<Barrier>& barriers, Point to) {
  Nearest nearest;
  for (const Barrier& barrier : barriers)
    each_edge(barrier, [&](Point a, Point b) {
      const Point at = nearest_on(a, b, to);
      const double away = metres_between(at, to);
      if (away < nearest.away) nearest = {&barrier, at, away};
    });
  return nearest;
}

/// Amid a barrier drawn as an area: where the line from its nearest bank through `amid` meets the other bank.
std::optional<Point> other_bank(const Barrier& barrier, Point bank, Point amid) {
  const bool is_area = std::all_of(barrier.lines.begin(), barrier.lines.end(), [](const auto& line) {
    return line.size() > 3 && line.front() == line.back();
  });
  const double reach = metres_between(bank, amid);
  if (!is_area || reach <= 0) return std::nullopt;
  const Point way{(amid.x - bank.x) / reach, (amid.y - bank.y) / reach};
  std::size_t ahead = 0;
  double least = std::numeric_limits<double>::infinity();
  each_edge(barrier, [&](Point a, Point b) {
    // Beside the line of sight: the cross products with the edge's ends. Ends on the line count once.
    const double side_a = way.x * (a.y - amid.y) - way.y * (a.x - amid.x);
    const double side_b = way.x * (b.y - amid.y) - way.y * (b.x - amid.x);
    if ((side_a > 0) == (side_b > 0)) return;
    const double t = side_a / (side_a - side_b);
    const Point at{a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)};
    const double along = way.x * (at.x - amid.x) + way.y * (at.y - amid.y);
    if (along <= 0) return;
    ++ahead;
    least = std::min(least, along);
  });
  if (ahead % 2 == 0) return std::nullopt;  // not amid it
  return Point{amid.x + least * way.x, amid.y + least * way.y};
}

/// The nearest of what the sites keep out of where a crossing lies amid it or at its edge, and no barrier is
/// as near.
Nearest ground_crossed(const std::vector<Barrier>& grounds, const Nearest& barrier, Point at) {
  const Nearest ground = nearest_barrier(grounds, at);
  if (ground.barrier == nullptr || barrier.away <= std::min(crossing_tolerance_m, ground.away))
    return barrier;
  const bool meant =
      ground.away <= crossing_tolerance_m || other_bank(*ground.barrier, ground.at, at).has_value();
  return meant ? ground : barrier;
}

void add_gate(const std::vector<Barrier>& barriers, const std::vector<Barrier>& grounds, Point at,
              const Feature& feature, Access& access, Flags& flags) {
  const Nearest nearest = ground_crossed(grounds, nearest_barrier(barriers, at), at);
  if (nearest.barrier == nullptr) return;
  const std::optional<Point> across = other_bank(*nearest.barrier, nearest.at, at);
  // A gate a step inside a paddock's fence is no bridge: the far side is far.
  const bool bridge =
      across && (nearest.away > crossing_tolerance_m || metres_between(*across, at) <= crossing_tolerance_m);
  if (bridge) {
    access.crossings.push_back({nearest.at, *across});
  } else if (nearest.away <= crossing_tolerance_m) {
    access.crossings.push_back({nearest.at});
  } else if (nearest.away <= crossing_doubt_m) {
    flags.add(Severity::ask, "crossing beside its barrier", feature.place,
              fmt::format("{} lies {:.0f} m from the nearest barrier, {}: not used.",
                          what_of(feature, "the crossing"), nearest.away, nearest.barrier->name),
              fmt::format("Put it within {:.0f} m of the barrier it leads over.", crossing_tolerance_m));
  }
}

/// What the sites keep out of, as barriers drawn as areas.
std::vector<Barrier> grounds_of(const Sites& sites) {
  std::vector<Barrier> grounds;
  for (const Site& site : sites.sites)
    for (const ExcludedPiece& piece : site.keep_out)
      grounds.push_back({piece.reason, rings_of(piece.area).rings});
  return grounds;
}

void read_crossings(const SourceSpec& source, const Plan& plan, const Crs& crs, const Sites& sites,
                    Access& access, Flags& flags) {
  const std::vector<Barrier> grounds = grounds_of(sites);
  const VectorLayer layer = read_vectors(
      {source.file, source.layer, source.crs, plan.sites.private_attributes, source.place}, crs, flags);
  for (const Feature& feature : layer.features) {
    const std::vector<std::vector<Point>> lines = lines_of(feature.geometry);
    access.crossings.insert(access.crossings.end(), lines.begin(), lines.end());
    if (!lines.empty()) continue;
    for (const Point at : points_of(feature.geometry))
      add_gate(access.barriers, grounds, at, feature, access, flags);
  }
}

}  // namespace

Access read_access(const Plan& plan, const Crs& crs, const Sites& sites, Flags& flags) {
  Access access;
  std::vector<Start> starts;
  if (plan.sites.access.start) starts = read_starts(*plan.sites.access.start, plan, crs, sites, flags);
  if (plan.sites.access.barriers) {
    access.barriers = read_barriers(*plan.sites.access.barriers, plan, crs, flags);
    access.barriers_place = plan.sites.access.barriers->place;
  }
  if (plan.sites.access.crossings)
    read_crossings(*plan.sites.access.crossings, plan, crs, sites, access, flags);
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
