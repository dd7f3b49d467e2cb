// What came back, in the store: `returns`, `visits`, `counts`, `flags`, `corrections` and `searched`.
//
// A visit is what one sheet of one file says of one plot on one day by one observer; its counts name it.
// Beside every reading stands the cell as it came (`…_cell`). Nothing here is known to the store alone: the
// season folder's returns and corrections make the same tables again.
#pragma once

#include <cstdint>
#include <filesystem>
#include <vector>

#include "swardline/estimate/evaluated.hpp"
#include "swardline/returns/return_flags.hpp"
#include "swardline/store/store.hpp"

namespace swardline {

/// What a season expects back: plots, segments and transects of the plan's store with every species' score,
/// species searched for by site, teams, the highest counts in stores of earlier seasons. Observers are left
/// empty. Throws InputError where the store holds no plots or those of another season; NOTE for a store of
/// before scores were kept at plots, and for an earlier season without counts; STOP for one that is not
/// there.
[[nodiscard]] Expected read_expected(const Season& season, const Crs& crs, Day today, Flags& flags);

/// A season's returns with what the checks say of them. `uses` is beside Returns::rows.
struct ReturnedSeason {
  const Season& season;
  const Expected& expected;
  const Returns& returns;
  const std::vector<ReturnFlag>& flags;
  const std::vector<Use>& uses;
};

/// Rows of the tables that write_returns made.
struct ReturnedRows {
  std::int64_t visits = 0, counts = 0;
};

/// Makes the six tables anew and adds to `runs`, in one transaction: a process killed on the way leaves them
/// as they were. Throws IoError, also where another program is writing.
ReturnedRows write_returns(const std::filesystem::path& store, const ReturnedSeason& season,
                           const RunRecord& run);

/// Whether an estimate was made since files were last taken in (runs `estimate` after the last `receive`).
[[nodiscard]] bool estimated_since_received(const std::filesystem::path& store);

/// What the store's tables were made of; empty where nothing was received.
struct KnownReturns {
  std::vector<std::string> files;  ///< names in the folder of returns
  std::int64_t corrections = 0;
};
[[nodiscard]] KnownReturns known_returns(const std::filesystem::path& store);

/// What RunRecord::inputs was when the tables were last made; empty where they never were.
[[nodiscard]] std::string inputs_of_returns(const std::filesystem::path& store);

/// Joins plots, strata, sites, visits and counts of a store, of this season or an earlier one, to what can be
/// evaluated. Needs nothing but the store.
///
/// - *Which visit counts.* Of a plot and species the first by day (then as received) with a row in use; two
///   sheets of one observer and day are one visit. The first later count of the same area by another
///   observer is its recount.
/// - *Rows of one visit* add up where they differ in certainty, phase or station; of rows that agree in all
/// of
///   these the first counts.
/// - *The area searched.* A whole plot stands for D = inside_m2 + twice_m2 (walk-through, fold-back), plot_m2
///   (grown-frame) or inside_m2 (inside-area, inner-margin). Where the share f of what lies inside was
///   searched, for f·D: which part it was is not known, so its share of the count-twice zone is taken to be
///   the plot's. An area within 0.05 m² of what lies inside is all of it (forms print one decimal). A part
///   without its area cannot be used.
/// - *half counted* is a count of half of the plot, f = 1/2, where no area is written or the whole plot's; a
///   smaller area is taken as written.
/// - *Count-twice zone without a count* (stems, but nothing in its box): the plot is counted once, over
/// f·inside.
/// - *Transects* are the sum of their stations that have a row; D is a station's own.
/// - *Wholly outside* (grown-frame, inside_m2 = 0): evaluated without a visit, nothing found.
/// - *Rows that a correction left out*, and rows of a blank form that nobody filled in, are of no visit.
/// - *A spare* is in use once a visit to it has a status or a box with something in it; it takes, in draw
/// order, the place of the stratum's
///   planned plots that were given up. Resting plots and those outside the survey area are never in use.
/// - *A species that a site was not searched for* is searched only if all counted plots of the site have a
/// row
///   for it; else finds are told in `notes`.
[[nodiscard]] EvaluatedSeason read_evaluated(const std::filesystem::path& store);

}  // namespace swardline
