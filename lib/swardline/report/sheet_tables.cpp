// The tables of a sheet: likely species, plots in walking order, the form.
#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/text.hpp"
#include "swardline/report/sheet_layout.hpp"

namespace swardline::sheet {
namespace {

std::string columns_markup(const std::vector<double>& widths) {
  std::string out = "<colgroup>";
  for (const double width : widths) out += fmt::format("<col style=\"width:{:.2f}mm\"/>", width);
  return out + "</colgroup>\n";
}

std::string head_cell(const std::string& words) { return "<th scope=\"col\">" + xml_escape(words) + "</th>"; }

std::string row_style(double height) { return fmt::format("<tr style=\"height:{:.2f}mm\">", height); }

constexpr double heads_height = line + row_pad;

/// Words under a row, from the name on; a first word that says what they are in bold.
std::string under_row(const std::vector<std::string>& lines, double height) {
  std::vector<std::string> rest = lines;
  std::string head;
  for (const char* word : {"NO WAY", "WAY"})
    if (head.empty() && rest.front().starts_with(word)) head = word;
  rest.front().erase(0, head.size());
  return row_style(height) + fmt::format("<td></td><td class=\"edge under\" colspan=\"{}\">{}{}</td></tr>\n",
                                         std::size(plot_columns) - 1,
                                         head.empty() ? head : "<b>" + head + "</b>", lines_markup(rest));
}

std::string plot_row_markup(const SheetPlot& at, const SheetVisit& visit, bool first) {
  const PlotRow row = plot_row(at, visit, first);
  const double height = row.cells_height();
  std::string out = row_style(row.edge_beside ? height / 2 : height);
  for (std::size_t c = 0; c < row.cells.size(); ++c) {
    const char* name_of = c == go ? "go" : c == to_magnetic ? "m" : c >= metres && c <= along ? "n" : "";
    // Words about an edge stand under the cells from the name to the degrees.
    const char* rows = row.edge_beside && (c == go || c >= grid) ? " rowspan=\"2\"" : "";
    const char* over = row.edge_beside && c > go && c < grid ? " over" : "";
    const std::string lines = lines_markup(row.cells[c]);
    out += c == name ? fmt::format("<th scope=\"row\" class=\"{}\">{}</th>", over, lines)
                     : fmt::format("<td class=\"{}{}\"{}>{}</td>", name_of, over, rows, lines);
  }
  out += "</tr>\n";
  if (row.edge_beside)
    out += row_style(height / 2) + fmt::format("<td class=\"edge\" colspan=\"{}\">{}</td></tr>\n",
                                               std::size_t(grid) - 1, lines_markup(row.edge));
  if (!row.way.empty()) out += under_row(row.way, row.way_height());
  if (!row.edge.empty() && !row.edge_beside) out += under_row(row.edge, row.edge_height());
  return out;
}

std::string boxes_begin(const FormColumns& columns) {
  return fmt::format("<div class=\"boxes{}\" style=\"grid-template-columns:repeat({},{:.3f}mm)\">",
                     columns.lines > 1 ? " two" : "", columns.in_line, columns.count);
}

/// So that the last line of boxes is whole.
std::string box_fillers(const FormColumns& columns, const SheetVisit& visit) {
  std::string out;
  for (std::size_t i = visit.species.size() + 1; i < columns.lines * columns.in_line; ++i)
    out += "<i class=\"none\"></i>";
  return out;
}

/// In bold type where that finds room; no code is cut that plain type has room for.
std::string box_head(const std::string& code, const FormColumns& columns) {
  const double mm = columns.count - 2 * count_pad;
  const bool bold = text_mm(code, strong) <= mm;
  return (bold ? "<b>" : "<b class=\"plain\">") + apart(fitted(code, mm, bold ? strong : text)) + "</b>";
}

/// Heads of the boxes, in as many lines as there are lines of boxes.
std::string box_heads(const FormColumns& columns, const SheetVisit& visit) {
  std::string out = boxes_begin(columns);
  for (const SheetSpecies& one : visit.species) out += box_head(one.code, columns);
  return out + box_head(visit.not_certain, columns) + "</div>";
}

std::string empty_boxes(const FormColumns& columns, const SheetVisit& visit) {
  std::string out = boxes_begin(columns);
  for (std::size_t i = 0; i < visit.species.size() + 1; ++i) out += "<i></i>";
  return out + box_fillers(columns, visit) + "</div>";
}

std::string form_row_markup(const FormRow& row, const FormColumns& columns, const SheetVisit& visit) {
  std::string out = row_style(double(columns.lines) * box_height);
  const std::string name_words = fitted(row.name, columns.before[1] - 2 * pad, strong);
  out += "<td class=\"go\">" + apart(row.go) + "</td>";
  const std::size_t before = columns.before.size(), after = columns.after.size();
  if (row.hint.empty()) {
    out += "<th scope=\"row\">" + apart(name_words) + "</th>";
    for (std::size_t i = 2; i < before; ++i) out += "<td></td>";
  } else {
    double mm = -2 * pad;
    for (std::size_t i = 2; i < before; ++i) mm += columns.before[i];
    out += fmt::format("<th scope=\"row\">{}</th><td class=\"hint\" colspan=\"{}\">{}</td>",
                       row.again ? std::string() : apart(name_words), before - 2,
                       apart(fitted(row.hint, mm, text)));
  }
  out += "<td class=\"counts\">" + empty_boxes(columns, visit) + "</td>";
  if (row.again)
    out += fmt::format("<td class=\"hint\" colspan=\"{}\"></td>", after);
  else
    out += fmt::format("<td></td><td class=\"of\">of {:.1f}</td><td></td><td></td><td></td>", row.area_m2);
  return out + "</tr>\n";
}

}  // namespace

std::string species_markup(const SheetVisit& visit) {
  const SpeciesTable table = species_table(visit);
  std::string out =
      "<table class=\"species\">\n" + columns_markup(table.widths) + "<thead>" + row_style(heads_height);
  for (const char* head : species_heads) out += head_cell(head);
  out += "</tr></thead>\n<tbody>\n";
  for (const SpeciesRow& row : table.rows) {
    out += row_style(double(row.lines) * line + row_pad) + "<th scope=\"row\">" + lines_markup(row.cells[0]) +
           "</th>";
    for (std::size_t c = 1; c < row.cells.size(); ++c) out += "<td>" + lines_markup(row.cells[c]) + "</td>";
    out += "</tr>\n";
  }
  const std::size_t more = visit.species.size() - table.rows.size();
  const std::vector<std::string> lines =
      wrapped((more > 0 ? fmt::format("{} more are in the form. ", more) : std::string()) +
                  "Not certain? Count it here, not under a guess. Photos: flower side-on, sepals, leaf pair, "
                  "whole plant, pencil for scale.",
              page_width - table.widths[code] - 2 * pad, text, 1);
  out += row_style(heads_height) + "<th scope=\"row\">" +
         apart(fitted(visit.not_certain, table.widths[code] - 2 * pad, strong)) +
         fmt::format("</th><td colspan=\"{}\">{}</td></tr>\n", std::size(species_heads) - 1,
                     lines_markup(lines));
  return out + "</tbody>\n</table>\n";
}

std::string plots_markup(const SiteSheet& sheet) {
  std::vector<double> widths;
  for (const Column& column : plot_columns) widths.push_back(column.width);
  std::string out =
      "<table class=\"plots\">\n" + columns_markup(widths) + "<thead>" + row_style(heads_height);
  const bool magnetic = !sheet.visit->declination.empty();
  for (std::size_t c = 0; c < std::size(plot_columns); ++c)
    out += head_cell(c == along && !magnetic ? "lay T" : plot_columns[c].head);
  out += "</tr></thead>\n<tbody>\n";
  for (std::size_t i = sheet.begin; i < sheet.end; ++i)
    out += plot_row_markup(sheet.walk->plots[i], *sheet.visit, i == sheet.begin);
  return out + "</tbody>\n</table>\n";
}

std::string form_markup(const SiteSheet& sheet) {
  const SheetVisit& visit = *sheet.visit;
  const FormColumns columns = form_columns(visit);
  std::vector<double> widths = columns.before;
  widths.push_back(columns.boxes());
  widths.insert(widths.end(), columns.after.begin(), columns.after.end());
  std::string out = "<table class=\"form\">\n" + columns_markup(widths) + "<thead>" +
                    row_style(double(columns.lines) * heads_height);
  for (const Column& column : form_before) out += head_cell(column.head);
  out += "<th scope=\"col\" class=\"counts\">" + box_heads(columns, visit) + "</th>";
  for (const Column& column : form_after) out += head_cell(column.head);
  out += "</tr></thead>\n<tbody>\n";
  for (std::size_t i = sheet.begin; i < sheet.end; ++i)
    for (const FormRow& row : form_rows(sheet.walk->plots[i])) out += form_row_markup(row, columns, visit);
  return out + "</tbody>\n</table>\n";
}

}  // namespace swardline::sheet
