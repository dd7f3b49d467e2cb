// Which plot a name that is none may have meant. Private to this folder.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <unordered_map>
#include <unordered_set>
#include <vector>

#include "swardline/returns/expected.hpp"

namespace swardline {

/// Names of plots, and those few edits away from a text. What stands after up to two characters have been
/// taken out of each name is kept by its hash, so that a look-up does not go through all names (symmetric
/// deletion: two words within two edits share a word made by taking out at most two characters of each).
class PlotNames {
 public:
  explicit PlotNames(const std::vector<ExpectedPlot>& plots);
  [[nodiscard]] std::int32_t find(std::string_view name) const;  ///< -1: none
  /// Plots whose names are at most two edits away, nearest first, then by name.
  struct Near {
    std::int32_t plot;
    std::size_t edits;
  };
  [[nodiscard]] std::vector<Near> near(std::string_view text) const;
  /// Plots whose names begin so, at most `most`.
  [[nodiscard]] std::vector<std::int32_t> beginning(std::string_view start, std::size_t most) const;

  /// A text in the form of our names: site, number, check letter. Empty `stem` where it is not, or where no
  /// plot of that site has such a name.
  struct Parts {
    std::string stem, number;
    char letter = 0;
    [[nodiscard]] std::string body() const { return stem + number; }
  };
  [[nodiscard]] Parts parts_of(std::string_view text) const;
  /// "QPR7", "qpr 07" -> "QPR07E" where there is such a plot; -1 otherwise.
  [[nodiscard]] std::int32_t completed(std::string_view text) const;
  [[nodiscard]] bool all_have_letters() const { return all_have_letters_; }

 private:
  const std::vector<ExpectedPlot>& plots_;
  std::unordered_map<std::string_view, std::int32_t> of_name_;
  std::unordered_set<std::string> stems_;
  bool all_have_letters_ = true;
  struct Shortened {
    std::uint64_t hash;
    std::int32_t plot;
    auto operator<=>(const Shortened&) const = default;
  };
  std::vector<Shortened> shortened_;  ///< sorted
};

}  // namespace swardline
