// One mark and one look-alike to rule out for each likely species of a site.
#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/text.hpp"
#include "swardline/field/card_plants.hpp"
#include "swardline/field/identification.hpp"

namespace swardline {
namespace {

/// "throat: a slender, even tube or swells suddenly"
std::string mark_words(const Character& character, std::uint64_t states) {
  std::string words;
  for (std::size_t i = 0; i < character.states.size(); ++i)
    if (states >> i & 1U) words += (words.empty() ? "" : " or ") + character.states[i].words;
  return character_words(character) + ": " + words;
}

/// A trait that is no character is words of the sheet's own.
std::string plain_trait(const Season& season, const Sheet& sheet) {
  for (const auto& [name, words] : sheet.traits) {
    const auto& characters = season.traits.characters;
    if (std::any_of(characters.begin(), characters.end(),
                    [&trait = name](const Character& each) { return each.name == trait; }))
      continue;
    std::string said = name;
    std::replace(said.begin(), said.end(), '_', ' ');
    return said + ": " + in_words(words);
  }
  return {};
}

std::string mark_of(const Season& season, const std::vector<CardCandidate>& there, const CardCandidate& self,
                    Stages stages) {
  const Character* best = nullptr;
  double most = 0;
  for (const Character& character : season.traits.characters) {
    const std::uint64_t shown = always_seen(character, stages) ? written_states(character, self) : 0;
    if (shown == 0) continue;
    double told = 0;
    for (const CardCandidate& other : there) {
      const std::uint64_t theirs = written_states(character, other);
      if (theirs != 0 && (theirs & shown) == 0) told += other.plant.weight;
    }
    const bool better = !best || told > most + 1e-12 ||
                        (told > most - 1e-12 && effort_of(character.ease) < effort_of(best->ease));
    if (better) best = &character, most = told;
  }
  return best ? mark_words(*best, written_states(*best, self)) : std::string();
}

std::string look_alike_of(const Sheet& sheet, const std::vector<CardCandidate>& there) {
  const LookAlike* chosen = nullptr;
  bool warned = false;
  for (const LookAlike& each : sheet.look_alikes) {
    const auto at = std::find_if(there.begin(), there.end(),
                                 [&](const CardCandidate& other) { return called(other.plant) == each.of; });
    if (at == there.end() || (chosen && (warned || at->plant.warning.empty()))) continue;
    chosen = &each;
    warned = !at->plant.warning.empty();
  }
  return chosen ? chosen->of + ": " + chosen->tell : std::string();
}

}  // namespace

std::vector<SpeciesMark> species_marks(const Season& season, const SiteSpecies& site, const Visit& visit,
                                       int year) {
  const int shift = season.plan.returns.shift_days;
  const std::vector<CardCandidate> there = candidates_at(season, site);
  std::vector<SpeciesMark> marks;
  for (const LikelySpecies& each : site.likely) {
    const Sheet& sheet = season.sheets[each.sheet];
    SpeciesMark mark;
    mark.sheet = each.sheet;
    const auto self = std::find_if(there.begin(), there.end(),
                                   [&](const CardCandidate& other) { return other.traits == &sheet.traits; });
    const Stages stages = visit.from == no_day
                              ? stage_bit(PlantPart::flower)
                              : stages_between(sheet.window, visit.from, visit.until, year, shift);
    if (self != there.end()) mark.mark = mark_of(season, there, *self, stages);
    if (mark.mark.empty()) mark.mark = plain_trait(season, sheet);
    mark.rule_out = look_alike_of(sheet, there);
    mark.window = "any day";
    if (sheet.window) {
      const DayWindow window = window_in(*sheet.window, year, shift);
      mark.window = short_date(window.from) + "-" + short_date(window.until);
    }
    marks.push_back(std::move(mark));
  }
  return marks;
}

}  // namespace swardline
