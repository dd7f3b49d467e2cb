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

constexpr double least_marks = 36;  ///< of the columns "tell it by" and "rule out", each

std::string bearing_or_dash(const std::optional<double>& bearing) {
  return bearing && !std::isnan(*bearing) ? bearing_text(*bearing) : std::string("-");
}

std::string rounded_metres(double metres) { return fmt::format("{:.{}f}", metres, metres < 999.95 ? 1 : 0); }

std::string metres_words(const SheetPlot& at, const SheetLeg& leg) {
  const char* mark = !at.beyond.empty() ? "!" : !leg.stages.empty() ? "*" : "";
  if (std::isnan(leg.metres) || !leg.open) return fmt::format("-{}", mark);
  return rounded_metres(leg.metres) + mark;
}

/// "M 118.0 27 m to \u00D7; 210.3 88 m"
std::string stages_words(const SheetLeg& leg) {
  std::string words;
  for (const SheetStage& stage : leg.stages)
    words += fmt::format("{}{} {} m{}", words.empty() ? (stage.magnetic ? "M " : "T ") : "; ",
                         bearing_text(stage.magnetic.value_or(stage.bearing)), rounded_metres(stage.metres),
                         stage.to_crossing ? " to \u00D7" : "");
  return words;
}

constexpr std::size_t most_way_lines = 2;

/// How a way that bends goes, or that there is none.
std::vector<std::string> way_lines(const SheetPlot& at, const SheetLeg& leg) {
  // Its head is bold.
  const double mm = page_width - plot_columns[go].width - 2 * pad - 1;
  constexpr double most_between = 75;  // a long name must not push out what to do
  const std::string between =
      fitted(leg.open || at.beyond.empty() ? leg.past : at.beyond, most_between, text);
  if (!leg.open)
    return wrapped(fmt::format("NO WAY: {} lies between, no crossing is known. Do not go over it; go on only "
                               "when the coordinator has named a way. ! is beyond.",
                               between),
                   mm, text, most_way_lines);
  if (leg.stages.empty()) return {};
  // Nobody is led by numbers over ground that nobody has asked about.
  if (leg.outside)
    return wrapped(
        fmt::format("WAY leaves the site, past {}: not before the coordinator says that you may ({} "
                    "m, dotted on the map).",
                    between, rounded_metres(leg.metres)),
        mm, text, most_way_lines);
  // A fence may be walked along, a cliff may not.
  const bool keep_off = leg.past.find("keep out") != std::string::npos;
  const std::string head = fmt::format("WAY past {}{}: ", between, keep_off ? ", well off its edge" : "");
  std::vector<std::string> lines = wrapped(head + stages_words(leg), mm, text, most_way_lines + 1);
  if (lines.size() <= most_way_lines) return lines;
  return wrapped(fmt::format("{}{} m in {} parts: follow the line on the map.", head,
                             rounded_metres(leg.metres), leg.stages.size()),
                 mm, text, most_way_lines);
}

std::string order_words(const SheetPlot& at) {
  return fmt::format("{}{}", at.order, !at.plot->spare ? "" : at.order < 100 ? " S" : "S");
}

/// Codes in lines, never cut within one. Where two lines do not hold them, those of the visit that are
/// missing.
std::vector<std::string> likely_lines(const SheetPlot& at, const SheetVisit& visit, double mm) {
  std::vector<std::string> lines = wrapped(fmt::format("{}", fmt::join(at.likely, " ")), mm, text, 3);
  if (lines.size() < 3) return lines;
  std::string missing;
  for (const SheetSpecies& one : visit.species)
    if (std::find(at.likely.begin(), at.likely.end(), one.code) == at.likely.end()) missing += " " + one.code;
  const std::vector<std::string> but =
      wrapped(missing.empty() ? "all in the form" : "all but" + missing, mm, text, 3);
  return but.size() < lines.size() ? but : lines;
}

/// Whether one line of words has room beside the second grid reference, under the cells left of it.
bool fits_beside(const PlotRow& row, const std::string& words) {
  double mm = -2 * pad;
  for (std::size_t c = name; c < grid; ++c) mm += plot_columns[c].width;
  return row.lines == 2 && row.cells[grid].size() == 2 && text_mm(words, text) <= mm;
}

/// The name, or where it finds no room what stands before a common name.
std::string latin_name(const SheetSpecies& species) {
  return species.name.substr(0, species.name.find(", "));
}

double widest(const std::vector<SheetSpecies>& all, Type type, auto&& words) {
  double mm = 0;
  for (std::size_t i = 0; i < std::min(all.size(), most_species); ++i)
    mm = std::max(mm, text_mm(words(all[i]), type));
  return mm;
}

std::vector<SpeciesRow> rows_within(const SheetVisit& visit, const std::vector<double>& widths, bool common) {
  std::vector<SpeciesRow> rows;
  for (const SheetSpecies& species : visit.species) {
    if (rows.size() == most_species) break;
    const auto room = [&](SpeciesColumn column) { return widths[column] - 2 * pad; };
    SpeciesRow row;
    row.cells = {{fitted(species.code, room(code), strong)},
                 {fitted(common ? species.name : latin_name(species), room(latin), text)},
                 {fitted(species.window, room(flowering), text)},
                 wrapped(species.mark, room(one_mark), text, 2),
                 wrapped(species.rule_out, room(rule_out), text, 2)};
    for (const auto& cell : row.cells) row.lines = std::max(row.lines, cell.size());
    rows.push_back(std::move(row));
  }
  return rows;
}

}  // namespace

FormColumns form_columns(const SheetVisit& visit) {
  FormColumns columns;
  double left = form_width - box_rims;
  for (const Column& column : form_before) columns.before.push_back(column.width);
  for (const Column& column : form_after) columns.after.push_back(column.width);
  for (const double width : columns.before) left -= width;
  for (const double width : columns.after) left -= width;
  const std::size_t boxes = visit.species.size() + 1, most = std::size_t(left / least_count + 1e-9);
  columns.lines = (boxes + most - 1) / most;
  columns.in_line = (boxes + columns.lines - 1) / columns.lines;
  double wanted = text_mm(visit.not_certain, strong);
  for (const SheetSpecies& species : visit.species) wanted = std::max(wanted, text_mm(species.code, strong));
  columns.count = std::min(std::clamp(wanted + 2 * count_pad + 0.2, least_count, widest_count),
                           left / double(columns.in_line));
  left = std::max(0.0, left - columns.count * double(columns.in_line));
  const double fix = std::min(6.0, left / 3), status = std::min(6.0, left / 3);
  columns.before[3] += fix;
  columns.after[2] += status;
  columns.after.back() += left - fix - status;
  return columns;
}

PlotRow plot_row(const SheetPlot& at, const SheetVisit& visit, bool first) {
  const SheetLeg& leg = first ? at.from_start : at.leg;
  const bool straight = leg.open && leg.stages.empty();
  PlotRow row;
  row.cells.resize(std::size(plot_columns));
  const auto room = [](PlotColumn column) { return plot_columns[column].width - 2 * pad; };
  const auto put = [&](PlotColumn column, const std::string& words, Type type = text) {
    row.cells[column] = {fitted(words, room(column), type)};
  };
  put(go, order_words(at), strong);
  put(name, at.plot->name, strong);
  put(metres, metres_words(at, leg));
  // Along a verge metres follow the line: a bearing would lead off it, or over the road.
  const bool by_line = at.plot->segment() && !std::isnan(leg.metres);
  put(to_true, straight && !by_line ? bearing_or_dash(leg.bearing) : std::string("-"));
  put(to_magnetic,
      by_line    ? "line"
      : straight ? bearing_or_dash(leg.magnetic)
      : leg.open ? "way"
                 : "-",
      strong);
  row.way = way_lines(at, leg);
  put(along, bearing_or_dash(at.magnetic_along));
  put(degrees, at.degrees);
  put(minutes, at.minutes);
  for (const std::string& square : at.usng) row.cells[grid].push_back(fitted(square, room(grid), text));
  put(tape, fmt::format("{:.1f}", at.tape_m));
  if (at.ground_tape_m) row.cells[tape].push_back(fmt::format("{:.1f}", *at.ground_tape_m));
  put(inside, fmt::format("{:.1f}", at.inside_m2));
  row.cells[species] = likely_lines(at, visit, room(species));
  for (const auto& cell : row.cells) row.lines = std::max(row.lines, cell.size());
  if (!at.edge.empty()) {
    const std::string words = at.transect != nullptr ? at.edge
                              : at.plot->segment()   ? at.edge
                                                     : "EDGE " + at.edge;
    row.edge = wrapped(words, page_width - plot_columns[go].width - 2 * pad, text, most_edge_lines);
    row.edge_beside = fits_beside(row, words);
  }
  return row;
}

double SpeciesTable::height() const {
  double mm = 0;
  for (const SpeciesRow& row : rows) mm += double(row.lines) * line + row_pad;
  return mm;
}

SpeciesTable species_table(const SheetVisit& visit) {
  constexpr double widest_name = 34, widest_code = 16, widest_window = 26;
  const auto column = [](double mm, double least, double most) {
    return std::clamp(mm + 2 * pad + 0.2, least, most);
  };
  const auto name_mm = widest(visit.species, text, [](const SheetSpecies& one) { return one.name; });
  const bool common = name_mm + 2 * pad <= widest_name;
  SpeciesTable table;
  table.widths = {
      column(std::max(widest(visit.species, strong, [](const SheetSpecies& one) { return one.code; }),
                      text_mm(visit.not_certain, strong)),
             10, widest_code),
      column(common ? name_mm : widest(visit.species, text, latin_name), 18, widest_name),
      column(widest(visit.species, text, [](const SheetSpecies& one) { return one.window; }), 15,
             widest_window),
      0, 0};
  const double left = page_width - table.widths[code] - table.widths[latin] - table.widths[flowering];
  double least = 1e9;
  // From the middle outwards, so that of splits as good the most even one stands.
  for (double off = 0; left / 2 - off >= least_marks; off += 2)
    for (const double mark : {left / 2 - off, left / 2 + off}) {
      SpeciesTable tried = table;
      tried.widths[one_mark] = mark;
      tried.widths[rule_out] = left - mark;
      tried.rows = rows_within(visit, tried.widths, common);
      double cost = tried.height();
      for (const SpeciesRow& row : tried.rows)
        for (const auto& cell : row.cells) cost += cell.size() > 1 && cell.back().ends_with("\u2026") ? 1 : 0;
      if (cost >= least - 1e-9) continue;
      least = cost;
      table = tried;
    }
  return table;
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

double plot_height(const SheetPlot& at, const SheetVisit& visit, bool first) {
  return plot_row(at, visit, first).height() +
         double(form_rows(at).size() * form_columns(visit).lines) * box_height;
}

double room_for_plots(const SheetVisit& visit) {
  double taken = head_height + map_height + foot_height + 5 * gap;
  taken += double(rule_lines(visit).size()) * line;
  if (const std::size_t lines = lines_below_map(visit).size()) taken += double(lines) * line + gap;
  taken += line + row_pad;  // heads of the species table
  taken += species_table(visit).height();
  taken += line + row_pad;                                               // what to do where nobody is certain
  taken += line + row_pad;                                               // heads of the plot table
  taken += double(form_columns(visit).lines) * (line + row_pad) + line;  // heads of the form, words of status
  return page_height - taken;
}

}  // namespace swardline::sheet
