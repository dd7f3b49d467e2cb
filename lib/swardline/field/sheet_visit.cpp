// What the sheets of a visit say, in words.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstdlib>

#include "swardline/base/text.hpp"
#include "swardline/field/site_sheet.hpp"

namespace swardline {
namespace {

/// "season 8 days early, "
std::string shift_words(int days) {
  if (days == 0) return {};
  return fmt::format("season {} {}, ", counted_words(std::size_t(std::abs(days)), "day", "days"),
                     days < 0 ? "early" : "late");
}

/// "24 and 31 May", "24 May and 7 Jun", "4 weeks, 10 May to 7 Jun": by the Mondays.
std::string weeks_words(const std::vector<Day>& mondays) {
  if (mondays.size() == 1) return "week of " + short_date(mondays.front());
  const std::string first = short_date(mondays.front()), last = short_date(mondays.back());
  if (mondays.size() > 2) return fmt::format("{} weeks, {} to {}", mondays.size(), first, last);
  const bool one_month = first.substr(first.find(' ')) == last.substr(last.find(' '));
  return fmt::format("weeks of {} and {}", one_month ? first.substr(0, first.find(' ')) : first, last);
}

/// What the tape distances of edges are taken from, too: "end A" lies ahead of the pin
/// (design/plot_area.hpp).
std::string laying_words(const Plan& plan, bool linear) {
  if (linear) return "A segment is the whole width of the verge between its two marks along the road.";
  if (plan.sample.unit == SampleUnit::transect)
    return "The pin is the start of the tape: lay it along the bearing lay.";
  const std::array<double, 2>& size = plan.sample.size_m;
  switch (plan.sample.shape) {
    case UnitShape::circle:
      return fmt::format("The pin is the middle: search {} m about it.", shortest(size[0]));
    case UnitShape::square:
      return fmt::format(
          "The pin is the middle: {} m ahead along lay (end A) and behind (end B), {} m to each side.",
          shortest(size[0] / 2), shortest(size[0] / 2));
    case UnitShape::belt:
      break;
  }
  return fmt::format(
      "The pin is the middle: tape {} m ahead along lay (end A) and {} m behind (end B), {} m to each side.",
      shortest(size[1] / 2), shortest(size[1] / 2), shortest(size[0] / 2));
}

std::string open_days_words(const Visit& visit) {
  std::string words = counted_words(std::size_t(visit.open_days()), "open day", "open days");
  std::vector<std::string> ranges;
  if (visit.open.size() > 1)
    for (const DayRange& range : visit.open) ranges.push_back(short_range(range.from, range.until));
  if (!ranges.empty()) words += ": " + some_of(ranges, 3);
  return words;
}

SheetSpecies sheet_species(const Season& season, const SpeciesMark& mark) {
  const Sheet& sheet = season.sheets.at(mark.sheet);
  return {sheet.code, sheet.common.empty() ? sheet.name : short_name(sheet) + ", " + sheet.common,
          mark.window, mark.mark, mark.rule_out};
}

}  // namespace

std::string draw_version(const std::string& finished, const std::string& inputs) {
  return fmt::format("{} / {}", finished.substr(0, 10), inputs.substr(0, 6));
}

SheetVisit sheet_visit(const SheetSeason& of, const SiteSpecies& site, const Visit& visit,
                       const std::string& declination) {
  const Plan& plan = of.season.plan;
  SheetVisit sheet;
  sheet.season = plan.name;
  sheet.version = of.version;
  sheet.number = visit.number;
  sheet.of = visit.of;
  sheet.dates = short_range(visit.from, visit.until);
  sheet.open_days = shift_words(plan.returns.shift_days) + open_days_words(visit);
  sheet.people = plan.effort.people;
  std::vector<Day> weeks;
  for (const Assignment& one : of.assignments) {
    if (one.site != visit.site || one.visit != visit.number) continue;
    sheet.team = one.team;
    sheet.people = one.people;
    if (one.week != no_day) weeks.push_back(one.week);
  }
  std::sort(weeks.begin(), weeks.end());
  weeks.erase(std::unique(weeks.begin(), weeks.end()), weeks.end());  // two teams of one week
  if (!weeks.empty()) sheet.week = weeks_words(weeks);
  sheet.laying = laying_words(plan, site.linear);
  sheet.cautions = cautions_for(of.season, site, visit, of.year);
  sheet.permission = permission_words(plan, visit.site, visit, of.year);
  sheet.contact = plan.packet.contact;
  sheet.declination = declination;
  // Heaviest first, as the marks come; those of other visits are not for this sheet.
  for (const SpeciesMark& mark : species_marks(of.season, site, visit, of.year))
    if (std::find(visit.species.begin(), visit.species.end(), mark.sheet) != visit.species.end())
      sheet.species.push_back(sheet_species(of.season, mark));
  sheet.not_certain = not_certain_code(of.season, visit.species);
  return sheet;
}

}  // namespace swardline
