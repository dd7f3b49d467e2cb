#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/check/check_parts.hpp"

namespace swardline::check_parts {
namespace {

// A route stated worse than this can move a plot off its place (common practice: a third of a short plot).
constexpr double coarse_m = 3;

bool within(const Box& box, Point p, double margin) {
  return p.x >= box.x0 - margin && p.x <= box.x1 + margin && p.y >= box.y0 - margin && p.y <= box.y1 + margin;
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

// The ways numbers are usually misread, each with its route to the plan's system, made once for a source.
class Readings {
 public:
  Readings(const Crs& from, const Crs& plan, const Box& valley) : from_(from), plan_(plan), valley_(valley) {
    add("as they are", from, [](Point p) { return p; });
    usable_ = !ways_.empty();
  }

  /// False where there is no way to the plan's system at all, which reading the source has said.
  [[nodiscard]] bool usable() const { return usable_; }

  /// Where the numbers lie as they are read; nothing where that is no place.
  [[nodiscard]] std::optional<Point> as_read(Point p) const { return ways_.front().place(p); }

  /// The first other reading that brings the numbers into the valley, in words.
  [[nodiscard]] std::string usual_slip(Point p) {
    if (ways_.size() == 1) add_slips();  // few sources need them
    for (std::size_t i = 1; i < ways_.size(); ++i) {
      const std::optional<Point> there = ways_[i].place(p);
      if (there && within(valley_, *there, 0)) return ways_[i].words;
    }
    return {};
  }

 private:
  struct Way {
    std::string words;
    Point (*read)(Point);
    bool degrees;
    std::optional<Route> route;  ///< none where the system is the plan's

    [[nodiscard]] std::optional<Point> place(Point as_written) const {
      const Point p = read(as_written);
      if (degrees && (std::abs(p.x) > 360 || std::abs(p.y) > 90)) return {};
      try {
        const Point there = route ? route->forward(p) : p;
        if (std::isfinite(there.x) && std::isfinite(there.y)) return there;
      } catch (const Error&) {
        // This reading of the numbers is not a place at all.
      }
      return {};
    }
  };

  void add(std::string words, const Crs& from, Point (*read)(Point)) {
    Way way{std::move(words), read, !from.projected(), std::nullopt};
    try {
      if (!from.same_as(plan_)) way.route.emplace(from, plan_);
      ways_.push_back(std::move(way));
    } catch (const Error&) {
      // No way to the plan's system.
    }
  }

  void add_slips() {
    const auto same = [](Point p) { return p; };
    add("its coordinates were swapped (north before east)", from_, [](Point p) { return Point{p.y, p.x}; });
    if (from_.projected()) {
      add("its numbers were degrees of longitude and latitude", Crs::wgs84(), same);
    } else {
      add("the minus sign of its longitude was lost", from_, [](Point p) { return Point{-p.x, p.y}; });
      add("its latitude and longitude were swapped and a minus sign was lost", from_, [](Point p) {
        return Point{-p.y, p.x};
      });
      add("its numbers were metres of " + plan_.name(), plan_, same);
    }
    for (const int step : {-1, 1})
      if (const std::optional<Crs> zone = utm_of_zone(from_, step))
        add("its numbers belonged to " + zone->name(), *zone, same);
  }

  Crs from_;
  Crs plan_;
  Box valley_;
  bool usable_ = false;
  std::vector<Way> ways_;
};

void check_outside(const VectorInput& input, const Crs& crs, const Box& valley, Flags& flags) {
  const double margin = std::max({1000.0, (valley.x1 - valley.x0) / 4, (valley.y1 - valley.y0) / 4});
  Readings readings(*input.layer.crs, crs, valley);
  if (!readings.usable()) return;
  std::map<std::string, std::vector<Place>> outside;  // by slip
  const std::vector<RawFeature> raw = raw_features(input);
  for (const RawFeature& feature : raw) {
    const Box& box = feature.box;
    constexpr double earth = 1e9;  // what lies beyond has been said in reading
    if (!(box.x0 >= -earth && box.x1 <= earth && box.y0 >= -earth && box.y1 <= earth)) continue;
    const Point read = box.middle();
    const std::optional<Point> here = readings.as_read(read);
    if (!here || !within(valley, *here, margin)) outside[readings.usual_slip(read)].push_back(feature.place);
  }
  for (const auto& [slip, places] : outside) {
    const bool one = places.size() == 1;
    const std::string which = raw.size() == 1 ? "it lies"
                                              : fmt::format("{} of {} features {}", places.size(), raw.size(),
                                                            one ? "lies" : "lie");
    flags.add(Severity::stop, "far outside the valley", places.front(),
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
