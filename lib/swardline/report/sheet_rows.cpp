// Rows of a sheet's tables, cut into lines that fit, and how high they are.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/geo/magnetic.hpp"
#include "swardline/report/sheet_layout.hpp"

namespace swardline::sheet {
namespace {

constexpr std::size_t most_edge_lines = 12;  ///< of a transect's steps; more would leave no room for its form
constexpr std::size_t most_species = 5;

double fixed_width() {
  double width = box_rims;
  for (const Column& column : form_before) width += column.width;
  for (const Column& column : form_after) width += column.width;
  return width;
}

std::string bearing_or_dash(const std::optional<double>& bearing) {
  return bearing && !std::isnan(*bearing) ? bearing_text(*bearing) : std::string("-");
}

std::string metres_words(const SheetPlot& at) {
  if (std::isnan(at.metres_from_last)) return "-";
  return fmt::format("{:.{}f}{}", at.metres_from_last, at.metres_from_last < 999.95 ? 1 : 0,
                     at.way_round ? "*" : "");
}

std::string order_words(const SheetPlot& at) {
  return fmt::format("{}{}", at.order, at.plot->spare ? " S" : "");
}

/// Codes in lines, never cut within one.
std::vector<std::string> codes_in_lines(const std::vector<std::string>& codes, double mm) {
  std::string all;
  for (const std::string& code : codes) all += (all.empty() ? "" : " ") + code;
  return wrapped(all, mm, text, 3);
}

}  // namespace

Boxes boxes_of(const SheetVisit& visit) {
  Boxes boxes;
  boxes.number = visit.species.size() + 1;
  const double room = page_width - fixed_width();
  const auto wide = std::size_t((room - least_notes) / count_width + 1e-9);
  const auto narrow = std::size_t(room / narrow_count_width + 1e-9);
  if (boxes.number > wide && boxes.number <= narrow) {
    boxes.notes = false;
    boxes.in_line = boxes.number;
    boxes.width = room / double(boxes.number);
  } else {
    boxes.in_line = std::min(boxes.number, wide);
  }
  return boxes;
}

std::size_t box_lines(const SheetVisit& visit) {
  const Boxes boxes = boxes_of(visit);
  return (boxes.number + boxes.in_line - 1) / boxes.in_line;
}

PlotRow plot_row(const SheetPlot& at) {
  PlotRow row;
  row.cells.resize(std::size(plot_columns));
  const auto room = [](PlotColumn column) { return plot_columns[column].width - 2 * pad; };
  const auto put = [&](PlotColumn column, const std::string& words, Type type = text) {
    row.cells[column] = {fitted(words, room(column), type)};
  };
  put(go, order_words(at), strong);
  put(name, at.plot->name, strong);
  put(metres, metres_words(at));
  put(to_true, bearing_or_dash(at.bearing_to));
  put(to_magnetic, bearing_or_dash(at.magnetic_to), strong);
  put(along, bearing_or_dash(at.magnetic_along));
  put(degrees, at.degrees);
  put(minutes, at.minutes);
  for (const std::string& square : at.usng) row.cells[grid].push_back(fitted(square, room(grid), text));
  put(tape, fmt::format("{:.1f}", at.tape_m));
  put(inside, fmt::format("{:.1f}", at.inside_m2));
  row.cells[species] = codes_in_lines(at.likely, room(species));
  for (const auto& cell : row.cells) row.lines = std::max(row.lines, cell.size());
  if (!at.edge.empty()) {
    const std::string words = at.transect != nullptr ? at.edge
                              : at.plot->segment()   ? at.edge
                                                     : "EDGE " + at.edge;
    row.edge = wrapped(words, page_width - plot_columns[go].width - 2 * pad, text, most_edge_lines);
  }
  return row;
}

std::vector<SpeciesRow> species_rows(const SheetVisit& visit) {
  std::vector<SpeciesRow> rows;
  for (const SheetSpecies& species : visit.species) {
    if (rows.size() == most_species) break;
    SpeciesRow row;
    row.cells = {{fitted(species.code, species_columns[0].width - 2 * pad, strong)},
                 wrapped(species.name, species_columns[1].width - 2 * pad, text, 2),
                 {fitted(species.window, species_columns[2].width - 2 * pad, text)},
                 wrapped(species.mark, species_columns[3].width - 2 * pad, text, 2),
                 wrapped(species.rule_out, species_columns[4].width - 2 * pad, text, 2)};
    for (const auto& cell : row.cells) row.lines = std::max(row.lines, cell.size());
    rows.push_back(std::move(row));
  }
  return rows;
}

std::vector<FormRow> form_rows(const SheetPlot& at) {
  std::vector<FormRow> rows;
  const std::string order = order_words(at);
  if (at.transect != nullptr && !at.transect->stations.empty()) {
    for (const TransectStation& station : at.transect->stations)
      rows.push_back({rows.empty() ? order : "", at.plot->name,
                      fmt::format("frame {} at {:.1f} m", station.number, station.tape_m),
                      std::floor(station.inside_m2 * 10 + 1e-6) / 10, false});
    return rows;
  }
  rows.push_back({order, at.plot->name, {}, at.inside_m2, false});
  if (at.plot->twice_m2 > 0) rows.push_back({"", at.plot->name, "count-twice zone: count it again", 0, true});
  return rows;
}

double plot_height(const SheetPlot& at, const SheetVisit& visit) {
  return plot_row(at).height() + double(form_rows(at).size() * box_lines(visit)) * box_height;
}

double room_for_plots(const SheetVisit& visit) {
  double taken = head_height + map_height + foot_height + 5 * gap;
  taken += double(rule_lines(visit).size()) * line;
  taken += line + row_pad;  // heads of the species table
  for (const SpeciesRow& row : species_rows(visit)) taken += double(row.lines) * line + row_pad;
  taken += line + row_pad;                                      // what to do where nobody is certain
  taken += line + row_pad;                                      // heads of the plot table
  taken += double(box_lines(visit)) * (line + row_pad) + line;  // heads of the form, words of status
  return page_height - taken;
}

}  // namespace swardline::sheet
