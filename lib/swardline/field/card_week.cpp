#include "swardline/field/card_week.hpp"

#include <algorithm>

namespace swardline {
namespace {

/// States of Look::in_flower, as bits.
std::uint64_t flower_state(PlantPart stage) {
  return stage == PlantPart::flower ? 1 : stage == PlantPart::bud ? 2 : 4;
}

int days_at(const StageDays& days, PlantPart stage) {
  return stage == PlantPart::flower ? days.flower : stage == PlantPart::bud ? days.bud : days.capsule;
}

bool has_row(const CardCandidate& candidate) { return candidate.plant.likely || !candidate.plant.no_traits; }

class WeekRows {
 public:
  explicit WeekRows(const Season& season) : season_(season) {
    made_.table.given = std::uint64_t{1} << WeekTable::in_flower;
    made_.table.effort.push_back(effort_of(Ease::at_a_glance));
    for (const Character& each : season.traits.characters) made_.table.effort.push_back(effort_of(each.ease));
  }

  void add(std::size_t index, const CardCandidate& candidate, const StageDays& days, PlantPart stage) {
    LookTable& table = made_.table;
    const int here = days_at(days, stage), all = days.bud + days.flower + days.capsule;
    made_.stage.push_back(stage);
    table.plant.push_back(index);
    table.likely.push_back(candidate.plant.likely);
    table.stray.push_back(here == 0);
    // What no look can find has no say in their order.
    table.weight.push_back(candidate.plant.no_traits ? 0 : candidate.plant.weight * (double(here) / all));
    std::vector<std::uint64_t> shown = {flower_state(stage)};
    std::uint64_t hidden = 0;
    for (const Character& character : season_.traits.characters) {
      const bool seen = always_seen(character, stage_bit(stage));
      if (!seen) hidden |= std::uint64_t{1} << shown.size();
      shown.push_back(seen ? written_states(character, candidate) : 0);
    }
    table.hidden.push_back(hidden);
    table.shown.push_back(std::move(shown));
  }

  WeekTable take() { return std::move(made_); }

 private:
  const Season& season_;
  WeekTable made_;
};

}  // namespace

StageDays stage_days(const Season& season, const CardCandidate& candidate, const CardWeek& week, int year) {
  StageDays days;
  if (week.from == no_day) {
    days.flower = 1;
    return days;
  }
  for (Day day = week.from; day <= week.until; ++day) {
    const Stages stage = stage_on(candidate.window, day, year, season.plan.returns.shift_days);
    ++(stage == stage_bit(PlantPart::flower) ? days.flower
       : stage == stage_bit(PlantPart::bud)  ? days.bud
                                             : days.capsule);
  }
  return days;
}

std::string flowering_words(const StageDays& days) {
  if (days.bud + days.capsule == 0) return {};
  if (days.flower > 0) return "in flower on some of these days";
  return days.capsule == 0 ? "not in flower yet" : "past flowering";
}

WeekTable week_table(const Season& season, const std::vector<CardCandidate>& candidates,
                     const std::vector<StageDays>& days) {
  bool some_out_of_flower = false;
  for (std::size_t i = 0; i < candidates.size(); ++i)
    some_out_of_flower = some_out_of_flower || (has_row(candidates[i]) && days[i].bud + days[i].capsule > 0);
  WeekRows rows(season);
  for (std::size_t i = 0; i < candidates.size(); ++i) {
    if (!has_row(candidates[i])) continue;
    const bool may_stray = some_out_of_flower && days[i].flower > 0;
    for (const PlantPart stage : {PlantPart::flower, PlantPart::bud, PlantPart::capsule})
      if (days_at(days[i], stage) > 0 || may_stray) rows.add(i, candidates[i], days[i], stage);
  }
  return rows.take();
}

}  // namespace swardline
