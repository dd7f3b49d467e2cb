// What sheets and other plants are said to show, held against the characters.
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "swardline/base/text.hpp"
#include "swardline/season/days.hpp"
#include "swardline/season/read_traits.hpp"

namespace swardline {
namespace {

using ShownStates = std::map<std::string, std::vector<std::string>>;

struct TraitNames {
  std::vector<std::string> characters;
  std::map<std::string, std::vector<std::string>> plain;  ///< names that are no character, by who has them
  std::set<std::string> used;
  Place first_plain;
};

void check_states(const std::string& who, const Character& character, const std::vector<std::string>& shown,
                  const Place& place, Flags& flags) {
  std::vector<std::string> known;
  for (const CharacterState& state : character.states) known.push_back(state.name);
  std::set<std::string> seen;
  for (const std::string& state : shown) {
    if (!seen.insert(state).second)
      flags.add(Severity::ask, "named twice", place,
                fmt::format("{}: {} names the state {} twice.", who, character.name, state), "Name it once.");
    if (std::find(known.begin(), known.end(), state) != known.end()) continue;
    const std::string nearest = nearest_word(state, known);
    flags.add(Severity::stop, "unknown state", place,
              fmt::format("{}: {} has no state '{}'.", who, character.name, state),
              nearest.empty() ? fmt::format("Its states are {}.", in_words(known))
                              : fmt::format("Did you mean {}? Its states are {}.", nearest, in_words(known)));
  }
}

void check_shown(const Season& season, const std::string& who, const ShownStates& shown, const Place& place,
                 TraitNames& names, Flags& flags) {
  for (const auto& [name, states] : shown) {
    names.used.insert(name);
    const auto& characters = season.traits.characters;
    const auto at = std::find_if(characters.begin(), characters.end(),
                                 [&trait = name](const Character& each) { return each.name == trait; });
    if (at != characters.end()) {
      check_states(who, *at, states, place, flags);
      continue;
    }
    const std::string nearest = nearest_word(name, names.characters);
    if (nearest.empty()) {
      if (names.plain.empty()) names.first_plain = place;
      names.plain[name].push_back(who);
    } else {
      flags.add(
          Severity::ask, "no character", place,
          fmt::format("{}: trait {} is no character: shown as words, not used to tell apart.", who, name),
          fmt::format("Did you mean {}?", nearest));
    }
  }
}

void check_plant(const Season& season, const OtherPlant& plant, Flags& flags) {
  for (const Sheet& sheet : season.sheets) {
    if (lower_ascii(sheet.name) != lower_ascii(plant.name) && sheet.code != plant.name) continue;
    flags.add(Severity::ask, "plant with a sheet", plant.place,
              fmt::format("{} is a species of this season, in {}.", plant.name, sheet.file),
              "Write its states in the sheet, and take it out here.");
  }
  const auto names_it = [&](const Sheet& sheet) {
    return std::any_of(sheet.look_alikes.begin(), sheet.look_alikes.end(),
                       [&](const LookAlike& each) { return each.of == plant.name; });
  };
  if (std::none_of(season.sheets.begin(), season.sheets.end(), names_it))
    flags.add(Severity::note, "nobody's look-alike", plant.place,
              fmt::format("no sheet names {} as a look-alike: it is on no card.", plant.name),
              fmt::format("Add a [[look_alike]] of = \"{}\" to the sheets of species it is taken for.",
                          plant.name));
}

/// A slip in a plant's name would leave it off the cards.
void check_plants_named(const Season& season, Flags& flags) {
  std::vector<std::string> plants;
  for (const OtherPlant& plant : season.traits.plants) plants.push_back(plant.name);
  for (const Sheet& sheet : season.sheets) {
    for (const LookAlike& each : sheet.look_alikes) {
      if (std::find(plants.begin(), plants.end(), each.of) != plants.end()) continue;
      const bool a_code = std::any_of(season.sheets.begin(), season.sheets.end(),
                                      [&](const Sheet& other) { return other.code == each.of; });
      const std::string nearest = a_code ? std::string() : nearest_word(each.of, plants);
      if (nearest.empty()) continue;
      flags.add(Severity::ask, "look-alike without characters", each.place,
                fmt::format("{}: look-alike {} has no [[plant]] of that name.", sheet.code, each.of),
                fmt::format("Did you mean {}?", nearest));
    }
  }
}

}  // namespace

void check_traits(const Season& season, Flags& flags) {
  if (season.plan.traits.empty()) return;
  TraitNames names;
  for (const Character& each : season.traits.characters) names.characters.push_back(each.name);
  for (const Sheet& sheet : season.sheets)
    check_shown(season, sheet.code.empty() ? sheet.file : sheet.code, sheet.traits, sheet.place, names,
                flags);
  for (const OtherPlant& plant : season.traits.plants) {
    check_shown(season, plant.name, plant.traits, plant.place, names, flags);
    check_plant(season, plant, flags);
  }
  check_plants_named(season, flags);
  for (const Character& each : season.traits.characters)
    if (!names.used.contains(each.name))
      flags.add(Severity::note, "character nobody has", each.place,
                fmt::format("[character.{}] no species or plant has a state of it.", each.name),
                "Write it in the sheets' [traits], or take it out.");
  if (names.plain.empty()) return;
  std::vector<std::string> said;
  for (const auto& [name, who] : names.plain) said.push_back(fmt::format("{} ({})", name, some_of(who, 3)));
  flags.add(Severity::note, "no character", names.first_plain,
            fmt::format("traits that are no characters: {}. Shown as words, not used to tell apart.",
                        in_words(said)),
            "To use one, add it to the file of characters.");
}

}  // namespace swardline
