// The fewest characters that separate every pair of plants that any character separates.
//
// As a problem: exact weighted set cover (its decision form is among the 21 of Karp 1972), here in the form
// of a test collection (Moret & Shapiro 1985, "On minimizing a set of tests"); sources from memory.
// Private to this stage; knows nothing of seasons.
#pragma once

#include <cstddef>
#include <cstdint>
#include <utility>
#include <vector>

namespace swardline {

/// What can be seen of some plants: at most 64 characters with at most 64 states each.
///
/// A plant that may be met at several stages has a row for each, and the rest of this file and look_tree.hpp
/// means such a row where it says plant. Where a character cannot be looked at on a row, one of the `given`
/// characters, which can be looked at on all, must part that row from those it can be looked at on.
struct LookTable {
  std::vector<int> effort;                        ///< of a look at each character, above 0
  std::vector<std::vector<std::uint64_t>> shown;  ///< by row and character: states it may show; 0: unknown
  std::vector<double> weight;                     ///< by row; 0: has no say in the order
  std::vector<bool> likely;                       ///< by row; the others are only to be ruled out
  std::vector<std::size_t> plant = {};            ///< by row: whose it is; empty: each row is a plant
  std::vector<bool> stray = {};            ///< by row: met only where a stem is early or late; empty: none is
  std::vector<std::uint64_t> hidden = {};  ///< by row: characters that cannot be looked at on it; empty: none
  std::uint64_t given = 0;                 ///< characters that are looked at anyway: no part of a set

  [[nodiscard]] std::size_t plants() const { return shown.size(); }
  [[nodiscard]] std::size_t plant_of(std::size_t row) const { return plant.empty() ? row : plant[row]; }
  [[nodiscard]] bool hides(std::size_t row, std::size_t character) const {
    return !hidden.empty() && (hidden[row] >> character & 1U) != 0;
  }
  [[nodiscard]] std::size_t characters() const { return effort.size(); }
  /// Both have states, and none in common.
  [[nodiscard]] bool separates(std::size_t character, std::size_t a, std::size_t b) const {
    const std::uint64_t x = shown[a][character], y = shown[b][character];
    return x != 0 && y != 0 && (x & y) == 0;
  }
  /// The characters that separate the two.
  [[nodiscard]] std::uint64_t separating(std::size_t a, std::size_t b) const;
  /// The two must be told apart where they can be: of different plants, one of them likely, one expected.
  [[nodiscard]] bool matters(std::size_t a, std::size_t b) const {
    if (plant_of(a) == plant_of(b) || (!stray.empty() && stray[a] && stray[b])) return false;
    return likely[a] || likely[b];
  }
};

struct ShortestSet {
  std::uint64_t characters = 0;
  bool exact = true;  ///< false: the search met its limit, and a smaller set may exist
};

/// That separate every pair that matters and that no given character does: fewest characters, then least
/// summed effort, then earliest in the table (of two sets the one that has the first character they do not
/// share). `limit`: steps of the search, which forty plants of thirty characters stay far below.
[[nodiscard]] ShortestSet shortest_set(const LookTable& table, std::size_t limit = 20'000'000);

/// The same for pairs given as the characters that separate each; pairs that none does are passed over.
[[nodiscard]] ShortestSet shortest_hitting_set(std::vector<std::uint64_t> pairs,
                                               const std::vector<int>& effort,
                                               std::size_t limit = 20'000'000);

}  // namespace swardline
