// Identification cards to carry: the looks in their order, drawn as a small tree, in pocket size.
#pragma once

#include <string>
#include <vector>

#include "swardline/field/identification.hpp"

namespace swardline {

/// One card as XHTML: an `article` for each pocket card of 100 by 67 mm it takes ("2 of 2" goes on where the
/// first ends; type is 7 pt at least and never shrinks). Everything from outside is escaped. It needs
/// `card_style()` once in the page that shows it.
[[nodiscard]] std::string card_markup(const Card& card, const Season& season);

/// The rules of style for `card_markup`; every one begins with `.idcard`.
[[nodiscard]] std::string card_style();

/// A whole page that needs nothing but itself: eight cards to a sheet of A4 or US Letter, with marks to cut
/// along. `title` is text.
[[nodiscard]] std::string cards_page(const Season& season, const std::vector<Card>& cards,
                                     const std::string& title);

}  // namespace swardline
