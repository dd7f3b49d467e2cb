// A page that needs nothing but itself: no network, no script, black and white on paper.
// Private to this folder; written as XML so that other programs can check it.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace swardline {

/// One part of a page under its own heading. `body` is markup; everything from outside is escaped in it.
struct PageSection {
  std::string id;  ///< a plain word, for links
  std::string title;
  std::string body;
};

struct PageHead {
  std::string title;         ///< as text
  std::string line;          ///< under the title, as text
  std::string notice = {};   ///< set apart under it, as text: who the page is for
  std::string style = {};    ///< rules beside the page's own
  std::string drawing = {};  ///< markup before the sections: patterns that several drawings share
  bool script = false;       ///< with `page_script` and a policy that lets nothing else run or load
};

/// The whole document, with a list of its sections after the title.
[[nodiscard]] std::string html_page(const PageHead& head, const std::vector<PageSection>& sections);

/// Text of a table's cell, escaped. Words no paper is wide enough for may be broken; others are not, though
/// the column be narrow.
[[nodiscard]] std::string html_cell(std::string_view text);
/// A paragraph of text.
[[nodiscard]] std::string html_paragraph(const std::string& text);
/// A bulleted list of texts; nothing for no items. `small`: for long lists of side notes, in two columns.
[[nodiscard]] std::string html_list(const std::vector<std::string>& items, bool small = false);
/// Names and what they stand for, both text.
struct Term {
  std::string name, meaning;
};
[[nodiscard]] std::string html_terms(const std::vector<Term>& terms);

}  // namespace swardline
