#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/check/check_parts.hpp"

namespace swardline::check_parts {
namespace {

// A route stated worse than this can move a plot off its place (common practice: a third of a short plot).
constexpr double coarse_m = 3;

Point middle(const Box& box) { return {(box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2}; }

bool within(const Box& box, Point p, double margin) {
  return p.x >= box.x0 - margin && p.x <= box.x1 + margin && p.y >= box.y0 - margin && p.y <= box.y1 + margin;
}

std::optional<Point> carried_point(const Crs& from, const Crs& to, Point p) {
  if (!from.projected() && (std::abs(p.x) > 360 || std::abs(p.y) > 90)) return {};
  try {
    const Point there = from.same_as(to) ? p : Route(from, to).forward(p);
    if (std::isfinite(there.x) && std::isfinite(there.y)) return there;
  } catch (const Error&) {
    // This reading of the numbers is not a place at all.
  }
  return {};
}

std::optional<Crs> utm_of_zone(const Crs& crs, int step) {
  const std::optional<int> zone = crs.utm_zone();
  const std::optional<std::string> code = crs.code();
  if (!zone || !code || code->rfind("EPSG:", 0) != 0) return {};
  try {
    Crs other = Crs::from_text(fmt::format("EPSG:{}", std::stoi(code->substr(5)) + step));
    if (other.utm_zone() == (*zone > 0 ? *zone + step : *zone - step)) return other;
  } catch (const Error&) {
    // The numbers beside this code are no zones of the same family.
  }
  return {};
}

// A usual way of misreading numbers that would bring them into the valley, in words.
std::optional<std::string> usual_slip(const Crs& from, Point read, const Crs& plan, const Box& valley) {
  struct Slip {
    std::string words;
    std::optional<Point> place;
  };
  std::vector<Slip> slips = {
      {"its coordinates were swapped (north before east)", carried_point(from, plan, {read.y, read.x})}};
  if (!from.projected()) {
    slips.push_back(
        {"the minus sign of its longitude was lost", carried_point(from, plan, {-read.x, read.y})});
    slips.push_back({"its latitude and longitude were swapped and a minus sign was lost",
                     carried_point(from, plan, {-read.y, read.x})});
    // Numbers far beyond degrees are metres, whatever the file says.
    if (std::abs(read.x) > 360 || std::abs(read.y) > 90)
      slips.push_back({"its numbers were metres of " + plan.name(), read});
  }
  for (const int step : {-1, 1})
    if (const std::optional<Crs> zone = utm_of_zone(from, step))
      slips.push_back({"its numbers belonged to " + zone->name(), carried_point(*zone, plan, read)});
  if (from.projected() && std::abs(read.x) <= 360 && std::abs(read.y) <= 90)
    slips.push_back(
        {"its numbers were degrees of longitude and latitude", carried_point(Crs::wgs84(), plan, read)});
  for (const Slip& slip : slips)
    if (slip.place && within(valley, *slip.place, 0)) return slip.words;
  return {};
}

void check_outside(const VectorInput& input, const Crs& crs, const Box& valley, Flags& flags) {
  const Crs& from = *input.layer.crs;
  const double margin = std::max({1000.0, (valley.x1 - valley.x0) / 4, (valley.y1 - valley.y0) / 4});
  struct Group {
    std::vector<Place> places;
  };
  std::map<std::string, Group> groups;  // by slip
  const std::vector<RawFeature> raw = raw_features(input);
  for (const RawFeature& feature : raw) {
    const Point read = middle(feature.box);
    const std::optional<Point> here = carried_point(from, crs, read);
    if (here && within(valley, *here, margin)) continue;
    groups[usual_slip(from, read, crs, valley).value_or("")].places.push_back(feature.place);
  }
  for (const auto& [slip, group] : groups) {
    const bool one = group.places.size() == 1;
    const std::string which = raw.size() == 1 ? "it lies"
                                              : fmt::format("{} of {} features {}", group.places.size(),
                                                            raw.size(), one ? "lies" : "lie");
    flags.add(Severity::stop, "far outside the valley", group.places.front(),
              fmt::format("{} far from the ground the layers cover{}{}.", which,
                          slip.empty() ? "" : "; it would fit if ", slip),
              slip.empty() ? "Check its coordinate system and the numbers."
                           : "If that is so, mend the file or declare its system. Nothing was changed.");
  }
}

}  // namespace

void check_route(const std::string& what, const Place& place, const std::string& route, double accuracy_m,
                 std::vector<std::string>& routes, Flags& flags) {
  if (route.empty()) return;
  const std::string line = what + ": " + route;
  if (std::find(routes.begin(), routes.end(), line) != routes.end()) return;
  routes.push_back(line);
  if (accuracy_m >= 0 && accuracy_m <= coarse_m) return;
  flags.add(Severity::ask, "coarse datum route", place,
            accuracy_m < 0
                ? fmt::format("{}: how exact the way to the plan's datum is, is not known ({}).", what, route)
                : fmt::format("{}: points may be off by about {} m ({}).", what, shortest(accuracy_m), route),
            route.find("not installed") != std::string::npos
                ? "Install the datum grid it names, or accept it and write down why."
                : "Accept it and write down why, or get the file in the plan's system from its maker.");
}

void check_positions(const Crs& crs, const VectorInputs& inputs, const std::optional<Box>& valley,
                     std::vector<std::string>& routes, Flags& flags) {
  for (const VectorInput* input : inputs.all()) {
    check_route(input->name(), input->spec.place, input->layer.route, input->layer.route_accuracy_m, routes,
                flags);
    if (valley && input->layer.crs) check_outside(*input, crs, *valley, flags);
  }
}

}  // namespace swardline::check_parts
