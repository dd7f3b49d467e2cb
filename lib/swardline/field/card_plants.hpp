// Which plants a card must tell apart, and what each shows on a day. Private to this stage.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "swardline/field/identification.hpp"

namespace swardline {

using FlowerWindow = std::optional<std::pair<DayOfYear, DayOfYear>>;

struct CardCandidate {
  CardPlant plant;
  const std::map<std::string, std::vector<std::string>>* traits =
      nullptr;  ///< of the season; null: not written
  FlowerWindow window;
};

/// Likely ones first, heaviest first; look-alikes after them, species before other plants.
[[nodiscard]] std::vector<CardCandidate> candidates_at(const Season& season, const SiteSpecies& site);
/// All of the season, equally likely.
[[nodiscard]] std::vector<CardCandidate> candidates_of(const Season& season);

/// Stages of PlantPart, one bit each.
using Stages = unsigned;
[[nodiscard]] constexpr Stages stage_bit(PlantPart part) { return 1U << unsigned(part); }
[[nodiscard]] Stages stage_on(const FlowerWindow& window, Day day, int year, int shift);
[[nodiscard]] Stages stages_between(const FlowerWindow& window, Day from, Day until, int year, int shift);
/// Whether a plant at any of these stages shows the character.
[[nodiscard]] bool always_seen(const Character& character, Stages stages);

/// States of the character the plant may show, one bit each, in the character's order; 0: not written.
[[nodiscard]] std::uint64_t written_states(const Character& character, const CardCandidate& candidate);

[[nodiscard]] int effort_of(Ease ease);  ///< 1, 2, 4

/// "PDIG", or the name of a plant that is no species of the season.
[[nodiscard]] std::string called(const CardPlant& plant);
/// "flower size" for flower_size.
[[nodiscard]] std::string character_words(const Character& character);

}  // namespace swardline
