#include "swardline/report/html_table.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/report/page.hpp"

namespace swardline {
namespace {

std::string row_of(const std::vector<std::string>& cells, const HtmlTable& table,
                   const std::string& id = {}) {
  if (cells.size() != table.columns.size()) throw Defect("a row does not fit its table: " + table.caption);
  std::string out = id.empty() ? "<tr>" : "<tr id=\"" + id + "\">";
  for (std::size_t i = 0; i < cells.size(); ++i) {
    const char* number = table.columns[i].number ? " class=\"number\"" : "";
    out += i == 0 ? fmt::format("<th scope=\"row\"{}>{}</th>", number, html_cell(cells[i]))
                  : fmt::format("<td{}>{}</td>", number, html_cell(cells[i]));
  }
  return out + "</tr>\n";
}

/// A note that two rows are missing takes as much room as the two.
std::size_t cut_on_paper(const HtmlTable& table) {
  constexpr std::size_t hardly_more = 2;
  const std::size_t shown = std::min(table.on_paper, most_rows_on_paper);
  return shown > 0 && table.rows.size() > shown + hardly_more ? shown : 0;
}

std::string class_of(const HtmlTable& table, std::size_t cut) {
  std::string names = table.sorts ? "sorts" : "";
  if (cut > 0) names += fmt::format("{}first-{}", names.empty() ? "" : " ", cut);
  return names.empty() ? names : " class=\"" + names + "\"";
}

}  // namespace

std::string html_table(const HtmlTable& table) {
  const std::size_t cut = cut_on_paper(table);
  std::string out = fmt::format(
      "<div class=\"wide\" role=\"region\" tabindex=\"0\" aria-label=\"{0}\">\n<table{1}>\n"
      "<caption>{0}</caption>\n<thead><tr>",
      xml_escape(table.caption), class_of(table, cut));
  for (const TableColumn& column : table.columns)
    out += fmt::format("<th scope=\"col\"{}>{}</th>", column.number ? " class=\"number\"" : "",
                       xml_escape(column.head));
  out += "</tr></thead>\n<tbody>\n";
  for (std::size_t i = 0; i < table.rows.size(); ++i)
    out += row_of(table.rows[i], table, i < table.row_ids.size() ? table.row_ids[i] : std::string());
  out += "</tbody>\n";
  if (!table.sums.empty()) out += "<tfoot>" + row_of(table.sums, table) + "</tfoot>\n";
  out += "</table>\n";
  if (cut > 0) out += on_paper_note(fmt::format("{} more rows", table.rows.size() - cut), table.rest_in);
  return out + "</div>\n";
}

// By place in the table, not by row: a reader who has sorted it gets the first of that order.
std::string on_paper_style() {
  std::string out =
      ".on-paper{display:none}\n@media print{\n.on-paper{display:block}.on-screen{display:none}\n";
  for (std::size_t n = 1; n <= most_rows_on_paper; ++n)
    out += fmt::format(".first-{} tbody tr:nth-child(n+{}){{display:none}}\n", n, n + 1);
  return out + "}\n";
}

std::string on_paper_note(const std::string& what, const std::string& file) {
  return fmt::format("<p class=\"on-paper\">{}: in the page on screen{}.</p>\n", xml_escape(what),
                     file.empty() ? "" : ", and in " + xml_escape(file));
}

std::string grouped_decimals(double value, int decimals) {
  if (!std::isfinite(value)) return "–";
  const std::string text = fmt::format("{:.{}f}", std::abs(value), decimals);
  const std::size_t point = std::min(text.find('.'), text.size());
  const std::string whole = grouped(std::stoll(text.substr(0, point)));
  const bool nothing = text.find_first_not_of("0.") == std::string::npos;
  return (value < 0 && !nothing ? "−" : "") + whole + text.substr(point);
}

std::string square_metres(std::int64_t mm2) {
  const std::int64_t hundredths = (mm2 + 5000) / 10000;
  return fmt::format("{}.{:02}", grouped(hundredths / 100), hundredths % 100);
}

std::string six_figures(double value) {
  if (!std::isfinite(value) || value <= 0) return value == 0 ? "0" : "–";
  const int decimals = std::clamp(5 - int(std::floor(std::log10(value))), 0, 20);
  return fmt::format("{:.{}f}", value, decimals);
}

std::string percent_text(double share, int decimals) {
  return fmt::format("{:.{}f} %", 100 * share, decimals);
}

}  // namespace swardline
