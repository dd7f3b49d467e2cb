#include "swardline/field/card_plants.hpp"

#include <algorithm>
#include <set>

#include "swardline/base/text.hpp"

namespace swardline {
namespace {

CardCandidate candidate_of(const Season& season, std::size_t index, bool likely, double weight) {
  const Sheet& sheet = season.sheets[index];
  CardCandidate candidate;
  candidate.plant.code = sheet.code;
  candidate.plant.name = sheet.name;
  candidate.plant.common = sheet.common;
  candidate.plant.likely = likely;
  candidate.plant.weight = weight;
  candidate.traits = &sheet.traits;
  candidate.window = sheet.window;
  return candidate;
}

CardCandidate candidate_of(const OtherPlant& plant, double weight) {
  CardCandidate candidate;
  candidate.plant.name = plant.name;
  candidate.plant.common = plant.common;
  candidate.plant.warning = plant.warning;
  candidate.plant.weight = weight;
  candidate.traits = &plant.traits;
  candidate.window = plant.window;
  return candidate;
}

bool names_as_look_alike(const Sheet& sheet, const std::string& of) {
  return std::any_of(sheet.look_alikes.begin(), sheet.look_alikes.end(),
                     [&](const LookAlike& each) { return each.of == of; });
}

bool stands_at(const OtherPlant& plant, const std::string& site) {
  return site.empty() || plant.sites.empty() ||
         std::find(plant.sites.begin(), plant.sites.end(), site) != plant.sites.end();
}

/// Other plants that the sheets of `likely` name; `site` empty: wherever they stand.
void add_other_plants(const Season& season, const std::vector<std::size_t>& likely, const std::string& site,
                      double weight, std::vector<CardCandidate>& candidates) {
  for (const OtherPlant& plant : season.traits.plants) {
    const bool named = std::any_of(likely.begin(), likely.end(), [&](std::size_t sheet) {
      return names_as_look_alike(season.sheets[sheet], plant.name);
    });
    if (named && stands_at(plant, site)) candidates.push_back(candidate_of(plant, weight));
  }
  // Those of which nothing is written but how to tell them.
  std::set<std::string> known;
  for (const Sheet& sheet : season.sheets) known.insert(sheet.code);
  for (const OtherPlant& plant : season.traits.plants) known.insert(plant.name);
  for (const std::size_t index : likely) {
    for (const LookAlike& each : season.sheets[index].look_alikes) {
      if (!known.insert(each.of).second) continue;
      CardCandidate candidate;
      candidate.plant.name = each.of;
      candidate.plant.weight = weight;
      candidate.plant.tell = each.tell;
      candidates.push_back(std::move(candidate));
    }
  }
}

/// Weights to add up to one, and who has no character written.
void finish(const Season& season, std::vector<CardCandidate>& candidates) {
  double sum = 0;
  for (const CardCandidate& each : candidates) sum += each.plant.weight;
  for (CardCandidate& each : candidates) {
    if (sum > 0) each.plant.weight /= sum;
    const auto& characters = season.traits.characters;
    each.plant.no_traits =
        std::none_of(characters.begin(), characters.end(),
                     [&](const Character& character) { return written_states(character, each) != 0; });
    if (!each.plant.no_traits || !each.plant.tell.empty()) continue;
    const std::string of = called(each.plant);
    for (const Sheet& sheet : season.sheets)
      for (const LookAlike& look_alike : sheet.look_alikes)
        if (look_alike.of == of && each.plant.tell.empty()) each.plant.tell = look_alike.tell;
  }
}

}  // namespace

std::vector<CardCandidate> candidates_at(const Season& season, const SiteSpecies& site) {
  std::vector<LikelySpecies> likely = site.likely;
  std::stable_sort(likely.begin(), likely.end(),
                   [](const LikelySpecies& a, const LikelySpecies& b) { return a.weight > b.weight; });
  std::vector<CardCandidate> candidates;
  std::vector<std::size_t> sheets;
  for (const LikelySpecies& each : likely) {
    candidates.push_back(candidate_of(season, each.sheet, true, each.weight));
    sheets.push_back(each.sheet);
  }
  if (likely.empty()) return candidates;
  const double least = likely.back().weight;
  for (const std::size_t possible : site.possible) {
    const Sheet& sheet = season.sheets[possible];
    const bool alike = std::any_of(sheets.begin(), sheets.end(), [&](std::size_t index) {
      return names_as_look_alike(season.sheets[index], sheet.code) ||
             names_as_look_alike(sheet, season.sheets[index].code);
    });
    if (alike) candidates.push_back(candidate_of(season, possible, false, least));
  }
  add_other_plants(season, sheets, site.site, least, candidates);
  finish(season, candidates);
  return candidates;
}

std::vector<CardCandidate> candidates_of(const Season& season) {
  std::vector<CardCandidate> candidates;
  std::vector<std::size_t> sheets;
  for (std::size_t index = 0; index < season.sheets.size(); ++index) {
    candidates.push_back(candidate_of(season, index, true, 1));
    sheets.push_back(index);
  }
  add_other_plants(season, sheets, {}, 1, candidates);
  finish(season, candidates);
  return candidates;
}

Stages stage_on(const FlowerWindow& window, Day day, int year, int shift) {
  if (!window) return stage_bit(PlantPart::flower);
  // A window over the turn of the year may hold the day from either side.
  for (const int begun : {year - 1, year, year + 1})
    if (window_in(*window, begun, shift).holds(day)) return stage_bit(PlantPart::flower);
  return stage_bit(day < window_in(*window, year, shift).from ? PlantPart::bud : PlantPart::capsule);
}

Stages stages_between(const FlowerWindow& window, Day from, Day until, int year, int shift) {
  Stages stages = 0;
  for (Day day = from; day <= until; ++day) stages |= stage_on(window, day, year, shift);
  return stages;
}

bool always_seen(const Character& character, Stages stages) {
  Stages shows = 0;
  for (const PlantPart part : character.seen) shows |= stage_bit(part);
  return (shows & stage_bit(PlantPart::leaves)) != 0 || (stages & ~shows) == 0;
}

std::uint64_t written_states(const Character& character, const CardCandidate& candidate) {
  if (!candidate.traits) return 0;
  const auto shown = candidate.traits->find(character.name);
  if (shown == candidate.traits->end()) return 0;
  std::uint64_t states = 0;
  for (std::size_t i = 0; i < character.states.size(); ++i)
    if (std::find(shown->second.begin(), shown->second.end(), character.states[i].name) !=
        shown->second.end())
      states |= std::uint64_t{1} << i;
  return states;
}

int effort_of(Ease ease) { return ease == Ease::lens ? 4 : ease == Ease::close_look ? 2 : 1; }

std::string called(const CardPlant& plant) { return plant.code.empty() ? plant.name : plant.code; }

std::string character_words(const Character& character) {
  std::string words = character.name;
  std::replace(words.begin(), words.end(), '_', ' ');
  return words;
}

}  // namespace swardline
