// The mark and the look-alike to rule out for each likely species of a site.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <tuple>

#include "swardline/base/text.hpp"
#include "swardline/field/card_week.hpp"

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

/// Plants beside which a species must be known, in the days of a visit.
class MarkSearch {
 public:
  MarkSearch(const Season& season, const std::vector<CardCandidate>& there, const CardWeek& days, int year)
      : season_(season), there_(there) {
    for (const CardCandidate& each : there) stages_.push_back(stage_days(season, each, days, year).stages());
  }

  /// The character, or the two, and what they do not tell it from.
  [[nodiscard]] std::string mark_of(std::size_t self) const {
    struct Tried {
      std::vector<const Character*> characters;
      std::uint64_t told = 0;
    };
    std::vector<const Character*> seen;
    for (const Character& each : season_.traits.characters)
      if (always_seen(each, stages_[self]) && written_states(each, there_[self]) != 0) seen.push_back(&each);
    if (seen.empty()) return {};
    // Most told first, then fewer, then easier; of equals the first in the file.
    const auto key = [&](const Tried& tried) {
      int effort = 0;
      for (const Character* each : tried.characters) effort += effort_of(each->ease);
      return std::tuple(-weight_of(tried.told), tried.characters.size(), effort);
    };
    Tried best{{seen.front()}, told_by(self, *seen.front())};
    const auto weigh = [&](const Tried& tried) {
      const auto x = key(tried), y = key(best);
      constexpr double hair = 1e-12;  // sums in another order
      if (std::abs(std::get<0>(x) - std::get<0>(y)) > hair
              ? std::get<0>(x) < std::get<0>(y)
              : std::tie(std::get<1>(x), std::get<2>(x)) < std::tie(std::get<1>(y), std::get<2>(y)))
        best = tried;
    };
    for (std::size_t i = 0; i < seen.size(); ++i) weigh({{seen[i]}, told_by(self, *seen[i])});
    for (std::size_t i = 0; i < seen.size(); ++i)
      for (std::size_t k = i + 1; k < seen.size(); ++k)
        weigh({{seen[i], seen[k]}, told_by(self, *seen[i]) | told_by(self, *seen[k])});
    std::string words;
    for (const Character* each : best.characters)
      words += (words.empty() ? "" : "; ") + mark_words(*each, written_states(*each, there_[self]));
    return words + not_told_words(self, best.told);
  }

  /// " (fits PALU too)"; nothing where all are told.
  [[nodiscard]] std::string not_told_words(std::size_t self, std::uint64_t told) const {
    std::vector<std::string> left;
    for (std::size_t i = 0; i < there_.size(); ++i)
      if (counts_beside(self, i) && !(told >> i & 1U)) left.push_back(called(there_[i].plant));
    return left.empty() ? std::string() : fmt::format(" (fits {} too)", some_of(left, 3));
  }

  /// Told from the species by fewest characters, the likely ones and the heaviest first: how it differs.
  [[nodiscard]] std::string nearest_of(std::size_t self) const {
    std::size_t nearest = there_.size(), fewest = 0;
    for (std::size_t i = 0; i < there_.size(); ++i) {
      if (i == self || there_[i].plant.no_traits) continue;
      std::size_t number = 0;
      for (const Character& each : season_.traits.characters) number += differs(self, i, each) ? 1 : 0;
      if (nearest == there_.size() || number < fewest) nearest = i, fewest = number;
    }
    if (nearest == there_.size()) return "nothing alike is known here";
    const std::string name = called(there_[nearest].plant) + ": ";
    const Character* easiest = nullptr;
    for (const Character& each : season_.traits.characters)
      if (differs(self, nearest, each) && (!easiest || effort_of(each.ease) < effort_of(easiest->ease)))
        easiest = &each;
    if (easiest) return name + mark_words(*easiest, written_states(*easiest, there_[nearest]));
    if (!has_flower(nearest) && stages_[self] == stage_bit(PlantPart::flower))
      return name + "no flower is open on it then";
    return name + "nothing that can be seen then tells it";
  }

 private:
  [[nodiscard]] bool has_flower(std::size_t i) const {
    return (stages_[i] & stage_bit(PlantPart::flower)) != 0;
  }
  /// A look-alike of which nothing is written has its line under "rule out"; a species has not.
  [[nodiscard]] bool counts_beside(std::size_t self, std::size_t other) const {
    return other != self && (there_[other].plant.likely || !there_[other].plant.no_traits);
  }
  [[nodiscard]] bool shows(std::size_t plant, const Character& character) const {
    for (const PlantPart stage : {PlantPart::bud, PlantPart::flower, PlantPart::capsule})
      if ((stages_[plant] & stage_bit(stage)) && always_seen(character, stage_bit(stage))) return true;
    return false;
  }
  /// Both show it, and neither as the other does.
  [[nodiscard]] bool differs(std::size_t self, std::size_t other, const Character& character) const {
    const std::uint64_t own = written_states(character, there_[self]);
    const std::uint64_t theirs = written_states(character, there_[other]);
    return own != 0 && theirs != 0 && (own & theirs) == 0 && always_seen(character, stages_[self]) &&
           shows(other, character);
  }
  /// Of at most 64 plants, one bit each; those that stand after them are never told.
  [[nodiscard]] std::uint64_t told_by(std::size_t self, const Character& character) const {
    std::uint64_t told = 0;
    for (std::size_t i = 0; i < std::min<std::size_t>(there_.size(), 64); ++i)
      if (counts_beside(self, i) && (differs(self, i, character) || !shows(i, character)))
        told |= std::uint64_t{1} << i;
    return told;
  }
  [[nodiscard]] double weight_of(std::uint64_t told) const {
    double sum = 0;
    for (std::size_t i = 0; i < std::min<std::size_t>(there_.size(), 64); ++i)
      if (told >> i & 1U) sum += there_[i].plant.weight;
    return sum;
  }

  const Season& season_;
  const std::vector<CardCandidate>& there_;
  std::vector<Stages> stages_;  ///< by candidate
};

/// Of the sheet's look-alikes one that may be there; empty where none may.
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
  const std::vector<CardCandidate> there = candidates_at(season, site);
  const MarkSearch search(season, there, {visit.from, visit.until}, year);
  std::vector<SpeciesMark> marks;
  for (const LikelySpecies& each : site.likely) {
    const Sheet& sheet = season.sheets[each.sheet];
    SpeciesMark mark;
    mark.sheet = each.sheet;
    const auto self =
        std::size_t(std::find_if(there.begin(), there.end(),
                                 [&](const CardCandidate& other) { return other.traits == &sheet.traits; }) -
                    there.begin());
    mark.mark = search.mark_of(self);
    if (mark.mark.empty()) mark.mark = plain_trait(season, sheet);
    if (mark.mark.empty()) mark.mark = "no mark recorded for these days";
    mark.rule_out = look_alike_of(sheet, there);
    if (mark.rule_out.empty()) mark.rule_out = search.nearest_of(self);
    mark.window = "any day";
    if (sheet.window) {
      const DayWindow window = window_in(*sheet.window, year, season.plan.returns.shift_days);
      mark.window = short_date(window.from) + "-" + short_date(window.until);
    }
    marks.push_back(std::move(mark));
  }
  return marks;
}

}  // namespace swardline
