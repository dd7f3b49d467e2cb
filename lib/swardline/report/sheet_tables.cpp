// The tables of a sheet: likely species, plots in walking order, the form.
#include <fmt/format.h>

#include <algorithm>
#include <numeric>

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

std::string plot_row_markup(const SheetPlot& at) {
  const PlotRow row = plot_row(at);
  std::string out = row_style(double(row.lines) * line + row_pad);
  for (std::size_t c = 0; c < row.cells.size(); ++c) {
    const char* name_of = c == go ? "go" : c == to_magnetic ? "m" : c >= metres && c <= along ? "n" : "";
    if (c == name)
      out += "<th scope=\"row\">" + lines_markup(row.cells[c]) + "</th>";
    else
      out += fmt::format("<td class=\"{}\">{}</td>", name_of, lines_markup(row.cells[c]));
  }
  out += "</tr>\n";
  if (!row.edge.empty())
    out += row_style(double(row.edge.size()) * line + row_pad) +
           fmt::format("<td></td><td class=\"edge\" colspan=\"{}\">{}</td></tr>\n",
                       std::size(plot_columns) - 1, lines_markup(row.edge));
  return out;
}

std::string boxes_begin(const Boxes& boxes) {
  return fmt::format("<div class=\"boxes\" style=\"grid-template-columns:repeat({},{:.2f}mm)\">",
                     boxes.in_line, boxes.width);
}

/// Heads of the boxes, in as many lines as there are lines of boxes.
std::string box_heads(const SheetVisit& visit) {
  const Boxes boxes = boxes_of(visit);
  std::string out = boxes_begin(boxes);
  for (const SheetSpecies& species : visit.species)
    out += "<b>" + apart(fitted(species.code, boxes.width - 2 * pad, strong)) + "</b>";
  return out + "<b>" + apart(fitted(visit.not_certain, boxes.width - 2 * pad, strong)) + "</b></div>";
}

std::string empty_boxes(const SheetVisit& visit) {
  const Boxes boxes = boxes_of(visit);
  std::string out = boxes_begin(boxes);
  for (std::size_t i = 0; i < boxes.number; ++i) out += "<i></i>";
  return out + "</div>";
}

std::string form_row_markup(const FormRow& row, const SheetVisit& visit) {
  std::string out = row_style(double(box_lines(visit)) * box_height);
  const std::string name_words = fitted(row.name, form_before[1].width - 2 * pad, strong);
  out += "<td class=\"go\">" + apart(row.go) + "</td>";
  const std::size_t before = std::size(form_before), after = std::size(form_after);
  if (row.hint.empty()) {
    out += "<th scope=\"row\">" + apart(name_words) + "</th>";
    for (std::size_t i = 2; i < before; ++i) out += "<td></td>";
  } else {
    out += fmt::format("<th scope=\"row\">{}</th><td class=\"hint\" colspan=\"{}\">{}</td>",
                       row.again ? std::string() : apart(name_words), before - 2, apart(row.hint));
  }
  out += "<td class=\"counts\">" + empty_boxes(visit) + "</td>";
  if (row.again)
    out += fmt::format("<td class=\"hint\" colspan=\"{}\"></td>", after + (boxes_of(visit).notes ? 1 : 0));
  else
    out += fmt::format("<td></td><td class=\"of\">of {:.1f}</td><td></td><td></td>{}", row.area_m2,
                       boxes_of(visit).notes ? "<td></td>" : "");
  return out + "</tr>\n";
}

}  // namespace

std::string species_markup(const SheetVisit& visit) {
  std::vector<double> widths;
  std::string out = "<table class=\"species\">\n";
  for (const Column& column : species_columns) widths.push_back(column.width);
  out += columns_markup(widths) + "<thead>" + row_style(heads_height);
  const std::size_t more = visit.species.size() - species_rows(visit).size();
  for (const Column& column : species_columns)
    out += head_cell(&column == &species_columns[1] && more > 0
                         ? fmt::format("likely here ({} more in the form)", more)
                         : column.head);
  out += "</tr></thead>\n<tbody>\n";
  for (const SpeciesRow& row : species_rows(visit)) {
    out += row_style(double(row.lines) * line + row_pad) + "<th scope=\"row\">" + lines_markup(row.cells[0]) +
           "</th>";
    for (std::size_t c = 1; c < row.cells.size(); ++c) out += "<td>" + lines_markup(row.cells[c]) + "</td>";
    out += "</tr>\n";
  }
  const std::string lines = fitted(
      "Not certain? Count it here, not under a guess. Photograph the flower side-on, sepals, a leaf pair, "
      "the "
      "whole plant, a pencil for scale.",
      page_width - species_columns[0].width - 2 * pad, text);
  out += row_style(line + row_pad) + "<th scope=\"row\">" +
         apart(fitted(visit.not_certain, species_columns[0].width - 2 * pad, strong)) +
         fmt::format("</th><td colspan=\"{}\">{}</td></tr>\n", std::size(species_columns) - 1, apart(lines));
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
  for (std::size_t i = sheet.begin; i < sheet.end; ++i) out += plot_row_markup(sheet.walk->plots[i]);
  return out + "</tbody>\n</table>\n";
}

std::string form_markup(const SiteSheet& sheet) {
  const SheetVisit& visit = *sheet.visit;
  const Boxes boxes = boxes_of(visit);
  std::vector<double> widths;
  for (const Column& column : form_before) widths.push_back(column.width);
  widths.push_back(box_rims + boxes.width * double(boxes.in_line));
  for (const Column& column : form_after) widths.push_back(column.width);
  if (boxes.notes) widths.push_back(page_width - std::accumulate(widths.begin(), widths.end(), 0.0));
  std::string out = "<table class=\"form\">\n" + columns_markup(widths) + "<thead>" +
                    row_style(double(box_lines(visit)) * heads_height);
  for (const Column& column : form_before) out += head_cell(column.head);
  out += "<th scope=\"col\" class=\"counts\">" + box_heads(visit) + "</th>";
  for (const Column& column : form_after) out += head_cell(column.head);
  if (boxes.notes) out += head_cell("notes");
  out += "</tr></thead>\n<tbody>\n";
  for (std::size_t i = sheet.begin; i < sheet.end; ++i)
    for (const FormRow& row : form_rows(sheet.walk->plots[i])) out += form_row_markup(row, visit);
  return out + "</tbody>\n</table>\n";
}

}  // namespace swardline::sheet
