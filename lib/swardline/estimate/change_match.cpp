#include "swardline/estimate/change_match.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <map>
#include <optional>
#include <unordered_map>
#include <utility>

#include "swardline/base/text.hpp"
#include "swardline/estimate/counted_place.hpp"
#include "swardline/geo/crs.hpp"

namespace swardline {
namespace {

/// More pairs of names than this are summed up, not listed.
constexpr std::size_t most_named = 12;

using namespace change_parts;

std::unordered_map<std::string_view, std::size_t> by_name(const EvaluatedSeason& season) {
  std::unordered_map<std::string_view, std::size_t> index;
  for (std::size_t i = 0; i < season.units.size(); ++i) index.emplace(season.units[i].name, i);
  return index;
}

std::string fate_of(const EvaluatedUnit& unit) {
  if (unit.fate.empty() || unit.fate == "counted")
    return unit.why.empty() ? std::string("not counted") : unit.why;
  // The season's own words may hold the fate and the day: the year is said here.
  if (unit.why.empty() || unit.why.find(unit.fate) != std::string::npos) return unit.fate;
  return unit.fate + ": " + unit.why;
}

class Matcher {
 public:
  Matcher(const EvaluatedSeason& earlier, const EvaluatedSeason& later, double moved_m)
      : earlier_(earlier), later_(later), moved_m_(moved_m) {
    if (earlier.crs.empty() || later.crs.empty() || earlier.crs == later.crs) return;
    const Crs from = Crs::from_text(later.crs), to = Crs::from_text(earlier.crs);
    if (!from.same_as(to)) route_.emplace(from, to);
  }

  std::vector<MatchedPlot> match() {
    const auto then = by_name(earlier_), now = by_name(later_);
    std::vector<MatchedPlot> matches;
    for (std::size_t i = 0; i < later_.units.size(); ++i) {
      const auto found = then.find(later_.units[i].name);
      add(found == then.end() ? no_unit : found->second, i, matches);
    }
    for (std::size_t i = 0; i < earlier_.units.size(); ++i)
      if (now.find(earlier_.units[i].name) == now.end()) add(i, no_unit, matches);
    std::sort(matches.begin(), matches.end(),
              [&](const MatchedPlot& a, const MatchedPlot& b) { return name(a) < name(b); });
    return matches;
  }

  /// Plots counted once only that lie where one of the other season does.
  void say_renamed(const std::vector<MatchedPlot>& matches, Flags& flags) const {
    const double side = std::max(moved_m_, 0.5);
    const auto cell = [&](Point p, int dx, int dy) {
      return std::pair(std::int64_t(std::floor(p.x / side)) + dx, std::int64_t(std::floor(p.y / side)) + dy);
    };
    std::map<std::pair<std::int64_t, std::int64_t>, std::vector<std::size_t>> gone;
    for (const MatchedPlot& match : matches)
      if (match.matching == Matching::gone)
        gone[cell(place_then(match.earlier).at, 0, 0)].push_back(match.earlier);
    std::vector<std::string> named;
    std::size_t count = 0;
    for (const MatchedPlot& match : matches) {
      if (match.matching != Matching::added) continue;
      const Point here = place_now(match.later).at;
      const std::size_t there = nearest(here, gone, cell);
      if (there == no_unit) continue;
      if (++count <= most_named)
        named.push_back(fmt::format("{} ({}, {:.1f} m away)", later_.units[match.later].name,
                                    earlier_.units[there].name, apart(here, place_then(there).at)));
    }
    if (count == 0) return;
    if (count > most_named) named.push_back(fmt::format("{} more", count - most_named));
    flags.add(Severity::ask, "same place, another name", {},
              fmt::format("counted where a plot of another name was counted in {}: {}. Not paired.",
                          earlier_.year, in_words(named)),
              "If they are the same plots, give them their old names.");
  }

 private:
  const std::string& name(const MatchedPlot& match) const {
    return match.later != no_unit ? later_.units[match.later].name : earlier_.units[match.earlier].name;
  }

  CountedPlace place_then(std::size_t i) const { return counted_place(earlier_.units[i], moved_m_); }

  /// In the earlier season's coordinates.
  CountedPlace place_now(std::size_t i) const {
    CountedPlace where = counted_place(later_.units[i], moved_m_);
    if (route_) where.at = route_->forward(where.at);
    return where;
  }

  template <class Cell>
  std::size_t nearest(Point here,
                      const std::map<std::pair<std::int64_t, std::int64_t>, std::vector<std::size_t>>& of,
                      const Cell& cell) const {
    std::size_t best = no_unit;
    double least = moved_m_;
    for (int dx = -1; dx <= 1; ++dx)
      for (int dy = -1; dy <= 1; ++dy) {
        const auto found = of.find(cell(here, dx, dy));
        if (found == of.end()) continue;
        for (const std::size_t i : found->second)
          if (const double far = apart(here, place_then(i).at); far <= least) {
            least = far;
            best = i;
          }
      }
    return best;
  }

  void add(std::size_t then, std::size_t now, std::vector<MatchedPlot>& matches) const {
    const bool counted_then = then != no_unit && earlier_.units[then].evaluated;
    const bool counted_now = now != no_unit && later_.units[now].evaluated;
    if (!counted_then && !counted_now) return;
    MatchedPlot match;
    match.earlier = then;
    match.later = now;
    if (counted_then) match.off_pin_then = place_then(then).off_pin;
    if (counted_now) match.off_pin_now = place_now(now).off_pin;
    if (counted_then && counted_now)
      place_of_both(match);
    else if (counted_then)
      counted_once(match, match.later, later_, Matching::gone, Matching::resting_now,
                   Matching::not_counted_now);
    else
      counted_once(match, match.earlier, earlier_, Matching::added, Matching::resting_then,
                   Matching::not_counted_then);
    matches.push_back(std::move(match));
  }

  void place_of_both(MatchedPlot& match) const {
    const CountedPlace then = place_then(match.earlier), now = place_now(match.later);
    match.moved_m = apart(then.at, now.at);
    if (match.moved_m <= moved_m_ + then.give_m + now.give_m) return;
    match.matching = Matching::moved;
    match.why = fmt::format("moved {:.0f} m: treated as a new plot", match.moved_m);
    if (then.off_pin != now.off_pin)
      match.why += fmt::format(" (in {} the team's fix lies away from the pin)",
                               now.off_pin ? later_.year : earlier_.year);
  }

  static void counted_once(MatchedPlot& match, std::size_t other, const EvaluatedSeason& season,
                           Matching none, Matching rests, Matching failed) {
    if (other == no_unit) {
      match.matching = none;
      match.why = none == Matching::gone ? fmt::format("not among the plots of {}", season.year)
                                         : fmt::format("new, not among the plots of {}", season.year);
      return;
    }
    const EvaluatedUnit& unit = season.units[other];
    match.matching = unit.in_use ? failed : rests;
    if (unit.in_use)
      match.why = fmt::format("{} in {}", fate_of(unit), season.year);
    else
      match.why = unit.spare ? fmt::format("a spare that was not used in {}", season.year)
                             : fmt::format("resting in {}", season.year);
  }

  const EvaluatedSeason& earlier_;
  const EvaluatedSeason& later_;
  double moved_m_;
  std::optional<Route> route_;  ///< from the later season's coordinates to the earlier one's
};

}  // namespace

namespace change_parts {

double apart(Point a, Point b) { return std::hypot(a.x - b.x, a.y - b.y); }

CountedPlace counted_place(const EvaluatedUnit& unit, double moved_m) {
  CountedPlace place{{unit.east, unit.north}, 0, false};
  if (std::isnan(unit.fix_east) || std::isnan(unit.fix_north)) return place;
  const Point fix{unit.fix_east, unit.fix_north};
  const double accuracy = std::isnan(unit.fix_accuracy_m) ? moved_m : unit.fix_accuracy_m;
  if (apart(place.at, fix) <= moved_m + accuracy) return place;
  return {fix, accuracy, true};
}

}  // namespace change_parts

const char* word(Matching matching) {
  switch (matching) {
    case Matching::paired:
      return "paired";
    case Matching::moved:
      return "moved";
    case Matching::not_counted_now:
      return "not counted now";
    case Matching::not_counted_then:
      return "not counted then";
    case Matching::resting_now:
      return "resting now";
    case Matching::resting_then:
      return "resting then";
    case Matching::added:
      return "new";
    case Matching::gone:
      return "gone";
  }
  return "";
}

std::vector<MatchedPlot> match_plots(const EvaluatedSeason& earlier, const EvaluatedSeason& later,
                                     double moved_m, Flags& flags) {
  Matcher matcher(earlier, later, moved_m);
  std::vector<MatchedPlot> matches = matcher.match();
  matcher.say_renamed(matches, flags);
  return matches;
}

}  // namespace swardline
