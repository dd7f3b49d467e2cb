// What makes two seasons hard to compare, apart from the plants.
#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/estimate/change_ground.hpp"

namespace swardline::change_parts {
namespace {

/// Differences of visit days above this are said: a bloom is over in three weeks (common practice).
constexpr double days_apart = 10;

const char* said(EdgeRule rule) {
  switch (rule) {
    case EdgeRule::walk_through:
      return "walk-through";
    case EdgeRule::grown_frame:
      return "grown-frame";
    case EdgeRule::fold_back:
      return "fold-back";
    case EdgeRule::inside_area:
      return "inside-area";
    case EdgeRule::inner_margin:
      return "inner-margin";
  }
  return "";
}

int day_of_year(std::int32_t day) {
  const std::chrono::sys_days date{std::chrono::days(day)};
  const std::chrono::year_month_day calendar{date};
  return int((date - std::chrono::sys_days{calendar.year() / 1 / 1}).count());
}

class Compare {
 public:
  Compare(const EvaluatedSeason& earlier, const EvaluatedSeason& later, const TwoGrounds& grounds,
          Flags& flags)
      : earlier_(earlier), later_(later), grounds_(grounds), flags_(flags) {}

  void seasons() {
    if (earlier_.year > 0 && later_.year > 0 && earlier_.year >= later_.year)
      add(Severity::ask, "not an earlier season",
          fmt::format("is of {}, and this season is of {}.", earlier_.year, later_.year),
          "Give the store of an earlier season.");
    if (earlier_.unit != later_.unit)
      add(Severity::ask, "another counting unit",
          fmt::format(
              "counted {}, and this season {}: a difference between the two is not one of plants alone.",
              units(earlier_), units(later_)),
          "Compare seasons counted alike.");
    else if (std::abs(earlier_.unit_area_m2 - later_.unit_area_m2) > 0.01 * later_.unit_area_m2)
      add(Severity::ask, "another plot size",
          fmt::format("counted {} of {} m², and this season of {} m²: counts are compared per m², but larger "
                      "plots lose more plants to the eye.",
                      units(earlier_), shortest(earlier_.unit_area_m2), shortest(later_.unit_area_m2)),
          "Keep one size, or count some plots both ways.");
    if (earlier_.edge != later_.edge)
      add(Severity::note, "another edge rule",
          fmt::format("has the edge rule {}, and this season {}.", said(earlier_.edge), said(later_.edge)),
          "Plots at edges may differ for that alone.");
    if (earlier_.weighted != later_.weighted)
      add(Severity::note, "other chances",
          fmt::format("has {} chances within strata, and this season {}.",
                      earlier_.weighted ? "unequal" : "equal", later_.weighted ? "unequal" : "equal"),
          "Pairs are weighted by their chances of the earlier season.");
    if (!grounds_.anew.empty())
      add(Severity::note, "strata made anew", fmt::format("has other strata in {}.", in_words(grounds_.anew)),
          "Pairs are weighted by the earlier strata, cut or kept in proportion to the survey area.");
    species();
  }

  void pairs(const std::vector<MatchedPlot>& plots) {
    int all = 0, others = 0, known = 0, sizes = 0;
    double days = 0;
    for (const MatchedPlot& plot : plots) {
      if (plot.matching != Matching::paired) continue;
      const EvaluatedUnit& then = earlier_.units[plot.earlier];
      const EvaluatedUnit& now = later_.units[plot.later];
      ++all;
      days += day_of_year(now.day) - day_of_year(then.day);
      sizes += std::abs(then.plot_m2 - now.plot_m2) > 0.01 * now.plot_m2 ? 1 : 0;
      if (then.observer.empty() || now.observer.empty()) continue;
      ++known;
      others += then.observer != now.observer ? 1 : 0;
    }
    if (all == 0) return;
    if (known > 0 && 2 * others >= known)
      add(Severity::note, "other observers",
          fmt::format(
              "{} of {} paired plots were counted by other observers than in {}: a change of people can "
              "look like a change of plants.",
              others, known, earlier_.year),
          "Look at the recount ratios before calling it one.");
    days /= all;
    if (std::abs(days) > days_apart)
      add(Severity::note, "another time of year",
          fmt::format("paired plots were visited {:.0f} days {} in the year than in {}.", std::abs(days),
                      days > 0 ? "later" : "earlier", earlier_.year),
          "Was it as late in the bloom?");
    if (sizes > 0 && std::abs(earlier_.unit_area_m2 - later_.unit_area_m2) <= 0.01 * later_.unit_area_m2)
      add(Severity::note, "another plot size",
          fmt::format("{} of {} paired plots have another size than in {}.", sizes, all, earlier_.year),
          "They are compared per m².");
  }

 private:
  static const char* units(const EvaluatedSeason& season) {
    return season.unit == SampleUnit::transect ? "transects" : "plots";
  }

  void species() {
    const auto only = [](const EvaluatedSeason& in, const EvaluatedSeason& other) {
      std::vector<std::string> codes;
      for (const std::string& code : in.species)
        if (std::find(other.species.begin(), other.species.end(), code) == other.species.end())
          codes.push_back(code);
      return codes;
    };
    const auto gone = only(earlier_, later_), fresh = only(later_, earlier_);
    if (!gone.empty())
      add(Severity::note, "other species",
          fmt::format("counted {}, and this season did not.", in_words(gone)),
          "Nothing is said of their change.");
    if (!fresh.empty())
      add(Severity::note, "other species", fmt::format("did not count {}.", in_words(fresh)),
          "Nothing is said of their change.");
  }

  void add(Severity severity, const char* check, const std::string& meaning, const std::string& remedy) {
    flags_.add(severity, check, {earlier_.season, 0, {}}, meaning, remedy);
  }

  const EvaluatedSeason& earlier_;
  const EvaluatedSeason& later_;
  const TwoGrounds& grounds_;
  Flags& flags_;
};

}  // namespace

void compare_sampling(const EvaluatedSeason& earlier, const EvaluatedSeason& later,
                      const std::vector<MatchedPlot>& plots, const TwoGrounds& grounds, Flags& flags) {
  Compare compare(earlier, later, grounds, flags);
  compare.seasons();
  compare.pairs(plots);
}

}  // namespace swardline::change_parts
