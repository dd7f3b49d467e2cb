// What read_evaluated puts together. Private to this folder.
#pragma once

#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "swardline/returns/return_row.hpp"
#include "swardline/store/count_tally.hpp"
#include "swardline/store/geopackage.hpp"

namespace swardline {

/// A unit's ground beside EvaluatedSeason::units.
struct UnitGround {
  SearchGround whole;
  std::vector<SearchGround> stations;  ///< of a transect, by number from 1
  EdgeRule rule = EdgeRule::walk_through;
  bool due = true;
  bool outside = false;  ///< no part of it is survey area: done without a visit
};

struct Text {
  using is_transparent = void;
  std::size_t operator()(std::string_view text) const { return std::hash<std::string_view>{}(text); }
};
using TextIndex = std::unordered_map<std::string, std::int32_t, Text, std::equal_to<>>;

struct EvaluatedDraft {
  EvaluatedSeason season;
  std::vector<UnitGround> ground;  ///< beside season.units
  TextIndex unit_of, species_of;
  std::unordered_map<std::string, std::vector<bool>, Text, std::equal_to<>>
      searched;  ///< by site, beside species
};

/// Sites, strata, species and units, nothing of what came back.
[[nodiscard]] EvaluatedDraft read_drawn(OpenStore& store);
/// What came back: fates, counts, recounts, spares in use.
void join_counts(OpenStore& store, EvaluatedDraft& draft);

}  // namespace swardline
