// Who went where and when in the demo valley, what became of each plot, and what stood there.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <set>

#include "swardline/base/error.hpp"
#include "swardline/base/random.hpp"
#include "valley.hpp"
#include "valley_returns.hpp"

namespace swardline::landscape {
namespace {

struct Team {
  const char* name;
  std::vector<const char*> sites;
  std::array<const char*, 2> observers, later_observers;  ///< two were replaced after the first season
};
const std::vector<Team>& teams() {
  static const std::vector<Team> all = {
      {"bottoms", {"GRV", "HDR", "MRB"}, {"011", "014"}, {"011", "031"}},
      {"prairie", {"ANL", "QPR"}, {"021", "023"}, {"021", "023"}},
      {"sand", {"SKP"}, {"041", "042"}, {"041", "042"}},
      {"woods", {"DSK", "NBK", "TNY"}, {"051", "056"}, {"051", "058"}},
      {"glades", {"CND", "FLG", "PEL"}, {"061", "062"}, {"061", "062"}},
  };
  return all;
}

/// Days of the year, in a year that is not a leap year.
int day_of_year(int month, int day) {
  constexpr std::array<int, 12> before = {0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334};
  return before.at(std::size_t(month) - 1) + day;
}
std::string date_of(int year, int day_of_year) {
  constexpr std::array<int, 12> lengths = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  int month = 0;
  while (day_of_year > lengths.at(std::size_t(month))) day_of_year -= lengths.at(std::size_t(month++));
  return fmt::format("{}-{:02}-{:02}", year, month + 1, day_of_year);
}

struct Window {
  int first = 0, last = 0;
};
/// When each species can be counted; as the sheets have it.
Window window_of(const std::string& species) {
  static const std::map<std::string, Window> all = {
      {"PALU", {day_of_year(5, 10), day_of_year(6, 20)}}, {"PARK", {day_of_year(5, 1), day_of_year(6, 10)}},
      {"PCAL", {day_of_year(5, 10), day_of_year(6, 25)}}, {"PCOB", {day_of_year(4, 25), day_of_year(6, 5)}},
      {"PDIG", {day_of_year(5, 15), day_of_year(6, 30)}}, {"PGRA", {day_of_year(5, 10), day_of_year(6, 20)}},
      {"PGRC", {day_of_year(5, 20), day_of_year(7, 5)}},  {"PHIR", {day_of_year(5, 5), day_of_year(6, 25)}},
      {"PLAX", {day_of_year(4, 15), day_of_year(5, 15)}}, {"PPAL", {day_of_year(4, 20), day_of_year(6, 5)}},
      {"PTEN", {day_of_year(4, 10), day_of_year(5, 31)}}, {"PTUB", {day_of_year(5, 20), day_of_year(6, 25)}}};
  const auto found = all.find(species);
  if (found == all.end()) throw Defect("the demo valley has no species " + species + ".");
  return found->second;
}

/// The fewest days that catch every species, each with five days in hand (the classic greedy cover of
/// intervals by points).
std::vector<int> days_for(const std::set<std::string>& species) {
  std::vector<Window> windows;
  for (const std::string& code : species) windows.push_back(window_of(code));
  std::sort(windows.begin(), windows.end(), [](const Window& a, const Window& b) { return a.last < b.last; });
  std::vector<int> days;
  constexpr int in_hand = 5;
  for (const Window& window : windows)
    if (days.empty() || days.back() < window.first + in_hand) days.push_back(window.last - in_hand);
  return days;
}

struct Stems {
  int all = 0, twice = 0;
};

/// Stems rooted in the plot, and those of them whose opposite place about the pin is outside the survey area.
Stems count(const DrawnPlot& plot, const OGRGeometry& survey, const std::vector<Plant>& plants,
            const std::string& species, int year) {
  constexpr double half_width = 1, half_length = 5;
  const double turn = plot.axis_deg * std::numbers::pi / 180;
  const double east = std::sin(turn), north = std::cos(turn);
  const double well = vigour(species, year);
  Stems stems;
  for (const Plant& plant : plants) {
    const double dx = plant.at.x - plot.at.x, dy = plant.at.y - plot.at.y;
    if (std::abs(dx) > 6 || std::abs(dy) > 6) continue;
    if (std::abs(dx * east + dy * north) > half_length || std::abs(dx * north - dy * east) > half_width)
      continue;
    const int number = stems_of(plant, species, year, well);
    stems.all += number;
    const OGRPoint opposite(plot.at.x - dx, plot.at.y - dy);
    if (!survey.Contains(&opposite)) stems.twice += number;
  }
  return stems;
}

/// A segment's ground is long and narrow: stems by its area and the site's density, by a lot of its own.
Stems count_segment(const DrawnPlot& plot, double per_m2, const std::string& species, int year) {
  RandomStream lot(
      RandomKey(kValleySeed, "segment").under(plot.name).under(species).under(std::uint64_t(year)));
  Stems stems;
  const double clumped = lot.uniform() < 0.4 ? 2.5 : 0;  // in two segments of five
  for (int i = 0; i < 400; ++i) stems.all += lot.uniform() < per_m2 * plot.inside_m2 * clumped / 400 ? 1 : 0;
  return stems;
}

/// What became of a plot; empty where it was counted.
std::string fate_of(const DrawnPlot& plot, std::size_t rank, bool first) {
  if (plot.site == "HDR" && rank < 5) return first ? "under water" : "";
  if (plot.site == "MRB" && rank % 3 == 1) return "unsafe";
  if (plot.site == "TNY") return first ? "no permission" : "";
  if (plot.site == "PEL" && rank >= 9) return "not countable (mown)";
  if (plot.site == "NBK" && rank == 4) return "not reached";
  if (plot.site == "QPR" && rank == 2 && !first) return "not found (stake)";
  return "";
}

class Season {
 public:
  Season(const DrawnSeason& drawn, const TrueGround& ground, int year)
      : drawn_(drawn), ground_(ground), year_(year), first_(year == kValleyFirstYear) {}

  ValleyReturns fill(const std::vector<std::pair<std::string, std::string>>& form) {
    for (const auto& [plot, species] : form) asked_[plot].insert(species);
    for (const Team& team : teams()) {
      returns_.teams.push_back({team.name, {}});
      for (const char* site : team.sites) visit_site(team, site);
    }
    return std::move(returns_);
  }

 private:
  void visit_site(const Team& team, const std::string& site) {
    std::vector<const DrawnPlot*> planned, spares;
    std::set<std::string> species;
    for (const DrawnPlot& plot : drawn_.plots) {
      if (plot.site != site || (plot.status != "planned" && plot.status != "spare")) continue;
      (plot.spare ? spares : planned).push_back(&plot);
      if (const auto asked = asked_.find(plot.name); asked != asked_.end())
        species.insert(asked->second.begin(), asked->second.end());
    }
    if (planned.empty()) return;
    grow(site, species);
    const std::vector<const DrawnPlot*> going = with_spares(planned, spares);
    const std::vector<int> days = days_for(species);
    for (std::size_t v = 0; v < days.size(); ++v)
      for (std::size_t i = 0; i < going.size(); ++i) visit(team, *going[i], i, planned.size(), days, v);
  }

  void grow(const std::string& site, const std::set<std::string>& species) {
    plants_.clear();
    const OGRGeometry& survey = *drawn_.survey.at(site);
    for (const TrueHabitat& habitat : true_habitats()) {
      if (!species.contains(habitat.code)) continue;
      const std::vector<Plant>& plants = plants_[habitat.code] = plants_on(habitat, ground_, survey);
      KnownDensity known{site, habitat.code, area(survey), 0};
      const double well = vigour(habitat.code, year_);
      for (const Plant& plant : plants) known.stems += stems_of(plant, habitat.code, year_, well);
      returns_.known.push_back(known);
    }
  }

  static double area(const OGRGeometry& geometry) {
    return OGR_G_Area(OGRGeometry::ToHandle(const_cast<OGRGeometry*>(&geometry)));
  }

  /// Planned plots, and for each that could not be counted the next spare of its stratum.
  std::vector<const DrawnPlot*> with_spares(const std::vector<const DrawnPlot*>& planned,
                                            std::vector<const DrawnPlot*> spares) const {
    std::sort(spares.begin(), spares.end(),
              [](const DrawnPlot* a, const DrawnPlot* b) { return a->order < b->order; });
    std::vector<const DrawnPlot*> going = planned;
    for (std::size_t i = 0; i < planned.size(); ++i) {
      const std::string fate = fate_of(*planned[i], i, first_);
      if (fate.empty() || planned[i]->site == "TNY" || planned[i]->segment) continue;
      const auto next = std::find_if(spares.begin(), spares.end(), [&](const DrawnPlot* spare) {
        return spare->stratum == planned[i]->stratum;
      });
      if (next == spares.end()) continue;
      going.push_back(*next);
      spares.erase(next);
    }
    return going;
  }

  void visit(const Team& team, const DrawnPlot& plot, std::size_t rank, std::size_t planned,
             const std::vector<int>& days, std::size_t visit) {
    const std::string fate = rank < planned ? fate_of(plot, rank, first_) : "";
    if (!fate.empty() && visit > 0) return;  // nobody tries twice
    FormRow row(form_columns().size());
    const auto set = [&](const char* column, std::string text) {
      row[form_column(column)] = std::move(text);
    };
    RandomStream lot(
        RandomKey(kValleySeed, "visit").under(plot.name).under(std::uint64_t(year_)).under(visit));
    const int day = days[visit] - int(rank % 3);
    const auto& observers = first_ ? team.observers : team.later_observers;
    const int minutes = 8 * 60 + 30 + int(rank % 9) * 40 + int(lot.below(12)), took = 9 + int(lot.below(14));
    set("plot", plot.name);
    set("visit_date", date_of(year_, day));
    set("start", fmt::format("{:02}:{:02}", minutes / 60, minutes % 60));
    set("finish", fmt::format("{:02}:{:02}", (minutes + took) / 60, (minutes + took) % 60));
    set("observer", observers.at(rank % 2));
    set("second_observer", observers.at((rank + 1) % 2));
    set("status", fate.empty() ? "counted" : fate);
    set("sheet_id", fmt::format("{}-{}{}-{}", year_, plot.site, visit + 1, 1 + rank / 8));
    set("entered_by", observers[0]);
    std::vector<FormRow>& rows = returns_.teams.back().rows;
    if (!fate.empty()) {
      rows.push_back(std::move(row));
      return;
    }
    set("area_searched_m2", fmt::format("{:.1f}", plot.inside_m2));
    fix(plot, lot, row);
    const auto asked = asked_.find(plot.name);
    if (asked == asked_.end()) return;
    for (const std::string& species : asked->second)
      if (visit_of(species, days) == visit) rows.push_back(counted(plot, species, row, lot));
  }

  /// The visit that counts a species: the first in its window.
  static std::size_t visit_of(const std::string& species, const std::vector<int>& days) {
    const Window window = window_of(species);
    for (std::size_t v = 0; v < days.size(); ++v)
      if (days[v] - 2 >= window.first && days[v] <= window.last) return v;
    throw Defect("no visit counts " + species + ".");
  }

  void fix(const DrawnPlot& plot, RandomStream& lot, FormRow& row) const {
    const bool woods = plot.site == "NBK";
    const double accuracy = woods ? 14 : 3 + double(lot.below(3));
    const double east = accuracy * (lot.uniform() - 0.5), north = accuracy * (lot.uniform() - 0.5);
    constexpr double metres_a_degree = 111320;
    const double shrink = std::cos(plot.lat * std::numbers::pi / 180);
    row[form_column("lat")] = fmt::format("{:.5f}", plot.lat + north / metres_a_degree);
    row[form_column("lon")] = fmt::format("{:.5f}", plot.lon + east / metres_a_degree / shrink);
    row[form_column("fix_accuracy_m")] = fmt::format("{:.0f}", accuracy);
    row[form_column("fix_datum")] = "WGS84";
  }

  FormRow counted(const DrawnPlot& plot, const std::string& species, FormRow row, RandomStream& lot) const {
    Stems stems;
    if (const auto plants = plants_.find(species); plants != plants_.end()) {
      const OGRGeometry& survey = *drawn_.survey.at(plot.site);
      stems = plot.segment ? count_segment(plot, per_m2(plot.site, species), species, year_)
                           : count(plot, survey, plants->second, species, year_);
    }
    const auto set = [&](const char* column, std::string text) {
      row[form_column(column)] = std::move(text);
    };
    set("species", species);
    set("certainty", stems.all > 0 && lot.below(40) == 0 ? "not certain" : "sure");
    set("flowering_stems", fmt::format("{}", stems.all));
    if (plot.twice_m2 > 0) set("twice_stems", fmt::format("{}", stems.twice));
    set("count_method", "counted");
    if (stems.all > 0) {
      set("phase", "flower");
      set("rosettes", fmt::format("{}", lot.below(6)));
    }
    return row;
  }

  [[nodiscard]] double per_m2(const std::string& site, const std::string& species) const {
    for (const KnownDensity& known : returns_.known)
      if (known.site == site && known.species == species) return double(known.stems) / known.survey_m2;
    return 0;
  }

  const DrawnSeason& drawn_;
  const TrueGround& ground_;
  int year_;
  bool first_;
  std::map<std::string, std::set<std::string>> asked_;
  std::map<std::string, std::vector<Plant>> plants_;
  ValleyReturns returns_;
};

}  // namespace

ValleyReturns fill_forms(const DrawnSeason& season, const TrueGround& ground,
                         const std::vector<std::pair<std::string, std::string>>& form, int year) {
  return Season(season, ground, year).fill(form);
}

}  // namespace swardline::landscape
