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
};

[[nodiscard]] std::string html_table(const HtmlTable& table);

/// "34,512.25" at two decimals.
[[nodiscard]] std::string grouped_decimals(double value, int decimals);
/// Square metres with two decimals, rounded from whole square millimetres without a binary fraction between.
[[nodiscard]] std::string square_metres(std::int64_t mm2);
/// Six significant figures without an exponent: "0.000347702".
[[nodiscard]] std::string six_figures(double value);
/// "4.3 %" of a share.
[[nodiscard]] std::string percent_text(double share, int decimals = 1);

}  // namespace swardline
