// What the plan expects of counts and costs in each stratum. Private to the season's draw.
#pragma once

#include <string>
#include <vector>

#include "swardline/design/allocation.hpp"
#include "swardline/design/draw_season.hpp"
#include "swardline/design/strata.hpp"

namespace swardline::season_parts {

/// The strata that get plots, as the allocation sees them.
struct SeasonShares {
  std::vector<Share> shares;
  std::vector<std::size_t> which;  ///< index of the stratum, beside shares
  std::vector<ExpectedSpecies> species;
};

[[nodiscard]] bool gets_plots(const Plan& plan, const Stratum& stratum);

/// Throws InputError where an optimal allocation lacks a spread, a species a mean, or a stratum its cost. A
/// key of [sample.spread] or [sample.cost] that belongs to no stratum is an ASK.
[[nodiscard]] SeasonShares season_shares(const Plan& plan, const SeasonStrata& ground,
                                         const std::vector<Stratum>& strata, Flags& flags);

/// What each species' total can be expected to be known to, before anyone drives: into the certificate
/// and its words; an ASK where it is past 60 %.
void expect(const Plan& plan, const SeasonShares& season, const std::vector<Stratum>& strata,
            Certificate& certificate, Flags& flags);

}  // namespace swardline::season_parts
