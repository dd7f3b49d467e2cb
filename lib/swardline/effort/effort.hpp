// What a season's questions need in plots and hours, and what the plots and hours there are can answer.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/effort/pilot.hpp"
#include "swardline/season/season.hpp"

namespace swardline {

/// Ground of one site that plots can fall on.
struct SiteGround {
  std::string code;
  double area_m2 = 0;
  int walked_plots = 0;  ///< of the last draw's walking order; 0: none
  double walked_m = 0;   ///< its length
};

/// What is expected of one species' counts.
struct ExpectedSpread {
  std::string code;
  double mean = 0;
  double sd = 0;
  std::optional<double> sd_of_differences;  ///< needed where the same plots are revisited
  std::string basis;       ///< "24 plots of the pilot", "the plan", "variance = 2.5 mean^1.4"
  std::string unanswered;  ///< why nothing can be said; then the rest is not set
};

/// Plots that one question of one species needs, from the formula to what must be planned.
struct Need {
  double by_normal = 0;  ///< as the handbooks' formula gives it, not rounded
  int by_t = 0;          ///< with Student's t in place of z
  int adjusted = 0;      ///< with the assurance asked (precision only; else as by_t)
  int in_area =
      0;  ///< where only so many plots fit (precision only: a change is of the plants, not of these plots)
  int planned = 0;              ///< divided by the share that will be counted
  std::optional<double> hours;  ///< for `planned` plots
};

/// What a number of planned plots can answer.
struct Reach {
  double half_width = 0;         ///< share of the mean, at the plan's confidence
  double variation = 0;          ///< coefficient of variation of the estimated mean
  std::optional<double> change;  ///< smallest change seen with the plan's power, share of the mean
};

struct SpeciesEffort {
  ExpectedSpread spread;
  std::optional<Need> precision;
  std::optional<Need> change;
  std::optional<std::string> change_unanswered;  ///< why, where a change was asked and cannot be planned
  std::vector<Reach> reach;                      ///< beside Effort::plots; empty when unanswered
};

/// One question that the planned number of plots does not answer; the first to fail comes first.
struct Failing {
  std::string species;
  bool change = false;  ///< else the precision
  int needed = 0;
};

struct Effort {
  double possible_plots = 0;      ///< that fit the survey areas side by side
  int planned = 0;                ///< by the plan's sample; 0 where it is `each` and no strata are known
  std::vector<int> plots;         ///< the numbers of the table and the chart, rising
  std::vector<double> hours;      ///< beside plots: person-hours for them
  std::optional<int> affordable;  ///< most planned plots that the hours there are pay for
  std::vector<SpeciesEffort> species;
  std::vector<Failing> failing;  ///< with the affordable plots, or the planned ones where no hours are given
};

/// Person-hours for this many planned plots over these sites: counting, walking between plots and
/// getting to each site, for all people of a visit. Walking is what a shortest way through random
/// points of an area takes, 0.7124 √(n A) (Beardwood, Halton & Hammersley 1959; the constant from
/// memory), or the last draw's walking order grown by the root of the number. Plots that are refused
/// still cost their walk and not their counting. Plots go to sites by area.
[[nodiscard]] double hours_for(int plots, const std::vector<SiteGround>& sites, const EffortSpec& spec);

/// Most planned plots that `hours` person-hours pay for; 0 where getting there alone takes more.
[[nodiscard]] int plots_for_hours(double hours, const std::vector<SiteGround>& sites, const EffortSpec& spec);

/// What is known of each species' spread: the pilot before the plan's own numbers before the
/// variance law. Species in the order of the sheets, then those that only the pilot or the plan names.
[[nodiscard]] std::vector<ExpectedSpread> expected_spreads(const Season& season, const Pilot& pilot,
                                                           Flags& flags);

/// Answers every question of the plan's [effort]. `planned` plots are asked by the plan's sample.
[[nodiscard]] Effort work_out_effort(const Season& season, const std::vector<ExpectedSpread>& spreads,
                                     const std::vector<SiteGround>& sites, int planned);

/// The answers in words and tables, a species a paragraph.
[[nodiscard]] std::string in_words(const Effort& effort, const EffortSpec& spec);

/// Limits against hours as SVG, a line a species, the limits and hours asked for marked; empty where
/// there is nothing to show.
[[nodiscard]] std::string effort_chart(const Effort& effort, const EffortSpec& spec,
                                       const std::string& title);

}  // namespace swardline
