// Two seasons of one meadow, and what to look up in their change.
#pragma once

#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "made_seasons.hpp"
#include "swardline/estimate/change.hpp"

namespace swardline::testing {

inline const std::string meadow = "ANL|score=50-75|v1";

inline MadeSeason meadow_in(int year, double area_m2 = 140000) {
  MadeSeason season(year);
  season.site("ANL", area_m2).stratum(meadow, "ANL", area_m2);
  return season;
}

struct TwoYears {
  MadeSeason then = meadow_in(2026), now = meadow_in(2027);
  ChangeOptions options;
  Flags flags;
  SeasonChange change() { return change_between(then.season, now.season, options, flags); }
};

/// Plots 1 to 6 counted twice, 7 mown, 8 moved, 9 and 10 new.
inline TwoYears the_story() {
  TwoYears years;
  const double then[6] = {12, 0, 5, 9, 3, 0}, now[6] = {10, 0, 4, 6, 3, 1};
  for (int i = 0; i < 6; ++i) {
    years.then.plot("ANL0" + std::to_string(i + 1), then[i]);
    years.now.plot("ANL0" + std::to_string(i + 1), now[i]);
  }
  years.then.plot("ANL07", 7);
  years.now.lost("ANL07", "not countable (mown)");
  years.then.plot("ANL08", 16);
  years.now.plot("ANL08", 30).east += 14;
  years.now.plot("ANL09", 15);
  years.now.plot("ANL10", 11);
  return years;
}

inline const ChangeEstimate& everywhere(const SeasonChange& change) {
  REQUIRE(!change.estimates.empty());
  REQUIRE(change.estimates.front().where == "all sites");
  return change.estimates.front();
}

inline const ChangeEstimate* of(const SeasonChange& change, const std::string& where,
                                const std::string& stratum = {}) {
  for (const ChangeEstimate& estimate : change.estimates)
    if (estimate.where == where && estimate.stratum == stratum) return &estimate;
  return nullptr;
}

inline bool flagged(const Flags& flags, const std::string& check) {
  return std::any_of(flags.all().begin(), flags.all().end(),
                     [&](const Flag& flag) { return flag.check == check; });
}

}  // namespace swardline::testing
