// Millimetres of a site sheet; style sheet and arithmetic of loops both go by these. Private to this folder.
#pragma once

#include <string>
#include <vector>

#include "swardline/field/site_sheet.hpp"
#include "swardline/report/text_fit.hpp"

namespace swardline::sheet {

/// Letter less margins of 10 mm is 259.4 mm high, A4 190 mm wide; a little is left for printers' rounding.
inline constexpr double page_width = 189.5, page_height = 256;

inline constexpr Type text{7.5, false}, strong{7.5, true};
inline constexpr double line = 3.1;  ///< from one line of `text` to the next
inline constexpr double pad = 0.7;   ///< blank at a cell's left and right

inline constexpr double head_height = 13.4;
inline constexpr double map_width = 118, map_height = 81;
inline constexpr double side_width = page_width - map_width - 2;
inline constexpr double gap = 1.4;         ///< between parts
inline constexpr double row_pad = 0.9;     ///< above and below a table row's lines, together
inline constexpr double box_height = 5.7;  ///< a row of the form
inline constexpr double foot_height = 14;

/// A table's column.
struct Column {
  const char* head;
  double width;
};

/// The fixed columns of the plot table; what is left of the width is for likely species.
enum PlotColumn {
  go,
  name,
  metres,
  to_true,
  to_magnetic,
  along,
  degrees,
  minutes,
  grid,
  tape,
  inside,
  species
};
inline constexpr Column plot_columns[] = {{"go", 8},
                                          {"plot", 14},
                                          {"m", 9.4},
                                          {"T", 8.2},
                                          {"M", 8.4},
                                          {"lay M", 9.5},
                                          {"degrees, WGS84", 27.2},
                                          {"degrees and minutes", 34},
                                          {"USNG", 28.5},
                                          {"tape", 7.8},
                                          {"inside", 9.4},
                                          {"likely", 25.1}};

/// The species table.
inline constexpr Column species_columns[] = {
    {"code", 14}, {"likely here", 40}, {"in flower", 24}, {"one mark", 54}, {"rule out", 57.5}};

/// The form's columns before and after the boxes for species.
inline constexpr Column form_before[] = {{"go", 8}, {"plot", 14}, {"time", 11}, {"fix", 20.5}, {"± m", 9}};
inline constexpr Column form_after[] = {{"rosettes", 12.5}, {"area m²", 12}, {"status", 16}, {"photo", 9}};
inline constexpr double least_notes = 9.4;
inline constexpr double box_rims = 0.6;  ///< lines at both sides of the boxes
/// Of a box for a count: three figures by hand. Narrower ones take the place of notes where that saves a
/// line.
inline constexpr double count_width = 11, narrow_count_width = 9.5;

/// The boxes for species in the form, "not certain" among them.
struct Boxes {
  std::size_t number = 0, in_line = 0;
  double width = count_width;  ///< of one
  bool notes = true;           ///< the form has a column of notes
};
[[nodiscard]] Boxes boxes_of(const SheetVisit& visit);
/// Lines that the boxes of a visit take.
[[nodiscard]] std::size_t box_lines(const SheetVisit& visit);

/// Lines of cells, made ready: none is wider than its column.
struct PlotRow {
  std::vector<std::vector<std::string>> cells;  ///< by PlotColumn
  std::vector<std::string> edge;                ///< under the row, over its whole width
  std::size_t lines = 1;
  [[nodiscard]] double height() const {
    return double(lines) * line + row_pad + (edge.empty() ? 0 : double(edge.size()) * line + row_pad);
  }
};
[[nodiscard]] PlotRow plot_row(const SheetPlot& at);

struct SpeciesRow {
  std::vector<std::vector<std::string>> cells;
  std::size_t lines = 1;
};
[[nodiscard]] std::vector<SpeciesRow> species_rows(const SheetVisit& visit);

/// Rows of the form that a plot takes: one, one more where it has a count-twice zone, one for each frame of a
/// transect.
struct FormRow {
  std::string go, name, hint;
  double area_m2 = 0;
  bool again = false;  ///< the second box of a count-twice zone
};
[[nodiscard]] std::vector<FormRow> form_rows(const SheetPlot& at);

/// Of a plot on a page: its row in the table and its rows in the form.
[[nodiscard]] double plot_height(const SheetPlot& at, const SheetVisit& visit);
/// What is left for plots on a page.
[[nodiscard]] double room_for_plots(const SheetVisit& visit);

// The parts of a page, top to bottom.
[[nodiscard]] std::string head_markup(const SiteSheet& sheet, std::size_t page, std::size_t pages);
[[nodiscard]] std::string side_markup(const SiteSheet& sheet);
[[nodiscard]] std::vector<std::string> rule_lines(const SheetVisit& visit);
[[nodiscard]] std::string rules_markup(const SheetVisit& visit);
[[nodiscard]] std::string species_markup(const SheetVisit& visit);
[[nodiscard]] std::string plots_markup(const SiteSheet& sheet);
[[nodiscard]] std::string form_markup(const SiteSheet& sheet);
[[nodiscard]] std::string foot_markup(const SiteSheet& sheet);

/// Lines of text, each set apart from its neighbours' reading direction.
[[nodiscard]] std::string lines_markup(const std::vector<std::string>& lines);
[[nodiscard]] std::string apart(const std::string& text);  ///< escaped, in a `bdi`

[[nodiscard]] const char* style();

}  // namespace swardline::sheet
