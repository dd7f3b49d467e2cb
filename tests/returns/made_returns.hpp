// Returns made by hand: a small season of one prairie and one bottomland, counted without a fault, in which
// each test plants its own. Invented.
#pragma once

#include <doctest/doctest.h>

#include <filesystem>
#include <map>
#include <string>
#include <tuple>
#include <vector>

#include "swardline/base/check_letter.hpp"
#include "swardline/returns/plot_places.hpp"
#include "swardline/returns/return_flags.hpp"
#include "swardline/season/days.hpp"

namespace swardline::testing {

class MadeReturns {
 public:
  Season season;
  Expected expected;
  Returns returns;
  std::map<std::tuple<RowAt, ReturnColumn>, std::string> cells;  ///< what stands there where a test says so

  MadeReturns() {
    season.plan.panels.given = true;
    season.plan.panels.year = 2027;
    season.sheets = {sheet("PCOB", "Penstemon cobaea", {4, 25}, {6, 5}),
                     sheet("PDIG", "Penstemon digitalis", {5, 15}, {6, 30}),
                     sheet("PTEN", "Penstemon tenuis", {4, 10}, {5, 31}),
                     sheet("PTUB", "Penstemon tubaeflorus", {5, 20}, {6, 25})};
    season.sheets[3].look_alikes.push_back({"PDIG", "throat swells suddenly", {}});
    expected.today = day_of(2027, 7, 15);
    expected.searched = {{"QPR", {1, 3}}, {"HDR", {1, 2}}};
    expected.site_names = {{"QPR", "Quill Prairie"}, {"HDR", "Hadrel Bottoms"}};
    expected.held_down = {"bedrock ALL"};
    for (int n = 1; n <= 12; ++n) add_plot("QPR", n, n, false, 38.004 + 0.0006 * n, -96.02);
    for (int n = 51; n <= 54; ++n) add_plot("QPR", n, n - 50, true, 38.004 + 0.0006 * (n - 50), -96.021);
    for (int n = 1; n <= 6; ++n) add_plot("HDR", n, n, false, 37.9 + 0.0006 * n, -95.98);
    for (std::size_t p = 0; p < expected.plots.size(); ++p) {
      expected.index.emplace(expected.plots[p].name, std::int32_t(p));
      expected.plots[p].percent = {60, 60, 60, 60};
      expected.plots[p].held_down = {-1, -1, -1, -1};
    }
    returns.files.push_back({"2027-07-01-a.csv", "a.csv", "0", "2027-07-01", 1});
    returns.rows.reserve(20000);
  }

  [[nodiscard]] static std::string name(const std::string& site, int n) {
    const std::string body = site + (n < 10 ? "0" : "") + std::to_string(n);
    return body + check_letter(body);
  }
  [[nodiscard]] std::int32_t plot(const std::string& wanted) const {
    for (std::size_t p = 0; p < expected.plots.size(); ++p)
      if (expected.plots[p].name == wanted) return std::int32_t(p);
    return -1;
  }
  [[nodiscard]] ExpectedPlot& plot_at(const std::string& wanted) {
    REQUIRE(plot(wanted) >= 0);
    return expected.plots[std::size_t(plot(wanted))];
  }
  [[nodiscard]] std::int32_t species(const std::string& code) const {
    for (std::size_t s = 0; s < season.sheets.size(); ++s)
      if (season.sheets[s].code == code) return std::int32_t(s);
    return -1;
  }

  /// A row as it came: names that are none stay in the cells. The reference holds until 20,000 rows.
  ReturnRow& row(const std::string& of_plot, const std::string& of_species, int stems, Day date,
                 const std::string& observer = "041", const std::string& sheet_id = "0401") {
    ReturnRow row;
    row.at = {file, std::uint32_t(returns.rows.size() + 2)};
    row.plot = plot(of_plot);
    row.species = species(of_species);
    row.observer = returns.texts.index_of(observer);
    row.sheet = returns.texts.index_of(sheet_id);
    row.date = date;
    row.stems = stems;
    if (row.plot < 0) cells[{row.at, ReturnColumn::plot}] = of_plot;
    if (row.species < 0) cells[{row.at, ReturnColumn::species}] = of_species;
    returns.rows.push_back(row);
    return returns.rows.back();
  }
  /// What could not be read stands in its cell.
  void unread(ReturnRow& row, ReturnColumn column, const std::string& text) {
    row.unread |= 1U << unsigned(column);
    write(row, column, text);
  }
  void write(const ReturnRow& row, ReturnColumn column, const std::string& text) {
    cells[{row.at, column}] = text;
  }
  /// A fix so many metres off its plot.
  void fix(ReturnRow& row, double east, double north, float accuracy = 4) const {
    const ExpectedPlot& at = expected.plots[std::size_t(row.plot)];
    const Offset degree = offset_between(at.lat, at.lon, at.lat + 0.001, at.lon + 0.001);
    row.lat = at.lat + north / degree.north * 0.001;
    row.lon = at.lon + east / degree.east * 0.001;
    row.fix_accuracy_m = accuracy;
  }
  /// Both plots of a species each, counted as they should be; varied, with zeros.
  void sound(const std::string& site = "QPR", const std::string& observer = "041",
             const std::string& sheet_id = "0401", Day date = day_of(2027, 5, 28)) {
    const std::vector<std::string> codes =
        site == "QPR" ? std::vector<std::string>{"PDIG", "PTUB"} : std::vector<std::string>{"PDIG", "PTEN"};
    int n = 0;
    for (const ExpectedPlot& plot : expected.plots)
      if (plot.site == site && !plot.spare)
        for (const std::string& code : codes)
          row(plot.name, code, ++n % 3 == 0 ? 0 : n * 7 % 23, date, observer, sheet_id);
  }
  ReturnRow& at(const std::string& of_plot, const std::string& code) {
    for (ReturnRow& row : returns.rows)
      if (row.plot == plot(of_plot) && row.species == species(code)) return row;
    FAIL("no such row");
    return returns.rows.front();
  }

  [[nodiscard]] std::vector<ReturnFlag> flags() const {
    return check_returns(season, expected, returns, [this](const RowAt& at, ReturnColumn column) {
      const auto found = cells.find({at, column});
      return found == cells.end() ? std::string() : found->second;
    });
  }
  void correct(const ReturnRow& row, ReturnColumn column, const std::string& old_text,
               const std::string& new_text) {
    returns.corrections.push_back({returns.files[row.at.file].file, row.at.row, word(column), old_text,
                                   new_text, "data lead", "2027-08-01", "asked", "sheet"});
  }
  std::uint32_t file = 0;  ///< that rows are added to

 private:
  static Sheet sheet(const std::string& code, const std::string& plant, DayOfYear from, DayOfYear until) {
    Sheet made;
    made.code = code;
    made.name = plant;
    made.window = {from, until};
    return made;
  }
  void add_plot(const std::string& site, int number, int order, bool spare, double lat, double lon) {
    ExpectedPlot plot;
    plot.name = name(site, number);
    plot.site = site;
    plot.stratum = site + "|score=50-75|v1";
    plot.order = order;
    plot.spare = spare;
    plot.lat = lat;
    plot.lon = lon;
    plot.plot_m2 = plot.inside_m2 = 20;
    plot.reach_m = 5.1;
    expected.plots.push_back(plot);
  }
};

/// The one flag there is, of a check; a test fails where there are others.
inline ReturnFlag only(const std::vector<ReturnFlag>& flags, int check) {
  for (const ReturnFlag& flag : flags)
    if (flag.check != check || flags.size() != 1) MESSAGE(flag.check << ": " << flag.reason);
  REQUIRE(flags.size() == 1);
  REQUIRE(flags.front().check == check);
  const ReturnFlag& flag = flags.front();
  CHECK(flag.severity == return_checks()[std::size_t(check) - 1].severity);
  CHECK_FALSE(flag.reason.empty());
  CHECK_FALSE(flag.next_step.empty());
  return flag;
}
inline std::vector<ReturnFlag> of_check(const std::vector<ReturnFlag>& flags, int check) {
  std::vector<ReturnFlag> found;
  for (const ReturnFlag& flag : flags)
    if (flag.check == check) found.push_back(flag);
  return found;
}
inline void none(const std::vector<ReturnFlag>& flags) {
  for (const ReturnFlag& flag : flags) MESSAGE(flag.check << ": " << flag.reason);
  CHECK(flags.empty());
}
inline bool says(const std::string& words, const char* part) {
  const bool found = words.find(part) != std::string::npos;
  if (!found) MESSAGE(words);
  return found;
}

}  // namespace swardline::testing
