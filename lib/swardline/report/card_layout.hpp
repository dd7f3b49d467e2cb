// How much room text takes on a pocket card, and what goes on which. Private to this folder.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "swardline/report/text_fit.hpp"

namespace swardline {

inline constexpr double card_width_mm = 100, card_height_mm = 67;
inline constexpr double card_text_mm = 95;    ///< between the margins
inline constexpr double card_column_mm = 46;  ///< of two

/// Type of a card's body: as large as its words leave room for.
inline constexpr double smallest_card_points = 7.5, largest_card_points = 10.5, card_points_step = 0.25;
/// From line to line.
[[nodiscard]] constexpr double card_line_mm(double points) { return points * mm_per_point * 1.1; }

/// Width of a text in sans-serif type, rather too wide than too narrow.
[[nodiscard]] double text_width_mm(std::string_view text, Type type);
/// Lines it takes in a column of that width, broken at blanks, and within words where they are wider.
[[nodiscard]] int text_lines(std::string_view text, double width_mm, Type type);

/// No more than `most` characters, "…" where some are left out.
[[nodiscard]] std::string shortened(std::string_view text, std::size_t most);

/// Something that is not parted.
struct CardAtom {
  std::string markup;
  double mm = 0;
};
/// What stands together where a column has room for it.
struct CardBlock {
  std::vector<CardAtom> atoms;
  bool anywhere = false;  ///< may fill up a column before that of the block before it
};

struct CardColumns {
  std::string left, right;
};
/// The markup of each pocket card's columns, left and right, `column_mm` high. Blocks stand in their order;
/// with `fill_up` those that may stand anywhere come last and fill up what the others leave.
[[nodiscard]] std::vector<CardColumns> fill_cards(const std::vector<CardBlock>& blocks, double column_mm,
                                                  bool fill_up);

/// Beside `card_style()`, of the page of cards.
[[nodiscard]] std::string cards_page_style();

}  // namespace swardline
