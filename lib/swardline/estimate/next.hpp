// Next season from this one: how much counts vary, who is due, what each stratum should get.
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/effort/effort.hpp"
#include "swardline/estimate/change.hpp"
#include "swardline/estimate/evaluated.hpp"
#include "swardline/season/season.hpp"

namespace swardline {

/// Counts of one species over this season's plots, as if each were whole.
struct SeasonSpread {
  std::string code;
  int plots = 0, empty_plots = 0;
  double mean = 0;  ///< stems per plot, strata weighted by their ground
  /// Between plots, so that sd / √plots is the standard error that the split over strata gave.
  double sd = 0;
  std::optional<double> occupied;                        ///< share of the ground whose plots hold the plant
  int pairs = 0;                                         ///< with the earlier season
  std::optional<double> sd_of_differences, correlation;  ///< of the pairs; 1 − sd_d² / (2 sd²)
  /// By stratum, where it has plots enough, else by its band over all sites, else over all strata.
  std::map<std::string, double> stratum_mean, stratum_sd;
  std::set<std::string> of_all;  ///< strata that have all strata's, for want of plots
  std::string silent;            ///< why nothing can be said of the spread
};

/// Of the plots that something came back of, how many were not counted.
struct Refusals {
  int sent = 0, counted = 0;
  int no_return = 0;  ///< beside them: nothing came back, which says nothing of refusals
  std::vector<std::pair<std::string, int>> reasons;  ///< most first
  [[nodiscard]] double share() const { return sent > 0 ? 1 - double(counted) / sent : 0; }
};

struct NextPanel {
  std::string name;
  int plots = 0;
  bool due = false;           ///< next season
  std::optional<int> due_in;  ///< of a panel that rests: the year it is due again, of those planned
};

struct NextStratum {
  std::string stratum;
  double area_m2 = 0;
  int planned = 0, counted = 0;  ///< this season
  int next = 0;
};

struct NextSeason {
  int year = 0;       ///< next season's
  int from_year = 0;  ///< this season's
  std::optional<int> earlier_year;
  Refusals refusals;
  std::vector<SeasonSpread> spreads;
  std::optional<Effort> effort;
  std::string nothing_to_plan;  ///< why there is no effort
  std::string pattern;          ///< of the panels; empty: none
  std::vector<NextPanel> panels;
  std::string panels_end;  ///< where no plots were drawn for next season
  std::vector<NextStratum> strata;
  int total = 0;              ///< plots that `strata` share
  std::string no_allocation;  ///< why they are not shared
  std::string plan_lines;     ///< TOML that may be pasted into next season's plan
};

/// Spreads of the species that the plan plans for. `earlier`: null, or a season to pair plots with.
[[nodiscard]] std::vector<SeasonSpread> spreads_of(const EvaluatedSeason& now, const EvaluatedSeason* earlier,
                                                   const Season& season);

[[nodiscard]] Refusals refusals_of(const EvaluatedSeason& now);

/// `season` is this season's plan; its [effort] questions are asked again with this season's spreads and its
/// refusals in place of what the plan expected. Plots of next season are shared out as this season's were
/// asked, to where they lower the errors of totals most (design/allocation.hpp).
[[nodiscard]] NextSeason next_season(const Season& season, const std::vector<SiteWork>& sites,
                                     const EvaluatedSeason& now, const EvaluatedSeason* earlier,
                                     Flags& flags);

/// Tables for the terminal, `effort`'s own among them.
[[nodiscard]] std::string in_words(const NextSeason& next, const Season& season);
[[nodiscard]] std::string to_json(const NextSeason& next);

/// A table that [effort] pilot reads: species, plot, count, season. Counts of plots that are not whole are
/// brought to a whole plot and rounded. Moved plots have their old names in the earlier season only.
[[nodiscard]] std::string next_pilot_csv(const Season& season, const EvaluatedSeason& now,
                                         const EvaluatedSeason* earlier);

}  // namespace swardline
