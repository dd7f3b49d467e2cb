// Plots due by what became of them, a bar each site. Private to this folder.
#pragma once

#include <string>
#include <vector>

namespace swardline {

struct EffortBar {
  std::string label;
  int counted = 0, not_counted = 0, outstanding = 0;
};

struct EffortChart {
  std::string id, title, message;
  std::string unit;  ///< "plots"
  std::vector<EffortBar> bars;
};

/// An SVG element of the page's class `chart`: counted full, not counted hatched, nothing back open. Empty
/// for no bars.
[[nodiscard]] std::string svg_effort_chart(const EffortChart& chart);

}  // namespace swardline
