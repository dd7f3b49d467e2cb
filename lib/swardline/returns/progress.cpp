#include "swardline/returns/progress.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <tuple>

#include "swardline/base/text.hpp"
#include "swardline/returns/flag_parts.hpp"
#include "swardline/season/days.hpp"

namespace swardline {
namespace {

using return_parts::Material;
using return_parts::Visit;

/// What has come back of a plot.
struct PlotBack {
  bool counted = false;
  Fate fate = Fate::none;     ///< where it was not counted
  std::vector<char> species;  ///< with a count, by sheet
  [[nodiscard]] bool back() const { return counted || fate != Fate::none; }
};

class Coming {
 public:
  Coming(const Material& material) : material_(material), plots_(material.expected.plots.size()) {
    for (const Visit& visit : material.visits)
      for (const std::uint32_t r : material.rows(visit)) take(visit, r);
  }

  void sites(SeasonProgress& progress) const {
    std::map<std::string, SiteProgress> sites;
    each_planned([&](const ExpectedPlot& plot, const PlotBack& back) {
      SiteProgress& site = sites[plot.site];
      ++site.due;
      if (back.counted)
        ++site.counted;
      else if (back.back())
        ++site.not_counted[word(back.fate)];
      else
        site.outstanding.push_back(plot.name);
    });
    for (auto& [code, site] : sites) {
      site.site = code;
      site.team = team(code);
      progress.due += site.due;
      progress.counted += site.counted;
      progress.outstanding += int(site.outstanding.size());
      for (const auto& [status, plots] : site.not_counted) progress.not_counted += plots;
      progress.sites.push_back(std::move(site));
    }
  }

  void windows(SeasonProgress& progress) const {
    if (progress.today == no_day) return;
    std::map<std::pair<std::string, std::size_t>, std::vector<std::string>> outstanding;
    each_planned([&](const ExpectedPlot& plot, const PlotBack& back) {
      const auto searched = material_.expected.searched.find(plot.site);
      if (searched == material_.expected.searched.end() || (!back.counted && back.back())) return;
      for (const std::size_t species : searched->second)
        if (back.species.empty() || back.species[species] == 0)
          outstanding[{plot.site, species}].push_back(plot.name);
    });
    for (auto& [key, plots] : outstanding) add_window(progress, key.first, key.second, std::move(plots));
    std::stable_sort(progress.windows.begin(), progress.windows.end(),
                     [](const WindowProgress& a, const WindowProgress& b) {
                       return std::tuple(a.days_left < 0, a.days_left) <
                              std::tuple(b.days_left < 0, b.days_left);
                     });
  }

  void spares(SeasonProgress& progress) const {
    const std::vector<ExpectedPlot>& plots = material_.expected.plots;
    std::map<std::string, std::vector<std::size_t>> lost, used;  // by stratum
    for (std::size_t p = 0; p < plots.size(); ++p) {
      if (!plots[p].due) continue;
      if (plots[p].spare && plots_[p].back()) used[plots[p].stratum].push_back(p);
      // A spare that could not be counted either is replaced by the next.
      if (!plots_[p].counted && plots_[p].back()) lost[plots[p].stratum].push_back(p);
    }
    const auto in_order = [&](std::size_t a, std::size_t b) {
      return std::tie(plots[a].spare, plots[a].order, a) < std::tie(plots[b].spare, plots[b].order, b);
    };
    for (auto& [stratum, of_stratum] : used) {
      std::vector<std::size_t>& of_lost = lost[stratum];
      std::sort(of_stratum.begin(), of_stratum.end(), in_order);
      std::sort(of_lost.begin(), of_lost.end(), in_order);
      for (std::size_t i = 0; i < of_stratum.size(); ++i) {
        const ExpectedPlot& spare = plots[of_stratum[i]];
        const bool known = i < of_lost.size() && of_lost[i] != of_stratum[i];
        progress.spares.push_back(
            {spare.name, spare.site, spare.stratum,
             known ? fmt::format("in place of {} ({})", plots[of_lost[i]].name, word(plots_[of_lost[i]].fate))
                   : std::string("no return says why: no plot of its stratum is reported lost")});
      }
    }
    std::sort(progress.spares.begin(), progress.spares.end(),
              [](const SpareInUse& a, const SpareInUse& b) { return a.plot < b.plot; });
  }

 private:
  void take(const Visit& visit, std::uint32_t r) {
    const ReturnRow& row = material_.row(r);
    PlotBack& back = plots_[std::size_t(visit.plot)];
    const Fate fate = return_parts::fate_at(row, visit);
    if (!carries_counts(fate)) {
      if (back.fate == Fate::none) back.fate = fate;
      return;
    }
    if (!return_parts::written(row) || row.species < 0) return;
    back.counted = true;
    if (back.species.empty()) back.species.assign(material_.season.sheets.size(), 0);
    back.species[std::size_t(row.species)] = 1;
  }

  template <typename Use>
  void each_planned(const Use& use) const {
    const std::vector<ExpectedPlot>& plots = material_.expected.plots;
    for (std::size_t p = 0; p < plots.size(); ++p)
      if (plots[p].due && !plots[p].spare) use(plots[p], plots_[p]);
  }

  [[nodiscard]] std::string team(const std::string& site) const {
    const auto found = material_.expected.team_of_site.find(site);
    return found == material_.expected.team_of_site.end() ? std::string() : found->second;
  }

  void add_window(SeasonProgress& progress, const std::string& site, std::size_t species,
                  std::vector<std::string> plots) const {
    const auto& window = material_.season.sheets[species].window;
    if (!window) return;
    const ReturnsSpec& spec = material_.season.plan.returns;
    // Looked at in another year than the season's, its windows are still those of its own year.
    const bool of_season = material_.year > 0 && material_.year != year_of(progress.today);
    const DayWindow days = of_season ? window_in(*window, material_.year, spec.shift_days)
                                     : window_at(*window, progress.today, spec.shift_days);
    WindowProgress at{site,  team(site), species, days.from, days.until, days.until - progress.today,
                      false, false,      {}};
    at.open = days.holds(progress.today);
    at.closing = at.open && at.days_left <= spec.close_days;
    at.outstanding = std::move(plots);
    progress.windows.push_back(std::move(at));
  }

  const Material& material_;
  std::vector<PlotBack> plots_;
};

std::string site_and_team(const std::string& site, const std::string& team) {
  return team.empty() ? site : fmt::format("{} (team {})", site, team);
}

std::string window_line(const WindowProgress& window, const Season& season) {
  const std::string name = short_name(season.sheets[window.species]);
  const std::string plots =
      fmt::format("{} outstanding: {}", counted_words(window.outstanding.size(), "plot", "plots"),
                  some_of(window.outstanding));
  const Day today = window.until - window.days_left;
  const auto dated = [today](Day day) {
    return short_date(day) + (year_of(day) == year_of(today) ? "" : fmt::format(" {}", year_of(day)));
  };
  const auto days = [](int number) { return counted_words(std::size_t(number), "day", "days"); };
  if (window.days_left < 0)
    return fmt::format("{}, {}: window closed on {}, {} ago; {}.", site_and_team(window.site, window.team),
                       name, dated(window.until), days(-window.days_left), plots);
  if (!window.open)
    return fmt::format("{}, {}: window opens on {} and closes on {}; {}.",
                       site_and_team(window.site, window.team), name, dated(window.from), dated(window.until),
                       plots);
  const std::string left = window.days_left == 0 ? "closes today"
                                                 : fmt::format("closes in {}, on {}", days(window.days_left),
                                                               short_date(window.until));
  return fmt::format("{}{}, {}: window {}; {}.", window.closing ? "NOW: " : "",
                     site_and_team(window.site, window.team), name, left, plots);
}

std::string site_line(const SiteProgress& site) {
  std::string line = fmt::format("{}: {} of {} counted", site_and_team(site.site, site.team), site.counted,
                                 counted_words(std::size_t(site.due), "plot", "plots"));
  for (const auto& [status, plots] : site.not_counted) line += fmt::format(", {} {}", plots, status);
  if (!site.outstanding.empty())
    line += fmt::format("; {} outstanding: {}", site.outstanding.size(), some_of(site.outstanding));
  return line + '.';
}

}  // namespace

SeasonProgress progress_of(const Season& season, const Expected& expected, const Returns& returns,
                           const std::vector<ReturnFlag>& flags, const ObserversReport& observers) {
  const CellText none = [](const RowAt&, ReturnColumn) { return std::string(); };
  const Material material = return_parts::material_of(season, expected, returns, none);
  SeasonProgress progress;
  progress.today = expected.today;
  const Coming coming(material);
  coming.sites(progress);
  coming.windows(progress);
  coming.spares(progress);
  for (const ReturnFlag& flag : flags) {
    if (flag.settled) continue;
    progress.stops += flag.severity == Severity::stop ? 1 : 0;
    progress.asks += flag.severity == Severity::ask ? 1 : 0;
  }
  for (const ObserverSummary& one : observers.observers)
    if (!one.second_look.empty()) progress.second_look.push_back(one);
  return progress;
}

std::vector<std::string> in_words(const SeasonProgress& progress, const Season& season) {
  std::vector<std::string> lines;
  lines.push_back(fmt::format(
      "{} of {} counted, {} not countable or not reached, {} outstanding; open flags: {} STOP, {} ASK.",
      progress.counted, counted_words(std::size_t(progress.due), "planned plot", "planned plots"),
      progress.not_counted, progress.outstanding, progress.stops, progress.asks));
  for (const WindowProgress& window : progress.windows)
    if (window.closing) lines.push_back(window_line(window, season));
  for (const SiteProgress& site : progress.sites) lines.push_back(site_line(site));
  for (const WindowProgress& window : progress.windows)
    if (!window.closing) lines.push_back(window_line(window, season));
  for (const SpareInUse& spare : progress.spares)
    lines.push_back(fmt::format("spare {} is in use, {}.", spare.plot, spare.why));
  for (const ObserverSummary& one : progress.second_look)
    lines.push_back(fmt::format("observer {} needs a second look: {}.", one.id, in_words(one.second_look)));
  return lines;
}

}  // namespace swardline
