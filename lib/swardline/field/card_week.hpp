// What can be seen of a card's plants in a week, as the table that sets and orders of looks are made from.
// Private to this stage.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "swardline/field/card_plants.hpp"
#include "swardline/field/separation.hpp"

namespace swardline {

struct CardWeek {
  Day from = no_day, until = no_day;  ///< no_day: every plant in flower
};

/// Days of a week on which a plant is at each stage.
struct StageDays {
  int bud = 0, flower = 0, capsule = 0;
  [[nodiscard]] Stages stages() const {
    return (bud > 0 ? stage_bit(PlantPart::bud) : 0) | (flower > 0 ? stage_bit(PlantPart::flower) : 0) |
           (capsule > 0 ? stage_bit(PlantPart::capsule) : 0);
  }
};
[[nodiscard]] StageDays stage_days(const Season& season, const CardCandidate& candidate, const CardWeek& week,
                                   int year);
/// "not in flower yet", "past flowering", "in flower on some of these days"; empty: in flower on all.
[[nodiscard]] std::string flowering_words(const StageDays& days);

/// Of the table the first character is whether a flower is open, and is given; the season's follow it. Its
/// states are those of Look::in_flower.
struct WeekTable {
  static constexpr std::size_t in_flower = 0, first_character = 1;
  LookTable table;
  std::vector<PlantPart> stage;  ///< of each row: bud, flower or capsule
};
/// Rows of the likely candidates, and of the others that have characters. `days` by candidate.
[[nodiscard]] WeekTable week_table(const Season& season, const std::vector<CardCandidate>& candidates,
                                   const std::vector<StageDays>& days);

}  // namespace swardline
