// Rows of one species on one visit to one plot, brought to one count and the area it stands for. The rules
// are those read_evaluated (returned.hpp) states. Private to this folder.
#pragma once

#include <cmath>
#include <cstdint>
#include <span>

#include "swardline/estimate/evaluated.hpp"
#include "swardline/returns/words.hpp"

namespace swardline {

/// A row of the table `counts` that is in use.
struct CountRow {
  std::int32_t unit = -1, species = -1;
  std::int32_t visit = 0;  ///< by day, then as received: see VisitOrder in evaluated_counts.cpp
  std::int32_t stems = -1, twice_stems = -1;
  std::int32_t row = 0;           ///< as received
  float area_m2 = std::nanf("");  ///< searched, as written or frames × their area; NaN: not written
  std::int16_t station = -1;
  Certainty certainty = Certainty::sure;
  CountMethod method = CountMethod::counted;
  Phase phase = Phase::none;
  bool part = false;  ///< only a part of the plot was counted
};

/// Ground of a plot, or of one station of a transect.
struct SearchGround {
  double plot_m2 = 0, inside_m2 = 0, twice_m2 = 0;
};

/// What a plot's whole ground stands for under the edge rule; see returned.hpp.
[[nodiscard]] double denominator_m2(EdgeRule rule, const SearchGround& ground);

struct CountTally {
  UnitCount count;
  double stems = 0;  ///< as written: sure and not certain, nothing counted twice
  bool twice_box_empty = false;
  bool part_without_area = false;  ///< rows left out because the area of the part is not known
};

/// Sums the rows of one station, or of a whole plot (all of one unit, species and visit, in the order
/// received). Areas and counts add up over stations: call it for each and add.
[[nodiscard]] CountTally tally_of(EdgeRule rule, const SearchGround& ground, std::span<const CountRow> rows);

}  // namespace swardline
