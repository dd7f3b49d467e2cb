// What a season's questions need in plots and hours, and what the plots and hours there are can answer.
#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/design/draw_season.hpp"
#include "swardline/design/site.hpp"
#include "swardline/effort/pilot.hpp"
#include "swardline/season/season.hpp"

namespace swardline {

/// Ground of one site that plots can fall on.
struct SiteWork {
  std::string code;
  double area_m2 = 0;
  int walked_plots = 0;  ///< of the last draw's walking order; 0: none
  double walked_m = 0;   ///< its length, from where the team starts
};

/// The sites' survey areas, with the walking orders of the planned plots where there was a draw. Without
/// them where the plan's total comes from hours: that number is worked out before any draw.
[[nodiscard]] std::vector<SiteWork> ground_of(const Plan& plan, const Sites& sites,
                                              const std::vector<Plot>& drawn = {});

/// What is expected of one species' counts.
struct ExpectedSpread {
  std::string code;
  double mean = 0;                          ///< plants per plot
  double sd = 0;                            ///< between plots
  std::optional<double> sd_of_differences;  ///< needed where the same plots are revisited
  std::string basis;  ///< "24 plots of the pilot, 9 of them empty", "the plan", "variance = 2.5 mean^1.4"
  std::string unanswered;  ///< why nothing can be said of mean and spread; then those above are not set
  std::optional<double> occupied;   ///< share of plots with at least one plant
  std::string occupied_basis;       ///< as basis
  std::string occupied_unanswered;  ///< why there is no share
  std::string advice;               ///< on the plots' size and shape, where the pilot can tell
};

/// The five questions of [effort].
enum class Question { limits, change, occupied, occupied_change, find_one };

/// Plots that one question of one species needs, from the formula to what must be planned.
struct Need {
  double by_formula = 0;  ///< as the handbooks' formula gives it, not rounded
  int by_test = 0;   ///< with Student's t in place of z; for a change of the share, by the test's own limit
  int counted = 0;   ///< with the assurance asked (limits), and where only so many plots fit (limits,
                     ///< occupied, find_one: a change is of the plants, not of these plots)
  int planned = 0;   ///< divided by the share that will be counted
  double hours = 0;  ///< person-hours for `planned` plots
};

struct Answer {
  Question question = Question::limits;
  std::optional<Need> need;
  std::string unanswered;                   ///< why, where there is no need
  std::optional<double> on_separate_plots;  ///< the change by formula, were other plots counted each season
};

/// What a number of planned plots can answer; what is not known is not set.
struct Reach {
  std::optional<double> limits;           ///< half width, share of the mean, at the plan's confidence
  std::optional<double> variation;        ///< coefficient of variation of the estimated mean
  std::optional<double> change;           ///< smallest change seen with the plan's power, share of the mean
  std::optional<double> occupied;         ///< half width of the share's limits
  std::optional<double> occupied_change;  ///< smallest change of the share seen
  std::optional<double> find_one;         ///< chance of at least one find
};

struct SpeciesEffort {
  ExpectedSpread spread;
  std::vector<Answer> answers;  ///< of the questions asked
  std::vector<Reach> reach;     ///< beside Effort::plots
  Reach with_more;              ///< with Effort::more_plots
  [[nodiscard]] const Answer* answer(Question question) const;
};

/// One question that the plots there are do not answer; the first to fail comes first.
struct Failing {
  std::string species;
  Question question = Question::limits;
  int needed = 0;
};

struct Effort {
  double possible_plots = 0;      ///< that fit the survey areas side by side
  std::optional<int> planned;     ///< by the plan's sample; none where it is `each` and nothing is drawn
  std::optional<int> affordable;  ///< most planned plots that the hours there are pay for
  std::vector<int> plots;         ///< the numbers of the table and the chart, rising
  std::vector<double> hours;      ///< beside plots: person-hours for them
  std::vector<SpeciesEffort> species;
  std::vector<Failing> failing;  ///< with `available()` plots
  double planned_hours = 0;      ///< for `planned`
  int more_plots = 0;            ///< that `more_hours` more pay for, over `available()`

  /// Planned or affordable plots, whichever are fewer.
  [[nodiscard]] std::optional<int> available() const;
  /// Beside `plots`; null where the number is not among them.
  [[nodiscard]] const Reach* reach_at(const SpeciesEffort& of, int number) const;
  /// Every question is answered and the plots and hours there are suffice.
  [[nodiscard]] bool holds() const;
};

/// What precision an hour buys is told for a day of two people.
inline constexpr double more_hours = 10;

/// Person-hours for this many planned plots over these sites: counting, walking between plots and
/// getting to each site on each day there, for all people of a visit and all visits. Walking is what a
/// shortest way through random points of an area takes, 0.7124 √(n A) (Beardwood, Halton & Hammersley 1959;
/// the constant from memory), or the last draw's walking order grown by the root of the number. Plots that
/// are refused still cost their walk and not their counting. Plots go to sites as in the last draw, else by
/// area.
[[nodiscard]] double hours_for(int plots, const std::vector<SiteWork>& sites, const EffortSpec& spec);

/// Most planned plots that `hours` person-hours pay for; 0 where getting there alone takes more.
[[nodiscard]] int plots_for_hours(double hours, const std::vector<SiteWork>& sites, const EffortSpec& spec);

/// The pilot that the plan names; empty where it names none.
[[nodiscard]] Pilot read_pilot(const Season& season, Flags& flags);

/// What is known of each species' spread: the pilot before the plan's own numbers before the
/// variance law. The plan's species, else those of the sheets in their order. Flags as ASK a pilot that
/// says nothing of a spread, and a spread that looks like a coefficient of variation.
[[nodiscard]] std::vector<ExpectedSpread> expected_spreads(const Season& season, const Pilot& pilot,
                                                           Flags& flags);

/// Planned plots by the plan's sample: its total, else those of the last draw's strata, else none.
[[nodiscard]] std::optional<int> plots_asked(const Plan& plan, const std::map<std::string, int>& drawn);

/// Answers every question of the plan's [effort]. Throws InputError where no question of any species can
/// be answered, and where the sites hold no two plots.
[[nodiscard]] Effort work_out_effort(const Season& season, const std::vector<ExpectedSpread>& spreads,
                                     const std::vector<SiteWork>& sites, std::optional<int> planned);

/// Puts the number into a plan whose sample says total = "precision" (what the species that needs most
/// plots for its limits needs) or "hours" (what they pay for, by the expected walk: the last draw's own
/// would make a draw depend on the one before). Returns how it came about, in words; empty where the plan
/// gives a number. Throws InputError where no number follows.
[[nodiscard]] std::string settle_total(Season& season, const Sites& sites, Flags& flags);

/// The answers in words and tables.
[[nodiscard]] std::string in_words(const Effort& effort, const Plan& plan);

/// A row for each species and number of plots (RFC 4180); shares, not percents. `narrowed_per_hour` is what
/// one more person-hour takes off the half width there.
[[nodiscard]] std::string effort_csv(const Effort& effort);

/// Limits against hours as SVG, a line a species, the limits and hours asked for marked; empty where
/// no species has limits.
[[nodiscard]] std::string effort_chart(const Effort& effort, const EffortSpec& spec,
                                       const std::string& title);

}  // namespace swardline
