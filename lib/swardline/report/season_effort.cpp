// Effort against plan.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "swardline/base/text.hpp"
#include "swardline/report/effort_chart.hpp"
#include "swardline/report/html_table.hpp"
#include "swardline/report/page.hpp"
#include "swardline/report/season_sections.hpp"

namespace swardline {
namespace {

constexpr std::size_t most_bars = 60;

std::string reasons_text(const std::map<std::string, int>& reasons) {
  std::string out;
  for (const auto& [reason, plots] : reasons)
    out += fmt::format("{}{} {}", out.empty() ? "" : "; ", plots, reason);
  return out;
}

std::vector<std::string> effort_row(const SiteEffort& site, const std::string& code,
                                    const std::string& name) {
  return {code,
          name,
          grouped(site.due),
          grouped(site.counted),
          grouped(site.not_counted),
          reasons_text(site.reasons),
          grouped(site.outstanding),
          of_all(site.spares_counted, site.spares_in_use),
          grouped(site.visits),
          site.timed_visits > 0 ? grouped_decimals(site.person_hours, 1) : "–"};
}

std::string effort_in_words(const SeasonLookup& season) {
  const SiteEffort& all = season.all;
  std::string out = fmt::format("Of {} due, {} {} counted", season.units(all.due), grouped(all.counted),
                                all.counted == 1 ? "was" : "were");
  if (all.due > 0) out += fmt::format(" ({:.0f} %)", std::floor(100 * all.share_counted() + 1e-9));
  out += ".";
  if (all.not_counted > 0) out += fmt::format(" Not counted: {}.", reasons_text(all.reasons));
  if (all.outstanding > 0) out += fmt::format(" Nothing has come back of {}.", grouped(all.outstanding));
  return out;
}

std::string people_in_words(const SeasonLookup& season) {
  const SiteEffort& all = season.all;
  std::set<std::string> people;
  std::set<std::string> days;
  for (const VisitOnRecord& visit : season.facts.record.visits) {
    for (const std::string& person : {visit.observer, visit.second_observer})
      if (!person.empty()) people.insert(person);
    if (!visit.day.empty()) days.insert(visit.day);
  }
  std::string out = fmt::format("{} {} on {} {}", grouped(all.visits), all.visits == 1 ? "visit" : "visits",
                                grouped(std::int64_t(days.size())), days.size() == 1 ? "day" : "days");
  if (!days.empty())
    out += days.size() == 1 ? fmt::format(" ({})", *days.begin())
                            : fmt::format(" ({} to {})", *days.begin(), *days.rbegin());
  out += fmt::format(", by {} {}", grouped(std::int64_t(people.size())),
                     people.size() == 1 ? "observer" : "observers");
  constexpr std::size_t most_people = 60;
  if (!people.empty() && people.size() <= most_people)
    out += ", by identification: " + swardline::in_words({people.begin(), people.end()});
  out += ". ";
  if (all.timed_visits == 0) return out + "No visit tells its start and finish, so hours are not known.";
  return out + fmt::format("{} start and finish: {} person-hours at plots, ways between them not counted.",
                           all.timed_visits == all.visits ? std::string("All tell")
                                                          : of_all(all.timed_visits, all.visits) + " tell",
                           grouped_decimals(all.person_hours, 1));
}

}  // namespace

std::string effort_part_of_season(const SeasonLookup& season) {
  EffortChart chart{"effort-chart",
                    season.unit == "plots" ? "Plots due by site" : "Transects due by site",
                    effort_in_words(season),
                    season.unit,
                    {}};
  HtmlTable table;
  table.caption = "Effort by site";
  table.sorts = true;
  table.on_paper = 20;
  table.columns = {{"Site", false},        {"Name", false},
                   {"Due", true},          {"Counted", true},
                   {"Not counted", true},  {"Why", false},
                   {"Nothing back", true}, {"Spares counted, of those in use", true},
                   {"Visits", true},       {"Person-hours", true}};
  for (const SiteEffort& site : season.sites) {
    if (chart.bars.size() < most_bars && site.due > 0)
      chart.bars.push_back({site.site + " " + site.name, site.counted, site.not_counted, site.outstanding});
    table.rows.push_back(effort_row(site, site.site, site.name));
  }
  table.sums = effort_row(season.all, "All", "");
  std::string out = html_paragraph(effort_in_words(season)) + html_paragraph(people_in_words(season));
  out += "<figure>" + svg_effort_chart(chart);
  if (chart.bars.size() == most_bars && season.sites.size() > most_bars)
    out += fmt::format("<figcaption>The first {} sites; the table has all.</figcaption>", most_bars);
  return out + "</figure>\n" + html_table(table);
}

}  // namespace swardline
