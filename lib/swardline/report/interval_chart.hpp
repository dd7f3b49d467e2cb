// Estimates with their limits, a row each. Private to this folder.
#pragma once

#include <optional>
#include <string>
#include <vector>

namespace swardline {

struct IntervalMark {
  double value = 0;
  std::optional<double> low, high;
  bool none = false;  ///< nothing found: only `high` means anything
};

struct IntervalRow {
  std::string label;
  std::string words;   ///< beside it: "1,367 (650–2,860)"
  bool whole = false;  ///< of all sites: set apart
  std::optional<IntervalMark> first, second;
};

struct IntervalChart {
  std::string id;       ///< a plain word, one of its kind on the page
  std::string title;    ///< what a reader who cannot see it is told first
  std::string message;  ///< and then: the figure in a sentence
  std::string axis;
  std::string first = {}, second = {};  ///< what the marks are; empty: not in the legend
  bool signs = false;                   ///< values may be below zero: a line at zero
  std::vector<IntervalRow> rows;
};

/// An SVG element; its class is the page's `chart`. The axis is logarithmic where all values are above zero
/// and reach over more than a factor of thirty. Empty for no rows.
[[nodiscard]] std::string svg_interval_chart(const IntervalChart& chart);

}  // namespace swardline
