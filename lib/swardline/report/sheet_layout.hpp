// Millimetres of a site sheet; style sheet and arithmetic of loops both go by these. Private to this folder.
#pragma once

#include <string>
#include <vector>

#include "swardline/field/site_sheet.hpp"
#include "swardline/report/text_fit.hpp"

namespace swardline::sheet {

/// Letter less margins of 10 mm is 259.4 mm high, A4 190 mm wide; a little is left for printers' rounding.
inline constexpr double page_width = 189.5, page_height = 257.5;

inline constexpr Type text{7.5, false}, strong{7.5, true};
inline constexpr double line = 3.1;   ///< from one line of `text` to the next
inline constexpr double tight = 2.9;  ///< the same within a row of the plot table
inline constexpr double pad = 0.5;    ///< blank at a cell's left and right

inline constexpr double head_height = 13;
inline constexpr double map_width = 94, map_height = 61.9;
inline constexpr double side_width = page_width - map_width - 2;
inline constexpr double gap = 1;           ///< between parts
inline constexpr double row_pad = 0.7;     ///< above and below a table row's lines, together
inline constexpr double tight_pad = 0.4;   ///< the same where a row of the plot table has several lines
inline constexpr double box_height = 5.2;  ///< a row of the form, its line among it: 5 mm to write in
inline constexpr double form_width = page_width - 0.4;  ///< its outer lines stand half beyond it
inline constexpr double form_line = 0.2;                ///< between rows and columns of the form
inline constexpr double foot_height = 13.6;

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
inline constexpr Column plot_columns[] = {{"go", 7.6},
                                          {"plot", 14},
                                          {"m", 8.8},
                                          {"T", 7.8},
                                          {"M", 8},
                                          {"lay M", 8.4},
                                          {"degrees, WGS84", 26.8},
                                          {"degrees and minutes", 33.2},
                                          {"USNG", 28},
                                          {"tape", 7.8},
                                          {"inside", 9.4},
                                          {"likely", 29.7}};

/// The species table.
enum SpeciesColumn { code, latin, flowering, one_mark, rule_out };
inline constexpr const char* species_heads[] = {"code", "likely here", "in flower", "tell it by", "rule out"};

/// The form's columns before and after the boxes for species, each no narrower than this; what boxes leave
/// goes to the fix, the status and the notes.
inline constexpr Column form_before[] = {{"go", 7.6}, {"plot", 14}, {"time", 10}, {"fix", 18}, {"± m", 7}};
inline constexpr Column form_after[] = {
    {"rosettes", 12}, {"area m²", 12}, {"status", 13}, {"photo", 8.6}, {"notes", 9}};
inline constexpr double box_rims = 0.6;  ///< lines at both sides of the boxes
/// A box for a count of three figures; for the species' code above it up to the widest.
inline constexpr double least_count = 8, widest_count = 11;
inline constexpr double count_pad = 0.2;  ///< blank beside the code above a box

/// The form's columns in millimetres; boxes stand in as few lines as can be, as many in each.
struct FormColumns {
  std::vector<double> before, after;
  double count = least_count;  ///< one box
  std::size_t in_line = 1;     ///< boxes beside one another, "not certain" among them
  std::size_t lines = 1;       ///< of boxes
  [[nodiscard]] double boxes() const { return box_rims + count * double(in_line); }
};
[[nodiscard]] FormColumns form_columns(const SheetVisit& visit);

/// Lines of cells, made ready: none is wider than its column.
struct PlotRow {
  std::vector<std::vector<std::string>> cells;  ///< by PlotColumn
  std::vector<std::string> way;                 ///< under the row: a way that bends, or that there is none
  std::vector<std::string> edge;                ///< under the row, over its whole width
  std::size_t lines = 1;
  bool edge_beside = false;  ///< the one line of `edge` stands beside the second grid reference
  [[nodiscard]] double cells_height() const {
    return lines > 1 ? double(lines) * tight + tight_pad : line + row_pad;
  }
  [[nodiscard]] double edge_height() const {
    return edge.empty() || edge_beside ? 0 : double(edge.size()) * line + row_pad;
  }
  [[nodiscard]] double way_height() const { return way.empty() ? 0 : double(way.size()) * line + row_pad; }
  [[nodiscard]] double height() const { return cells_height() + way_height() + edge_height(); }
};
/// `first`: of a loop, where its way comes from the start.
[[nodiscard]] PlotRow plot_row(const SheetPlot& at, const SheetVisit& visit, bool first);

struct SpeciesRow {
  std::vector<std::vector<std::string>> cells;
  std::size_t lines = 1;
};
struct SpeciesTable {
  std::vector<double> widths;  ///< by SpeciesColumn
  std::vector<SpeciesRow> rows;
  [[nodiscard]] double height() const;  ///< of the rows
};
/// With the columns that take the fewest lines.
[[nodiscard]] SpeciesTable species_table(const SheetVisit& visit);

/// Rows of the form that a plot takes: one, one more where it has a count-twice zone, one for each frame of a
/// transect.
struct FormRow {
  std::string go, name, hint;
  double area_m2 = 0;
  bool again = false;  ///< the second box of a count-twice zone
};
[[nodiscard]] std::vector<FormRow> form_rows(const SheetPlot& at);

/// Of a plot on a page: its row in the table and its rows in the form.
[[nodiscard]] double plot_height(const SheetPlot& at, const SheetVisit& visit, bool first);
/// What is left for plots on a page.
[[nodiscard]] double room_for_plots(const SheetVisit& visit);

// The parts of a page, top to bottom.
[[nodiscard]] std::string head_markup(const SiteSheet& sheet, std::size_t page, std::size_t pages);
[[nodiscard]] std::string side_markup(const SiteSheet& sheet);
/// Cautions that the side has no room for, in lines over the whole width; none where it has.
[[nodiscard]] std::vector<std::string> lines_below_map(const SheetVisit& visit);
[[nodiscard]] std::string below_markup(const SheetVisit& visit);
[[nodiscard]] std::vector<std::string> rule_lines(const SheetVisit& visit);
[[nodiscard]] std::string rules_markup(const SheetVisit& visit);
[[nodiscard]] std::string species_markup(const SheetVisit& visit);
[[nodiscard]] std::string plots_markup(const SiteSheet& sheet);
[[nodiscard]] std::string form_markup(const SiteSheet& sheet);
[[nodiscard]] std::string foot_markup(const SiteSheet& sheet);

/// Lines of text, each set apart from its neighbours' reading direction.
[[nodiscard]] std::string lines_markup(const std::vector<std::string>& lines);
[[nodiscard]] std::string apart(
    const std::string& text);  ///< escaped; in a `bdi` where its direction may differ

[[nodiscard]] const char* style();

}  // namespace swardline::sheet
