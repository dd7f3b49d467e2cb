// How much room text takes on a pocket card, and what goes on which. Private to this folder.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace swardline {

inline constexpr double card_width_mm = 100, card_height_mm = 67;
inline constexpr double card_column_mm = 46, card_body_mm = 51;  ///< two columns, between head and foot
inline constexpr double card_line_mm = 2.92;                     ///< 7.5 pt type

/// Width of a text in 7.5 pt sans-serif, rather too wide than too narrow.
[[nodiscard]] double text_width_mm(std::string_view text);
/// Lines it takes in a column of that width, broken at blanks, and within words where they are wider.
[[nodiscard]] int text_lines(std::string_view text, double width_mm);

/// No more than `most` characters, "…" where some are left out.
[[nodiscard]] std::string shortened(std::string_view text, std::size_t most);

/// Something that is not parted, and what stands together where a column has room for it.
struct CardAtom {
  std::string markup;
  double mm = 0;
};
using CardBlock = std::vector<CardAtom>;

/// The markup of each pocket card's columns, left and right.
struct CardColumns {
  std::string left, right;
};
[[nodiscard]] std::vector<CardColumns> fill_cards(const std::vector<CardBlock>& blocks);

}  // namespace swardline
