// Change between two seasons: on the same plots, apart from what the survey area gained or lost.
#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/effort/sample_size.hpp"
#include "swardline/estimate/change_match.hpp"
#include "swardline/estimate/change_paired.hpp"
#include "swardline/estimate/estimates.hpp"
#include "swardline/estimate/evaluated.hpp"
#include "swardline/season/plan.hpp"

namespace swardline {

struct ChangeOptions {
  double confidence = 0.90;
  double moved_m = 5;
  std::vector<std::string> by;  ///< site attributes to tell change by
  double worth_seeing = 0.20;   ///< the change, as a share of the earlier density, to plan pairs for
  ChangeTest test = {0.10, 0.80, false};
};
/// As the plan says: [estimate] confidence, moved_m and by; [effort] change, false_change and power.
[[nodiscard]] ChangeOptions change_options(const Plan& plan);

/// A stratum's ground in both seasons. Shared is what both have: the lesser area of a stratum of record that
/// stands in both. Where no stratum of a site stands in both (they were made anew), the site's earlier strata
/// share as much as the lesser of its two survey areas.
struct SharedGround {
  std::string stratum, site;
  double then_m2 = 0, now_m2 = 0, shared_m2 = 0;
  double geodesic_ratio = 1;
  [[nodiscard]] double gained_m2() const { return now_m2 > shared_m2 ? now_m2 - shared_m2 : 0; }
  [[nodiscard]] double lost_m2() const { return then_m2 > shared_m2 ? then_m2 - shared_m2 : 0; }
};

enum class ChangeWord { not_known, no_clear_change, fewer, more };
[[nodiscard]] const char* word(ChangeWord change);  ///< "not known", "no clear change", "fewer", "more"

/// What the plots without a partner add, where ten pairs hold a plant and the change is better known with
/// them: two answers that differ for nothing must not stand side by side.
struct CompositeChange {
  int only_then = 0, only_now = 0;  ///< plots without a partner
  double change = 0;                ///< stems per m²
  double standard_error = 0, degrees_freedom = 0;
  LowHigh limits;
  double gain = 0;  ///< share of the pairs' variance that it is less by
};

/// Stems (not per m²) on ground that only one of the seasons has.
struct OneSeasonGround {
  double area_m2 = 0;
  double counted_m2 = 0;  ///< of it, in strata where plots were counted
  int plots = 0;
  double stems = 0;
  std::optional<double> standard_error;
};

/// How many pairs show a change that matters; told where five pairs hold a plant.
struct PairsNeeded {
  double change = 0;  ///< stems per m²
  double sd = 0;      ///< of differences, stems per m², at this season's split over strata
  int by_formula = 0, by_test = 0;
};

/// Densities are stems per m² on ground that both seasons share.
struct ChangeEstimate {
  std::string where;    ///< "all sites", a site's code, "habitat = glade"
  std::string stratum;  ///< its identity; empty for all strata of `where`
  std::string species;
  bool with_not_certain = false;
  PairedChange paired;
  std::optional<LowHigh> limits;  ///< of the difference
  std::optional<double> ratio;    ///< now / then
  std::optional<LowHigh> ratio_limits;
  ChangeWord change = ChangeWord::not_known;
  double shared_m2 = 0;         ///< of the strata with pairs
  double without_pairs_m2 = 0;  ///< shared, but no pair lies there: the change does not speak of it
  double stems = 0;             ///< change of density × shared ground, over the ellipsoid
  std::optional<double> stems_se;
  OneSeasonGround gained, lost;
  std::optional<CompositeChange> composite;
  std::string no_composite;  ///< why there is none, where there are plots without a partner
  std::optional<PairsNeeded> needed;
  int occupied_pairs = 0;            ///< with a stem in at least one season
  std::vector<std::string> caution;  ///< in words
};

struct SeasonChange {
  std::string earlier_name, later_name;
  int earlier_year = 0, later_year = 0;
  double unit_area_m2 = 0;  ///< of the later season's plots; 0 where they differ: then words are per hectare
  bool transects = false;
  ChangeOptions options;
  std::vector<MatchedPlot> plots;
  std::vector<std::string> names, sites;  ///< beside `plots`
  std::vector<SharedGround> ground;
  std::vector<ChangeEstimate> estimates;  ///< by species, then domain
};

/// Sampling differences that look like a change of plants (another plot size, edge rule, unit, observers,
/// time of year) are flags. Throws InputError where the seasons share no species.
[[nodiscard]] SeasonChange change_between(const EvaluatedSeason& earlier, const EvaluatedSeason& later,
                                          const ChangeOptions& options, Flags& flags);

/// "PTUB, all sites: −0.83 stems per plot (−17 %), 90 % −2.04 to +0.38, 6 pairs: no clear change." and what
/// stands behind it; then plots that are not paired, with reasons. No trailing line break.
[[nodiscard]] std::string in_words(const SeasonChange& change);
/// The plots that are not paired, one a line: "  QPR07E  not countable (mown) in 2027"; moved ones first,
/// those that rest last and by their number: "  12 plots: resting in 2027".
[[nodiscard]] std::vector<std::string> unpaired_in_words(const SeasonChange& change);
/// Rows for the table of estimates: "stems per ha on the same plots, 2026" and of the later year, "change in
/// stems per ha", "ratio of densities", "change in stems on shared ground", "stems on ground gained" and
/// "lost", "change in stems per ha, all plots" (the composite); the same with ", sure + not certain".
[[nodiscard]] std::vector<EstimateRow> change_rows(const SeasonChange& change);
[[nodiscard]] std::string to_json(const SeasonChange& change);

}  // namespace swardline
