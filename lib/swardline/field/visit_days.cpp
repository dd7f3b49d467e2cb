#include "swardline/field/visit_days.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <tuple>

#include "swardline/base/text.hpp"

namespace swardline {
namespace {

bool names_site(const std::vector<std::string>& sites, const std::string& site) {
  return sites.empty() || std::find(sites.begin(), sites.end(), site) != sites.end();
}

void add_closures(const Plan& plan, const std::string& site, Day from, Day until,
                  std::vector<DayRange>& closed) {
  for (const ClosureSpec& closure : plan.visits.closures) {
    if (!names_site(closure.sites, site)) continue;
    // One that began the year before may still last.
    for (int year = year_of(from) - 1; year <= year_of(until); ++year) {
      if (closure.year.value_or(year) != year) continue;
      const DayWindow days = window_in({closure.from, closure.until}, year, 0);
      if (days.from <= until && from <= days.until)
        closed.push_back({days.from, days.until, closure.reason, false});
    }
  }
}

void add_days_without_permission(const PermissionSpec& permission, Day from, Day until,
                                 std::vector<DayRange>& closed) {
  if (permission.status == "no" || permission.status == "withdrawn") {
    closed.push_back(
        {from, until, permission.status == "no" ? "no permission" : "permission withdrawn", true});
    return;
  }
  if (!permission.from && !permission.until) return;
  const DayOfYear first = permission.from.value_or(DayOfYear{1, 1});
  const DayOfYear last = permission.until.value_or(DayOfYear{12, 31});
  Day after = no_day;  // the last day there was permission
  for (int year = year_of(from) - 1; year <= year_of(until) + 1; ++year) {
    const DayWindow allowed = window_in({first, last}, year, 0);
    if (after != no_day) {
      const Day begin = std::max(from, after + 1), end = std::min(until, allowed.from - 1);
      // Said by the end that lies in the days asked about, or nearer to them.
      const bool before = allowed.from <= until || (after < from && allowed.from - until <= from - after);
      if (begin <= end)
        closed.push_back({begin, end,
                          before ? "no permission before " + short_date(allowed.from)
                                 : "no permission after " + short_date(after),
                          true});
    }
    after = allowed.until;
  }
}

std::string sheet_words(const Season& season, std::size_t sheet) { return short_name(season.sheets[sheet]); }

/// Why a window has no open day: "turkey season closes all of 10 May–25 Jun".
std::string closed_words(const DayWindow& window, const std::vector<DayRange>& closed) {
  const std::string days = short_range(window.from, window.until);
  std::vector<std::string> closures, permission;
  for (const DayRange& range : closed) {
    if (range.until < window.from || window.until < range.from) continue;
    auto& reasons = range.permission ? permission : closures;
    if (std::find(reasons.begin(), reasons.end(), range.why) == reasons.end()) reasons.push_back(range.why);
  }
  if (permission.empty())
    return fmt::format("{} {} all of {}", in_words(closures), closures.size() == 1 ? "closes" : "close",
                       days);
  if (closures.empty()) return fmt::format("{}, and it can be counted {}", in_words(permission), days);
  closures.insert(closures.end(), permission.begin(), permission.end());
  return fmt::format("no day of {} is open ({})", days, in_words(closures));
}

class SitePlanner {
 public:
  SitePlanner(const Season& season, const SiteSpecies& site, int year)
      : season_(season), site_(site), year_(year), name_(site.name.empty() ? site.site : site.name) {}

  SiteVisits plan() {
    if (refused()) return std::move(found_);
    find_windows();
    if (species_.empty()) return std::move(found_);
    const Day from = std::min_element(species_.begin(), species_.end(), [](const auto& a, const auto& b) {
                       return a.window.from < b.window.from;
                     })->window.from;
    const Day until = std::max_element(species_.begin(), species_.end(), [](const auto& a, const auto& b) {
                        return a.window.until < b.window.until;
                      })->window.until;
    closed_ = closed_days(season_.plan, site_.site, from, until);
    const OpenDays open(from, until, closed_);
    leave_out_closed(open);
    const int wanted = 1 + season_.plan.visits.weather_days;
    for (const auto& group : fewest_groups(species_, open, wanted)) add_visit(group, open);
    number();
    if (!found_.visits.empty()) name_the_others();
    return std::move(found_);
  }

 private:
  void say(const std::string& text) { found_.conflicts.push_back(text); }

  /// Whether nobody may go there at all.
  bool refused() {
    const auto permission = season_.plan.visits.permission.find(site_.site);
    if (permission == season_.plan.visits.permission.end()) return false;
    const std::string& status = permission->second.status;
    if (status == "asked")
      say(fmt::format("{}: permission is asked and not given yet. Nobody enters before there is an answer.",
                      name_));
    if (status != "no" && status != "withdrawn") return false;
    say(fmt::format("{}: {}. No visit can be made.", name_,
                    status == "no" ? "there is no permission" : "permission was withdrawn"));
    return true;
  }

  void find_windows() {
    const int shift = season_.plan.returns.shift_days;
    std::vector<std::string> without;
    for (const LikelySpecies& likely : site_.likely) {
      const Sheet& sheet = season_.sheets[likely.sheet];
      if (sheet.window)
        species_.push_back({likely.sheet, window_in(*sheet.window, year_, shift), 0});
      else
        anywhen_.push_back(likely.sheet);
    }
    if (site_.likely.empty())
      say(fmt::format("{}: no species is likely there, so no visit is planned.", name_));
    if (!species_.empty() || anywhen_.empty()) return;
    for (const std::size_t sheet : anywhen_) without.push_back(season_.sheets[sheet].code);
    say(fmt::format("{}: no visit can be planned, for the {} of {} {} no window.", name_,
                    without.size() == 1 ? "sheet" : "sheets", in_words(without),
                    without.size() == 1 ? "has" : "have"));
  }

  void leave_out_closed(const OpenDays& open) {
    const int wanted = 1 + season_.plan.visits.weather_days;
    for (SpeciesDays& one : species_) {
      one.open = open.count(one.window.from, one.window.until);
      const std::string who = fmt::format("{} at {}: ", sheet_words(season_, one.sheet), name_);
      if (one.open == 0)
        say(who + closed_words(one.window, closed_) + ". No visit can catch it.");
      else if (one.open < wanted)
        say(fmt::format("{}only {} of {} {} open, and a visit wants {} ({} of them for bad weather).", who,
                        one.open, short_range(one.window.from, one.window.until),
                        one.open == 1 ? "is" : "are", wanted, wanted - 1));
    }
    std::erase_if(species_, [](const SpeciesDays& one) { return one.open == 0; });
  }

  void add_visit(const std::vector<SpeciesDays>& group, const OpenDays& open) {
    Day from = group.front().window.from, until = group.front().window.until;
    Visit visit;
    visit.site = site_.site;
    for (const SpeciesDays& one : group) {
      from = std::max(from, one.window.from);
      until = std::min(until, one.window.until);
      visit.species.push_back(one.sheet);
    }
    visit.open = open.runs(from, until);
    visit.from = visit.open.front().from;
    visit.until = visit.open.back().until;
    for (const DayRange& range : closed_)
      if (range.from <= until && from <= range.until) visit.closed.push_back(range);
    found_.visits.push_back(std::move(visit));
  }

  void number() {
    std::sort(found_.visits.begin(), found_.visits.end(), [](const Visit& a, const Visit& b) {
      return std::tie(a.from, a.until, a.species) < std::tie(b.from, b.until, b.species);
    });
    int number = 0;
    for (Visit& visit : found_.visits) {
      visit.number = ++number;
      visit.of = int(found_.visits.size());
    }
  }

  /// A species without a window goes with the visit that has most days; and what can be counted on a visit
  /// that was not made for it is named there.
  void name_the_others() {
    auto& visits = found_.visits;
    const auto longest = std::max_element(visits.begin(), visits.end(), [](const Visit& a, const Visit& b) {
      return a.open_days() < b.open_days();
    });
    longest->species.insert(longest->species.end(), anywhen_.begin(), anywhen_.end());
    for (Visit& visit : visits) {
      for (const SpeciesDays& one : species_)
        if (one.window.holds(visit.from) && one.window.holds(visit.until)) visit.also.push_back(one.sheet);
      visit.also.insert(visit.also.end(), anywhen_.begin(), anywhen_.end());
      std::erase_if(visit.also, [&](std::size_t sheet) {
        return std::find(visit.species.begin(), visit.species.end(), sheet) != visit.species.end();
      });
      std::sort(visit.species.begin(), visit.species.end());
      std::sort(visit.also.begin(), visit.also.end());
    }
  }

  const Season& season_;
  const SiteSpecies& site_;
  int year_;
  std::string name_;
  std::vector<SpeciesDays> species_;
  std::vector<std::size_t> anywhen_;  ///< species whose sheets have no window
  std::vector<DayRange> closed_;
  SiteVisits found_;
};

}  // namespace

std::vector<DayRange> closed_days(const Plan& plan, const std::string& site, Day from, Day until) {
  std::vector<DayRange> closed;
  add_closures(plan, site, from, until, closed);
  if (const auto permission = plan.visits.permission.find(site); permission != plan.visits.permission.end())
    add_days_without_permission(permission->second, from, until, closed);
  std::stable_sort(closed.begin(), closed.end(), [](const DayRange& a, const DayRange& b) {
    return std::tie(a.from, a.until) < std::tie(b.from, b.until);
  });
  return closed;
}

OpenDays::OpenDays(Day from, Day until, const std::vector<DayRange>& closed) : from_(from) {
  std::vector<char> open(std::size_t(until - from + 1), 1);
  for (const DayRange& range : closed)
    for (Day day = std::max(from, range.from); day <= std::min(until, range.until); ++day)
      open[std::size_t(day - from)] = 0;
  before_.assign(open.size() + 1, 0);
  for (std::size_t i = 0; i < open.size(); ++i) before_[i + 1] = before_[i] + open[i];
}

int OpenDays::count(Day from, Day until) const {
  return until < from ? 0 : before_[std::size_t(until - from_) + 1] - before_[std::size_t(from - from_)];
}

std::vector<DayRange> OpenDays::runs(Day from, Day until) const {
  std::vector<DayRange> runs;
  for (Day day = from; day <= until; ++day) {
    if (count(day, day) == 0) continue;
    if (!runs.empty() && runs.back().until == day - 1)
      runs.back().until = day;
    else
      runs.push_back({day, day, {}, false});
  }
  return runs;
}

// Some visit catches the species that begins last, so it begins then; who shares enough days with that one
// does so with all who do (the visit ends with one of them), and taking them all leaves no other visit worse.
// One with fewer open days than wanted goes only with those that have the very same ones: the margin of the
// others is not given away for it.
std::vector<std::vector<SpeciesDays>> fewest_groups(std::vector<SpeciesDays> species, const OpenDays& open,
                                                    int wanted) {
  std::sort(species.begin(), species.end(), [](const SpeciesDays& a, const SpeciesDays& b) {
    return std::tie(b.window.from, a.sheet) < std::tie(a.window.from, b.sheet);
  });
  std::vector<std::vector<SpeciesDays>> groups;
  while (!species.empty()) {
    const SpeciesDays last = species.front();
    const auto joins = [&](const SpeciesDays& one) {
      const int shared = open.count(last.window.from, std::min(last.window.until, one.window.until));
      return shared >= std::max(std::min(wanted, last.open), std::min(wanted, one.open));
    };
    const auto rest = std::stable_partition(species.begin(), species.end(), joins);
    groups.emplace_back(species.begin(), rest);
    species.erase(species.begin(), rest);
  }
  return groups;
}

SiteVisits visits_of(const Season& season, const SiteSpecies& site, int year) {
  return SitePlanner(season, site, year).plan();
}

}  // namespace swardline
