// Tables of a page, and numbers as they stand in them. Private to this folder.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace swardline {

struct TableColumn {
  std::string head;
  bool number = false;  ///< set to the right, so that digits stand under digits
};

/// All of it text. The first cell of a row is its heading.
struct HtmlTable {
  std::string caption;
  std::vector<TableColumn> columns;
  std::vector<std::vector<std::string>> rows;
  std::vector<std::string> sums;          ///< a last row; none where empty
  bool sorts = false;                     ///< by any column, where the page has its script
  std::vector<std::string> row_ids = {};  ///< plain words beside `rows`, for links and records; or none
  /// Rows that paper shows, the first ones as the table stands; 0: all, up to `most_rows_on_paper`. Where
  /// hardly more are left out than this says, none are.
  std::size_t on_paper = 0;
  std::string rest_in = {};  ///< where paper says the others are: "out/estimates.csv"
};

[[nodiscard]] std::string html_table(const HtmlTable& table);

/// Rows of a table that is cut on paper, at most.
constexpr std::size_t most_rows_on_paper = 24;
/// Rules for a page with such tables: what is of class `on-paper` shows on paper alone, what is of class
/// `on-screen` on the screen alone.
[[nodiscard]] std::string on_paper_style();
/// A paragraph that only paper shows: "<what>: in the page on screen, and in <file>."
[[nodiscard]] std::string on_paper_note(const std::string& what, const std::string& file = {});

/// "34,512.25" at two decimals.
[[nodiscard]] std::string grouped_decimals(double value, int decimals);
/// Square metres with two decimals, rounded from whole square millimetres without a binary fraction between.
[[nodiscard]] std::string square_metres(std::int64_t mm2);
/// Six significant figures without an exponent: "0.000347702".
[[nodiscard]] std::string six_figures(double value);
/// "4.3 %" of a share.
[[nodiscard]] std::string percent_text(double share, int decimals = 1);

}  // namespace swardline
