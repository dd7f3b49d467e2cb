#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/check/check_parts.hpp"

namespace swardline::check_parts {
namespace {

constexpr double off_m = 60;        // a point this far from its site is out of place
constexpr double fits_m = 25;       // a point this near belongs: the reach of a boundary drawn by hand
constexpr double nearest_m = 1000;  // a point that names no site is taken for one within this

// The same system on NAD27, where there is one: UTM zones of North America.
std::optional<Crs> on_nad27(const Crs& crs) {
  if (crs.datum().find("1927") != std::string::npos) return {};
  const std::optional<int> zone = crs.utm_zone();
  if (!zone || *zone < 1 || *zone > 22) return {};
  return Crs::from_text(fmt::format("EPSG:{}", 26700 + *zone));
}

// A point that belongs to a site, and should lie in it or by it.
struct Evidence {
  const VectorInput* input = nullptr;
  std::string site;
  Place place;
  Point at;
  Point as_read;
};

std::string site_of(const Feature& feature, Point at, const Sites& sites) {
  const auto named = feature.fields.find("site");
  if (named != feature.fields.end() && !named->second.empty()) return named->second;
  double nearest = nearest_m;
  std::string code;
  for (const Site& site : sites.sites) {
    const double metres = distance(site.drawn, point_geometry(at));
    if (metres < nearest) {
      nearest = metres;
      code = site.code;
    }
  }
  return code;
}

void add_evidence(const std::vector<VectorInput>& inputs, const Sites& sites, std::vector<Evidence>& all) {
  for (const VectorInput& input : inputs)
    for (const Feature& feature : input.layer.features) {
      if (feature.geometry.empty()) continue;
      const Point at = feature.geometry.box().middle();
      std::string site = site_of(feature, at, sites);
      if (!site.empty())
        all.push_back({&input, std::move(site), feature.place, at, feature.as_read.box().middle()});
    }
}

// How points lie as read, and how they would if the older datum were the true one.
struct Fit {
  int points = 0, off = 0, fit_then = 0;
  double metres_now = 0, metres_then = 0;
  void add(double now, double then) {
    ++points;
    off += now > off_m ? 1 : 0;
    fit_then += then < fits_m ? 1 : 0;
    metres_now += now;
    metres_then += then;
  }
  [[nodiscard]] bool speaks_for_the_older() const {
    return off > 0 && fit_then == points && metres_then < metres_now;
  }
};

// From the older datum. PROJ takes a tenth of a second to find the way, so it is asked where a point is off.
class FromOlder {
 public:
  FromOlder(const Crs& older, const Crs& plan, std::optional<Box> where)
      : older_(older), plan_(plan), where_(where) {}
  [[nodiscard]] const Crs& older() const { return older_; }
  const Route& route() {
    if (!route_) route_.emplace(older_, plan_, where_);
    return *route_;
  }

 private:
  const Crs& older_;
  const Crs& plan_;
  std::optional<Box> where_;
  std::optional<Route> route_;
};

std::optional<Box> box_as_read(const VectorLayer& layer) {
  std::optional<Box> box;
  for (const Feature& feature : layer.features) {
    if (feature.as_read.empty()) continue;
    if (!box) box = feature.as_read.box();
    box->grow(feature.as_read.box());
  }
  return box;
}

std::string shift_in_words(Point from, Point to) {
  const double east = to.x - from.x;
  const double north = to.y - from.y;
  return fmt::format("{:.0f} m {}, {:.0f} m {}", std::abs(east), east < 0 ? "west" : "east", std::abs(north),
                     north < 0 ? "south" : "north");
}

std::string datum_remedy(const Crs& older) {
  return fmt::format("Ask who made the file; if so, it is in {} and the file must say so. Nothing was moved.",
                     older.code().value_or(older.name()));
}

// A boundary whose points lie off it, and which NAD27 would bring back onto them. Points known to lie
// within a site go before parking places, which may lie anywhere round it.
void check_site(const Feature& feature, const std::string& code, const Crs& own, FromOlder& from_older,
                const std::vector<Evidence>& evidence, Flags& flags) {
  const bool any_off = std::any_of(evidence.begin(), evidence.end(), [&](const Evidence& point) {
    return point.site == code && distance(feature.geometry, point_geometry(point.at)) > off_m;
  });
  if (!any_off) return;
  const Geometry moved = from_older.route().forward(feature.as_read);
  Fit fit;
  for (const Evidence& point : evidence) {
    if (point.site != code) continue;
    const Geometry at = point_geometry(point.at);
    fit.add(distance(feature.geometry, at), distance(moved, at));
  }
  if (!fit.speaks_for_the_older()) return;
  const Point now = feature.geometry.box().middle();
  const Point then = moved.box().middle();
  flags.add(
      Severity::ask, "looks like another datum", feature.place,
      fmt::format("{} sits {:.0f} m ({}) from where its {} known point{} would put it: looks like NAD27 "
                  "read as {}.",
                  code, std::hypot(now.x - then.x, now.y - then.y), shift_in_words(then, now), fit.points,
                  fit.points == 1 ? "" : "s", own.name()),
      datum_remedy(from_older.older()));
}

void check_sites(const VectorInput& input, const Plan& plan, const Crs& crs,
                 const std::vector<Evidence>& within, const std::vector<Evidence>& near, Flags& flags) {
  const std::optional<Crs> older = on_nad27(*input.layer.crs);
  if (!older) return;
  FromOlder from_older(*older, crs, box_as_read(input.layer));
  for (const Feature& feature : input.layer.features) {
    const auto code = feature.fields.find(plan.sites.code);
    if (code == feature.fields.end() || feature.geometry.empty()) continue;
    bool inner = false;
    for (const Evidence& point : within) inner = inner || point.site == code->second;
    check_site(feature, code->second, *input.layer.crs, from_older, inner ? within : near, flags);
  }
}

bool any_off(const VectorInput& input, const std::vector<Evidence>& evidence, const Sites& sites) {
  for (const Evidence& point : evidence) {
    if (point.input != &input) continue;
    for (const Site& site : sites.sites) {
      if (site.code == point.site && distance(site.drawn, point_geometry(point.at)) > off_m) return true;
    }
  }
  return false;
}

// Points that lie off their sites all by the same shift.
void check_points(const VectorInput& input, const Crs& crs, const std::vector<Evidence>& evidence,
                  const Sites& sites, Flags& flags) {
  const std::optional<Crs> older = on_nad27(*input.layer.crs);
  if (!older) return;
  if (!any_off(input, evidence, sites)) return;
  const Route from_older(*older, crs, box_as_read(input.layer));
  Fit fit;
  const Evidence* first = nullptr;
  Point then_first;
  for (const Evidence& point : evidence) {
    if (point.input != &input) continue;
    for (const Site& site : sites.sites) {
      if (site.code != point.site) continue;
      const Point then = from_older.forward(point.as_read);
      const double now_m = distance(site.drawn, point_geometry(point.at));
      fit.add(now_m, distance(site.drawn, point_geometry(then)));
      if (first == nullptr && now_m > off_m) {
        first = &point;
        then_first = then;
      }
    }
  }
  if (!fit.speaks_for_the_older()) return;
  flags.add(Severity::ask, "looks like another datum", first->place,
            fmt::format("{} point{} {:.0f} m ({}) off {} site{}: looks like NAD27 read as {}.", fit.points,
                        fit.points == 1 ? " falls" : "s fall",
                        std::hypot(first->at.x - then_first.x, first->at.y - then_first.y),
                        shift_in_words(then_first, first->at), fit.points == 1 ? "its" : "their",
                        fit.points == 1 ? "" : "s", input.layer.crs->name()),
            datum_remedy(*older));
}

}  // namespace

void check_datum(const Plan& plan, const Crs& crs, const VectorInputs& inputs, const Sites& sites,
                 Flags& flags) {
  std::vector<Evidence> within;
  std::vector<Evidence> near;
  add_evidence(inputs.within, sites, within);
  add_evidence(inputs.near, sites, near);
  for (const VectorInput& input : inputs.sites)
    if (input.layer.crs) check_sites(input, plan, crs, within, near, flags);
  for (const VectorInput& input : inputs.within)
    if (input.layer.crs) check_points(input, crs, within, sites, flags);
  for (const VectorInput& input : inputs.near)
    if (input.layer.crs) check_points(input, crs, near, sites, flags);
}

}  // namespace swardline::check_parts
