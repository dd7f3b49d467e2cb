// Characters by which plants are told apart, as read from traits.toml.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "swardline/base/place.hpp"
#include "swardline/season/sheet.hpp"

namespace swardline {

/// How hard a character is to see.
enum class Ease { at_a_glance, close_look, lens };
[[nodiscard]] const char* in_words(Ease ease);  ///< "at a glance", "close look", "lens"

/// What a plant must show for a character to be seen. `leaves` is there as long as the plant stands.
enum class PlantPart { leaves, bud, flower, capsule };

struct CharacterState {
  std::string name;   ///< as sheets write it: "swollen"
  std::string words;  ///< as a novice reads it: "swells suddenly, like a bag"
};

/// One thing to look at.
struct Character {
  std::string name;                    ///< as sheets write it: "throat"
  std::string look;                    ///< what to look at: "the throat of a flower, from the side"
  std::vector<CharacterState> states;  ///< at least two
  std::vector<PlantPart> seen;         ///< any of these will do
  Ease ease = Ease::at_a_glance;
  Place place;
};

/// A plant that is not counted but may be taken for one that is.
struct OtherPlant {
  std::string name, common;
  std::optional<std::pair<DayOfYear, DayOfYear>> window;   ///< in flower; none: whenever the species is
  std::vector<std::string> sites;                          ///< where it is known; empty: may be anywhere
  std::string warning;                                     ///< "poisonous: do not touch it"; may be empty
  std::map<std::string, std::vector<std::string>> traits;  ///< as Sheet::traits
  Place place;
};

struct Traits {
  std::vector<Character> characters;  ///< in the file's order
  std::vector<OtherPlant> plants;     ///< by name
};

}  // namespace swardline
