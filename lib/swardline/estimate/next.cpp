#include "swardline/estimate/next.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <string_view>
#include <unordered_map>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/design/allocation.hpp"
#include "swardline/design/panels.hpp"
#include "swardline/effort/pilot.hpp"
#include "swardline/estimate/next_parts.hpp"

namespace swardline {
namespace {

/// Counts before the plan's own numbers.
std::vector<ExpectedSpread> expected_from(const std::vector<SeasonSpread>& spreads, const Season& season,
                                          int year) {
  Season plan = season;
  plan.plan.effort.pilot.clear();
  Flags silent;  // the reasons are told species by species
  std::vector<ExpectedSpread> expected = expected_spreads(plan, Pilot{}, silent);
  for (std::size_t k = 0; k < expected.size(); ++k) {
    ExpectedSpread& into = expected[k];
    const SeasonSpread& from = spreads[k];
    const std::string basis =
        fmt::format("{} plots of {}, {} of them empty", from.plots, year, from.empty_plots);
    if (from.silent.empty()) {
      into.mean = from.mean;
      into.sd = from.sd;
      into.basis = basis;
      into.unanswered.clear();
      if (from.sd_of_differences) {
        into.sd_of_differences = from.sd_of_differences;
        into.basis += fmt::format("; differences of {} pairs", from.pairs);
      } else if (season.plan.effort.correlation) {
        into.sd_of_differences = sd_of_differences(from.sd, *season.plan.effort.correlation);
      }
    } else if (!into.unanswered.empty()) {
      into.unanswered = from.silent;
    }
    if (from.occupied) {
      into.occupied = from.occupied;
      into.occupied_basis = basis;
      into.occupied_unanswered.clear();
    }
  }
  return expected;
}

class Next {
 public:
  Next(const Season& season, const EvaluatedSeason& now, const EvaluatedSeason* earlier)
      : season_(season), now_(now) {
    next_.from_year = now.year;
    next_.year = (season.plan.panels.given ? season.plan.panels.year : now.year) + 1;
    if (earlier != nullptr) next_.earlier_year = earlier->year;
    next_.refusals = refusals_of(now);
    next_.spreads = spreads_of(now, earlier, season);
  }

  NextSeason work_out(const std::vector<SiteWork>& sites, Flags& flags) {
    plan_effort(sites);
    if (season_.plan.panels.given) plan_panels();
    share_out();
    next_.plan_lines = lines();
    if (!next_.nothing_to_plan.empty())
      flags.add(Severity::ask, "nothing to plan for", {season_.plan.file.filename().string(), 0, {}},
                next_.nothing_to_plan,
                "Add change = 0.20 to [effort], or say how wide the limits may be: precision = 0.25.");
    return std::move(next_);
  }

 private:
  void plan_effort(const std::vector<SiteWork>& sites) {
    const EffortSpec& spec = season_.plan.effort;
    if (!spec.given ||
        !(spec.change || spec.precision || spec.occupied_within || spec.occupied_change || spec.find_one)) {
      next_.nothing_to_plan =
          "no target change is given, so there is nothing to plan for: how big a change matters?";
      return;
    }
    Season asked = season_;
    if (next_.refusals.sent > 0) asked.plan.effort.refused = std::min(0.95, next_.refusals.share());
    try {
      next_.effort = work_out_effort(asked, expected_from(next_.spreads, asked, now_.year), sites, planned());
    } catch (const InputError& error) {
      next_.nothing_to_plan = error.what();
    }
  }

  [[nodiscard]] int planned() const {
    if (season_.plan.sample.total) return *season_.plan.sample.total;
    int all = 0;
    for (const EvaluatedStratum& stratum : now_.strata) all += stratum.planned;
    return all;
  }

  void plan_panels() {
    PanelsSpec spec = season_.plan.panels;
    next_.pattern = spec.pattern;
    if (spec.years && next_.year >= spec.start + *spec.years)
      next_.panels_end = fmt::format("plots were drawn for {} to {}: {} needs a new draw", spec.start,
                                     spec.start + *spec.years - 1, next_.year);
    std::map<std::string, int> plots;
    for (const EvaluatedUnit& unit : now_.units) plots[unit.panel] += unit.spare ? 0 : 1;
    spec.year = next_.year;
    const PanelScheme scheme(spec);
    for (std::size_t p = 0; p < scheme.panels().size(); ++p) {
      NextPanel panel{scheme.panels()[p].name, 0, scheme.due(p, next_.year), {}};
      if (const auto found = plots.find(panel.name); found != plots.end()) panel.plots = found->second;
      for (const int year : scheme.years_due(p))
        if (year > next_.year && !panel.due && !panel.due_in) panel.due_in = year;
      if (!panel.due && !panel.due_in) panel.due_in = due_again(scheme, p);
      next_.panels.push_back(panel);
    }
  }

  /// Patterns that come round again do so after the years that are listed, too.
  [[nodiscard]] std::optional<int> due_again(const PanelScheme& scheme, std::size_t panel) const {
    const RevisitPart& part = season_.plan.panels.parts[scheme.panels()[panel].part];
    if (part.never_again) return {};
    for (int year = next_.year + 1; year <= next_.year + part.cycle(); ++year)
      if (scheme.due(panel, year)) return year;
    return {};
  }

  void share_out() {
    std::vector<Share> shares;
    std::vector<ExpectedSpecies> species;
    std::unordered_map<std::string_view, int> counted;
    for (const EvaluatedUnit& unit : now_.units) counted[unit.stratum] += unit.evaluated ? 1 : 0;
    for (const EvaluatedStratum& stratum : now_.strata) {
      if (stratum.kind == "excluded" && stratum.planned == 0) continue;
      const double area = estimated_m2(now_, stratum);
      next_.strata.push_back({stratum.id, area, stratum.planned, counted[stratum.id], 0});
      shares.push_back({stratum.id, area, 1, stratum.kind != "scored", 1});
    }
    for (const SeasonSpread& spread : next_.spreads) {
      if (spread.stratum_sd.empty() || !(spread.mean > 0)) continue;
      ExpectedSpecies expected{spread.code, 0.2, {}, {}};
      const auto of_plan = season_.plan.sample.species_spread.find(spread.code);
      if (of_plan != season_.plan.sample.species_spread.end()) expected.target = of_plan->second.target;
      for (const NextStratum& stratum : next_.strata) {
        expected.mean.push_back(spread.stratum_mean.at(stratum.stratum));
        expected.sd.push_back(spread.stratum_sd.at(stratum.stratum));
      }
      species.push_back(std::move(expected));
    }
    next_.total = planned();
    if (species.empty() || shares.empty()) {
      next_.no_allocation = "no species' counts tell of its spread";
      return;
    }
    try {
      const std::vector<int> numbers =
          allocate_over_species(shares, species, Available::plots(next_.total),
                                season_.plan.sample.least_per_stratum, season_.plan.sample.place);
      for (std::size_t i = 0; i < numbers.size(); ++i) next_.strata[i].next = numbers[i];
    } catch (const InputError& error) {
      next_.no_allocation = error.what();
    }
  }

  /// Numbers as a plan wants them, three figures.
  static std::string figures(double value) { return fmt::format("{:.3g}", value); }

  [[nodiscard]] std::string lines() const {
    std::string out = fmt::format(
        "# From the counts of {}, for {}. Put each line into the table that the plan has already.\n",
        now_.year, next_.year);
    if (season_.plan.panels.given) out += fmt::format("[panels]\nyear = {}\n\n", next_.year);
    out +=
        fmt::format("[effort]\n# pilot = \"next-pilot.csv\" is the table beside these lines\nrefused = {}\n",
                    figures(std::min(0.95, next_.refusals.share())));
    for (const SeasonSpread& spread : next_.spreads) out += lines_of(spread);
    return out;
  }

  [[nodiscard]] std::string lines_of(const SeasonSpread& spread) const {
    if (spread.stratum_sd.empty() || !(spread.mean > 0)) return {};
    // Strata with plots enough by themselves; a band once, from those that had to borrow, or by ground.
    std::map<std::string, std::pair<double, double>> mean, sd;  // sum over ground, ground
    std::set<std::string> borrowed;
    for (const EvaluatedStratum& stratum : now_.strata) {
      if (stratum.kind != "scored") continue;
      std::string key = next_parts::band_of(stratum.id);
      if (key.find('=') != std::string::npos) key = next_parts::without_version(stratum.id);
      auto& m = mean[key];
      auto& s = sd[key];
      const double variance = std::pow(spread.stratum_sd.at(stratum.id), 2);
      const double area = estimated_m2(now_, stratum);
      m.first += area * spread.stratum_mean.at(stratum.id);
      s.first += area * variance;
      m.second += area;
      s.second += area;
      if (spread.of_all.count(stratum.id) > 0) borrowed.insert(json_quote(key));
    }
    std::vector<std::string> means, sds;
    for (const auto& [key, of] : mean)
      means.push_back(fmt::format("{} = {}", json_quote(key), figures(of.first / of.second)));
    for (const auto& [key, of] : sd)
      sds.push_back(fmt::format("{} = {}", json_quote(key), figures(std::sqrt(of.first / of.second))));
    return fmt::format(
        "\n[sample.spread.{}]\n{}mean = {{ {} }}\nsd   = {{ {} }}\n", spread.code,
        borrowed.empty() ? std::string()
                         : fmt::format("# {}: too few plots: the mean of all\n",
                                       in_words(std::vector<std::string>(borrowed.begin(), borrowed.end()))),
        fmt::join(means, ", "), fmt::join(sds, ", "));
  }

  const Season& season_;
  const EvaluatedSeason& now_;
  NextSeason next_;
};

void add_counts(const EvaluatedSeason& season, const std::string& code, std::string& out) {
  const auto found = std::find(season.species.begin(), season.species.end(), code);
  if (found == season.species.end()) return;
  const auto k = std::size_t(found - season.species.begin());
  for (const EvaluatedUnit& unit : season.units) {
    if (!unit.evaluated || !unit.counts[k].searched || !(unit.counts[k].area_m2 > 0)) continue;
    const double whole = unit.counts[k].sure / unit.counts[k].area_m2 * season.unit_area_m2;
    out += fmt::format("{},{},{:.0f},{}\n", csv_field(code), csv_field(unit.name), whole, season.year);
  }
}

}  // namespace

NextSeason next_season(const Season& season, const std::vector<SiteWork>& sites, const EvaluatedSeason& now,
                       const EvaluatedSeason* earlier, Flags& flags) {
  return Next(season, now, earlier).work_out(sites, flags);
}

std::string next_pilot_csv(const Season& season, const EvaluatedSeason& now, const EvaluatedSeason* earlier) {
  std::string out = "species,plot,count,season\n";
  EvaluatedSeason before;
  if (earlier != nullptr) {
    before = *earlier;
    // A plot that moved is not the same one: under its old name it would be taken for a pair.
    Flags said_by_change;
    for (const MatchedPlot& plot : match_plots(*earlier, now, season.plan.estimate.moved_m, said_by_change))
      if (plot.matching == Matching::moved) before.units[plot.earlier].name += " before it moved";
  }
  for (const std::string& code : next_parts::planned_species(season)) {
    add_counts(now, code, out);
    if (earlier != nullptr) add_counts(before, code, out);
  }
  return out;
}

}  // namespace swardline
