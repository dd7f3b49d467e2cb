// Observed densities with limits beside a rule's response, as full-width rows. Private to this folder.
#pragma once

#include <string>
#include <utility>
#include <vector>

namespace swardline {

/// A range or class: where it lies along the row, what was seen, what the rule says.
struct ChartPart {
  std::string label;
  double from = 0, to = 1;  ///< along the axis; of classes 0–1, 1–2, …
  double seen = 0;          ///< stems per hectare
  bool limited = false;     ///< there are limits
  double low = 0, high = 0;
  int plots = 0, occupied = 0;
  double response = 0;  ///< of a class; NaN where the line of `response` says it
  double upper = 0;     ///< upper quantile of densities
};

struct FactorChart {
  std::string id;           ///< a plain word, one of its kind on the page
  std::string title;        ///< what a reader who cannot see it is told
  std::string axis;         ///< "moisture, %"
  std::string upper_words;  ///< "one plot in ten is denser"
  bool classes = false;
  std::vector<ChartPart> parts;
  std::vector<std::pair<double, double>> response;  ///< value, 0–1; empty for classes and bands
  std::vector<std::pair<double, double>>
      upper;  ///< value, stems per hectare: the quantile line; may be empty
};

/// An SVG element; its styles are its own, so that it stands on any page.
[[nodiscard]] std::string svg_factor_chart(const FactorChart& chart);

}  // namespace swardline
