// The ground and the plots of two seasons side by side. Private to the change.
#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "swardline/estimate/change.hpp"

namespace swardline::change_parts {

inline constexpr std::size_t nowhere = static_cast<std::size_t>(-1);

/// A plot of one season as estimates want it.
struct SeasonPlot {
  std::size_t stratum = nowhere;  ///< index into TwoGrounds::ground
  std::size_t unit = 0;
  double weight = 1;
  double stems = 0, area_m2 = 0;
};

/// Strata of both seasons by identity, and where each plot of both belongs.
struct TwoGrounds {
  std::vector<SharedGround> ground;
  std::map<std::string, std::size_t> index;  ///< by identity
  std::vector<std::string> anew;             ///< sites whose strata were made anew
  [[nodiscard]] std::size_t of(const std::string& stratum) const;
};
[[nodiscard]] TwoGrounds two_grounds(const EvaluatedSeason& earlier, const EvaluatedSeason& later);

/// Part of the survey area that is told of by itself.
struct Domain {
  std::string where, stratum;
  std::vector<std::size_t> strata;          ///< indices into ground that lie in it as a whole
  std::map<std::string, bool> sites;        ///< codes; empty: all
  DomainCut cut = DomainCut::whole_strata;  ///< across: it takes a part of some strata
};
/// Everything, then attributes, sites and strata; those that say nothing new are left out.
[[nodiscard]] std::vector<Domain> domains_of(const EvaluatedSeason& later, const TwoGrounds& grounds,
                                             const std::vector<std::string>& by);

/// What a count is of a species, sure or with those not certain.
[[nodiscard]] double stems_of(const UnitCount& count, bool with_not_certain);

/// A plot counted in both seasons, at the same place.
struct PairedPlot {
  SeasonPlot then, now;
  std::size_t match = 0;  ///< index into SeasonChange::plots
};

/// Counts of one species in one stratum.
struct StratumCounted {
  std::vector<PairedPlot> pairs;
  std::vector<SeasonPlot> only_then, only_now;  ///< without a partner
  std::vector<SeasonPlot> all_then, all_now;
};

/// Pairs and plots without a partner together, of a domain of whole strata. None where all have partners or
/// nothing varies, or as `why_none` says.
[[nodiscard]] std::optional<CompositeChange> composite_of(const std::vector<StratumCounted>& counts,
                                                          const Domain& domain, const TwoGrounds& grounds,
                                                          double confidence, const PairedChange& paired,
                                                          std::string& why_none);
/// The composite that is told, where it tells more than the pairs; why there is none goes to the estimate,
/// whose pairs are worked out. `counts` are beside the ground.
void add_composite(const std::vector<StratumCounted>& counts, const Domain& domain, const TwoGrounds& grounds,
                   double confidence, ChangeEstimate& estimate);

/// Flags what makes two seasons hard to compare.
void compare_sampling(const EvaluatedSeason& earlier, const EvaluatedSeason& later,
                      const std::vector<MatchedPlot>& plots, const TwoGrounds& grounds, Flags& flags);

}  // namespace swardline::change_parts
