// What a season expects back, from its plan and its store.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/error.hpp"
#include "swardline/store/columns.hpp"
#include "swardline/store/geopackage.hpp"
#include "swardline/store/returned.hpp"

namespace swardline {
namespace {

constexpr std::int8_t excluded = -1, no_score = -2, not_scored = -3;

/// Texts of what holds scores down, each once.
class HeldDownTexts {
 public:
  explicit HeldDownTexts(std::vector<std::string>& texts) : texts_(texts) {}
  std::int16_t index_of(const std::string& text) {
    const auto [at, fresh] = index_.emplace(text, std::int16_t(texts_.size()));
    if (fresh) texts_.push_back(text);
    return at->second;
  }

 private:
  std::vector<std::string>& texts_;
  std::map<std::string, std::int16_t> index_;
};

// "excluded: cover OW" -> "cover OW"
std::string reason_of(const std::string& held_down) {
  const std::size_t colon = held_down.find(": ");
  return colon == std::string::npos ? held_down : held_down.substr(colon + 2);
}

void add_scores(const Season& season, const Plot& unit, HeldDownTexts& texts, ExpectedPlot& plot) {
  for (const Sheet& sheet : season.sheets) {
    const auto percent = unit.percent.find(sheet.code);
    const auto held = unit.held_down.find(sheet.code);
    const bool known = held != unit.held_down.end() && !held->second.empty();
    plot.percent.push_back(!sheet.scored                                   ? not_scored
                           : percent != unit.percent.end()                 ? std::int8_t(percent->second)
                           : known && held->second.starts_with("excluded") ? excluded
                                                                           : no_score);
    plot.held_down.push_back(known ? texts.index_of(reason_of(held->second)) : std::int16_t(-1));
  }
}

ExpectedPlot expected_of(const Season& season, const Plot& unit, HeldDownTexts& texts) {
  ExpectedPlot plot;
  plot.name = unit.name;
  plot.site = unit.site;
  plot.stratum = unit.stratum;
  plot.order = unit.order;
  plot.spare = unit.spare;
  plot.due = unit.due();
  plot.east = unit.east;
  plot.north = unit.north;
  plot.lat = unit.lat;
  plot.lon = unit.lon;
  plot.plot_m2 = unit.plot_m2;
  plot.inside_m2 = unit.inside_m2;
  plot.twice_m2 = unit.twice_m2;
  const double length = unit.to_m - unit.from_m;
  // Of a segment by its length and area: it may wind, but not reach farther than straight.
  plot.reach_m = unit.side.empty() || length <= 0 ? season.plan.sample.reach_m()
                                                  : std::hypot(length / 2, unit.plot_m2 / length / 2);
  add_scores(season, unit, texts, plot);
  return plot;
}

ExpectedPlot expected_of(const Season& season, const Transect& transect, HeldDownTexts& texts) {
  ExpectedPlot plot = expected_of(season, transect.unit, texts);
  const TransectSpec& spec = season.plan.transect;
  plot.transect = true;
  plot.stations = int(transect.stations.size());
  plot.plot_m2 = spec.frames ? double(plot.stations) * spec.frames->size_m[0] * spec.frames->size_m[1]
                             : spec.length_m * spec.width_m;
  // From where the tape begins to the far end.
  plot.reach_m = std::max(spec.length_m, transect.length_m);
  return plot;
}

// Species by site: the plan's, else those that score search_from anywhere in the site, else all.
void find_searched(const Season& season, Expected& expected) {
  const ReturnsSpec& spec = season.plan.returns;
  std::map<std::string, std::vector<int>> best;  // percents by sheet
  for (const ExpectedPlot& plot : expected.plots) {
    std::vector<int>& highest = best[plot.site];
    highest.resize(season.sheets.size(), -1);
    for (std::size_t s = 0; s < plot.percent.size(); ++s)
      highest[s] = std::max(highest[s], int(plot.percent[s]));
  }
  for (const auto& [site, highest] : best) {
    std::vector<std::size_t>& sheets = expected.searched[site];
    const auto asked = spec.search.find(site);
    for (std::size_t s = 0; s < season.sheets.size(); ++s) {
      const bool wanted = asked != spec.search.end() ? std::find(asked->second.begin(), asked->second.end(),
                                                                 season.sheets[s].code) != asked->second.end()
                                                     : highest[s] >= 100 * spec.search_from - 1e-9;
      if (wanted) sheets.push_back(s);
    }
    if (asked == spec.search.end() && sheets.empty())
      for (std::size_t s = 0; s < season.sheets.size(); ++s) sheets.push_back(s);
  }
}

// The highest count in use of one row, by site and species, in one earlier season.
std::map<std::pair<std::string, std::string>, int> highest_in(OpenStore& store) {
  std::map<std::string, std::string, std::less<>> site_of;
  for (const char* name : {"plots", "transects"}) {
    OGRLayer* table = store.table(name);
    if (table == nullptr) continue;
    ColumnReader rows(store, table, {"name", "site"});
    while (rows.next()) site_of.emplace(rows.text(0), rows.text(1));
  }
  std::vector<const std::string*> site_of_visit = {nullptr};
  {
    ColumnReader rows(store, store.table("visits"), {"visit", "plot"});
    while (rows.next()) {
      site_of_visit.resize(std::max(site_of_visit.size(), std::size_t(rows.whole(0)) + 1), nullptr);
      if (const auto site = site_of.find(rows.text(1)); site != site_of.end())
        site_of_visit[std::size_t(rows.whole(0))] = &site->second;
    }
  }
  std::map<std::pair<std::string, std::string>, int> highest;
  std::map<std::pair<const std::string*, std::string>, int> by_pointer;
  ColumnReader rows(store, store.table("counts"), {"visit", "species", "stems", "use"});
  while (rows.next()) {
    const std::size_t visit = std::size_t(rows.whole(0, 0));
    if (rows.text(3) != "used" || rows.is_null(2) || visit >= site_of_visit.size()) continue;
    const std::string* site = site_of_visit[visit];
    if (site == nullptr) continue;
    int& most = by_pointer.try_emplace({site, std::string(rows.text(1))}, -1).first->second;
    most = std::max(most, int(rows.whole(2)));
  }
  for (const auto& [key, most] : by_pointer) {
    int& all = highest.try_emplace({*key.first, key.second}, -1).first->second;
    all = std::max(all, most);
  }
  return highest;
}

void read_earlier(const Plan& plan, Expected& expected, Flags& flags) {
  for (const std::filesystem::path& file : plan.returns.earlier) {
    if (!store_exists(file)) {
      flags.add(Severity::stop, "earlier season missing", plan.returns.place,
                fmt::format("the earlier season's store {} is not there.", file.string()),
                "Put it there, or take it out of [returns] earlier.");
      continue;
    }
    OpenStore store(file, OpenStore::Use::read);
    if (store.table("counts") == nullptr || store.table("visits") == nullptr) {
      flags.add(Severity::note, "earlier season without counts", {file.string(), 0, {}},
                "holds no counts: nothing is known of the highest so far.");
      continue;
    }
    for (const auto& [key, most] : highest_in(store)) {
      EarlierHighest& all = expected.highest[key];
      all.stems = std::max(all.stems, most);
      ++all.seasons;
    }
  }
}

}  // namespace

Expected read_expected(const Season& season, const Crs& crs, Day today, Flags& flags) {
  const Plan& plan = season.plan;
  const Store store(plan.store);
  Expected expected;
  expected.crs = crs;
  expected.edge = plan.sample.edge;
  expected.today = today;
  const std::vector<Plot> plots = store.read_plots();
  const std::vector<Transect> transects = store.read_transects();
  if (plots.empty() && transects.empty())
    throw InputError({plan.store, 0, {}}, "holds no plots, so nothing can come back",
                     store.read_certificate() ? "The last draw gave none; it said why under SHORT."
                                              : "Draw first: swardline draw " + plan.file.string());
  store.check_drawn_for(plan, crs);
  HeldDownTexts texts(expected.held_down);
  for (const Plot& plot : plots) expected.plots.push_back(expected_of(season, plot, texts));
  for (const Transect& transect : transects) expected.plots.push_back(expected_of(season, transect, texts));
  std::sort(expected.plots.begin(), expected.plots.end(),
            [](const ExpectedPlot& a, const ExpectedPlot& b) { return a.name < b.name; });
  for (std::size_t i = 0; i < expected.plots.size(); ++i)
    expected.index.emplace(expected.plots[i].name, std::int32_t(i));
  const bool any_scored = std::any_of(season.sheets.begin(), season.sheets.end(),
                                      [](const Sheet& sheet) { return sheet.scored; });
  const bool any_known =
      std::any_of(plots.begin(), plots.end(), [](const Plot& p) { return !p.held_down.empty(); }) ||
      std::any_of(transects.begin(), transects.end(),
                  [](const Transect& t) { return !t.unit.held_down.empty(); });
  if (any_scored && !any_known)
    flags.add(
        Severity::note, "no scores at plots", {plan.store, 0, {}},
        "was drawn before scores were kept at plots: every species counts as searched for at every site "
        "that [returns.search] does not name.",
        "Draw again: the same plan gives the same plots, now with their scores.");
  find_searched(season, expected);
  for (const auto& [team, sites] : plan.teams)
    for (const std::string& site : sites) expected.team_of_site[site] = team;
  for (const NamedArea& site : store.read_survey_areas()) expected.site_names[site.code] = site.name;
  read_earlier(plan, expected, flags);
  return expected;
}

}  // namespace swardline
