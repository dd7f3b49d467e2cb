// Two bars a line, told apart by fill and by their numbers, so that a photocopy still reads.
// Private to this folder.
#pragma once

#include <string>
#include <vector>

namespace swardline {

struct Bar {
  std::string label;
  double first = 0, second = 0;  ///< percent
};

struct BarChart {
  std::string id;     ///< a plain word, one of its kind on the page
  std::string title;  ///< what a reader who cannot see it is told
  std::string first, second;
  std::vector<Bar> bars;
};

/// An SVG element for a page; its styles are the page's.
[[nodiscard]] std::string svg_bar_chart(const BarChart& chart);

}  // namespace swardline
