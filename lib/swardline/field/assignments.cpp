#include "swardline/field/assignments.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <tuple>

#include "swardline/base/text.hpp"

namespace swardline {
namespace {

constexpr double no_hours = 1e-6;

/// One visit and how long it takes.
struct VisitWork {
  const Visit* visit = nullptr;
  double hours = 0;
};

/// Hours of one visit in one week; no_day: those without room.
struct WeekShare {
  const Visit* visit = nullptr;
  Day week = no_day;
  double hours = 0;
};

/// Open days of a visit by week.
std::map<Day, int> weeks_of(const Visit& visit) {
  std::map<Day, int> weeks;
  for (const DayRange& range : visit.open)
    for (Day day = range.from; day <= range.until; ++day) ++weeks[monday_of(day)];
  return weeks;
}

double without_room(const std::vector<WeekShare>& shares) {
  double hours = 0;
  for (const WeekShare& share : shares)
    if (share.week == no_day) hours += share.hours;
  return hours;
}

/// Visits in the order in which they close, each in the earliest weeks with room. With hours that may be
/// split this fits whenever anything does: a visit that closes later can use every later week this one could.
/// With `whole`, a visit that fits into one week waits for it: fewer journeys, but room may be lost.
std::vector<WeekShare> in_weeks(const std::vector<VisitWork>& work, const TeamRoom& room, bool whole) {
  std::map<Day, double> taken;
  std::vector<WeekShare> shares;
  for (const VisitWork& one : work) {
    double left = one.hours;
    const std::map<Day, int> weeks = weeks_of(*one.visit);
    const auto room_in = [&](Day week, int days) {
      return std::max(0.0, std::min(room.week_hours - taken[week], days * room.day_hours));
    };
    const auto take = [&](Day week, double hours) {
      taken[week] += hours;
      shares.push_back({one.visit, week, hours});
      left -= hours;
    };
    if (whole)
      for (const auto& [week, days] : weeks)
        if (left > no_hours && room_in(week, days) >= left - no_hours) take(week, left);
    for (const auto& [week, days] : weeks) {
      const double hours = std::min(left, room_in(week, days));
      if (left > no_hours && hours > no_hours) take(week, hours);
    }
    if (left > no_hours) shares.push_back({one.visit, no_day, left});
  }
  return shares;
}

class VisitAssigner {
 public:
  VisitAssigner(const Season& season, const std::vector<SiteSpecies>& sites,
                const std::map<std::string, TeamPeople>& teams, SeasonVisits& visits)
      : season_(season), sites_(sites), teams_(teams), visits_(visits) {
    for (const auto& [team, codes] : season.plan.teams)
      for (const std::string& code : codes) team_of_.emplace(code, team);
  }

  void all() {
    std::map<std::string, std::vector<VisitWork>> work;
    for (const Visit& visit : visits_.visits) {
      const auto team = team_of_.find(visit.site);
      if (team != team_of_.end()) work[team->second].push_back({&visit, hours_of(visit)});
    }
    for (auto& [team, one] : work) assign(team, one);
    sort_assignments(visits_);
  }

 private:
  double hours_of(const Visit& visit) const {
    const auto site = std::find_if(sites_.begin(), sites_.end(),
                                   [&](const SiteSpecies& one) { return one.site == visit.site; });
    return site == sites_.end() ? 0 : visit_hours(season_.plan.effort, *site);
  }

  void assign(const std::string& team, std::vector<VisitWork>& work) {
    std::stable_sort(work.begin(), work.end(), [](const VisitWork& a, const VisitWork& b) {
      return std::tie(a.visit->until, a.visit->from, a.visit->site) <
             std::tie(b.visit->until, b.visit->from, b.visit->site);
    });
    const TeamRoom room = room_of(season_.plan, people_of(season_.plan, team, teams_));
    std::vector<WeekShare> shares = in_weeks(work, room, true);
    if (without_room(shares) > no_hours) {
      std::vector<WeekShare> split = in_weeks(work, room, false);
      if (without_room(split) < without_room(shares) - no_hours) shares = std::move(split);
    }
    for (const WeekShare& share : shares) {
      visits_.assignments.push_back({share.visit->site, team, share.visit->number, share.week,
                                     party_of(season_.plan.effort), share.hours});
      // A team too small is said once, for all its visits.
      if (share.week != no_day || room.people == 0) continue;
      add_conflict(visits_, {share.visit->site, share.visit->number},
                   fmt::format("{}: team {} has no room for {:.1f} person-hours of it in those days.",
                               visit_words(sites_, *share.visit), team, share.hours));
    }
  }

  const Season& season_;
  const std::vector<SiteSpecies>& sites_;
  const std::map<std::string, TeamPeople>& teams_;
  SeasonVisits& visits_;
  std::map<std::string, std::string> team_of_;
};

}  // namespace

Day monday_of(Day day) {
  // 1970-01-01 was a Thursday.
  const Day since = (day + 3) % 7;
  return day - (since < 0 ? since + 7 : since);
}

int party_of(const EffortSpec& effort) { return std::max(2, effort.people); }

std::string site_words(const std::vector<SiteSpecies>& sites, const std::string& code) {
  const auto site =
      std::find_if(sites.begin(), sites.end(), [&](const SiteSpecies& one) { return one.site == code; });
  return site == sites.end() || site->name.empty() ? code : site->name;
}

std::string visit_words(const std::vector<SiteSpecies>& sites, const Visit& visit) {
  return fmt::format("{}, visit {} of {} ({})", site_words(sites, visit.site), visit.number, visit.of,
                     short_range(visit.from, visit.until));
}

TeamRoom room_of(const Plan& plan, int people) {
  const int party = party_of(plan.effort);
  TeamRoom room;
  room.people = people / party * party;
  room.week_hours = room.people * plan.visits.hours_per_week;
  room.day_hours = room.people * (plan.effort.hours_per_day + plan.effort.minutes_per_site / 60);
  return room;
}

int people_of(const Plan& plan, const std::string& team, const std::map<std::string, TeamPeople>& teams) {
  if (const auto listed = teams.find(team); listed != teams.end() && listed->second.people > 0)
    return listed->second.people;
  const auto said = plan.visits.people.find(team);
  return said == plan.visits.people.end() ? party_of(plan.effort) : said->second;
}

double visit_hours(const EffortSpec& effort, const SiteSpecies& site) {
  const double at_site = site.plots * effort.minutes_per_plot + site.walk_m / effort.walk_m_per_minute;
  const double days = std::max(1.0, std::ceil(at_site / (60 * effort.hours_per_day) - 1e-9));
  return party_of(effort) * (at_site + days * effort.minutes_per_site) / 60;
}

void add_conflict(SeasonVisits& visits, ConflictOf of, std::string words) {
  visits.conflicts.push_back(std::move(words));
  visits.conflict_of.push_back(std::move(of));
}

void sort_assignments(SeasonVisits& visits) {
  const auto key = [](const Assignment& one) {
    return std::make_tuple(one.week == no_day, one.week, one.team, one.site, one.visit);
  };
  std::stable_sort(visits.assignments.begin(), visits.assignments.end(),
                   [&](const Assignment& a, const Assignment& b) { return key(a) < key(b); });
}

void assign_visits(const Season& season, const std::vector<SiteSpecies>& sites,
                   const std::map<std::string, TeamPeople>& teams, SeasonVisits& visits) {
  VisitAssigner(season, sites, teams, visits).all();
}

}  // namespace swardline
