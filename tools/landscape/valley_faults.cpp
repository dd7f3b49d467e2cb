// The twelve faults that the demo's returns come back with, each planted once.
#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <iterator>
#include <set>

#include "swardline/base/error.hpp"
#include "valley_returns.hpp"

namespace swardline::landscape {
namespace {

std::string& cell(FormRow& row, const char* column) { return row[form_column(column)]; }

class Faults {
 public:
  Faults(const DrawnSeason& season, ValleyReturns& returns, int year)
      : season_(season), returns_(returns), year_(year) {}

  std::vector<std::string> plant() {
    unknown_plot();
    swapped_axes();
    not_a_count();
    blank_count();
    spreadsheet();
    small_area();
    mown_with_a_count();
    sheet_twice();
    late_species();
    beyond_the_edge();
    spare_out_of_order();
    out_of_place();
    return std::move(said_);
  }

 private:
  using Test = std::function<bool(FormRow&)>;

  std::vector<FormRow>& rows_of(const std::string& site) {
    for (TeamReturn& team : returns_.teams)
      for (FormRow& row : team.rows)
        if (cell(row, "plot").starts_with(site)) return team.rows;
    throw Defect("nobody returned anything of " + site + ".");
  }

  /// The rows of the first visit of the site's plots that no fault has touched and of which one passes.
  std::vector<FormRow*> visit_at(const std::string& site, const Test& passes) {
    std::vector<FormRow>& rows = rows_of(site);
    for (FormRow& row : rows) {
      const std::string plot = cell(row, "plot"), date = cell(row, "visit_date");
      if (!plot.starts_with(site) || touched_.contains(plot) || !passes(row)) continue;
      touched_.insert(plot);
      std::vector<FormRow*> visit;
      for (FormRow& other : rows)
        if (cell(other, "plot") == plot && cell(other, "visit_date") == date) visit.push_back(&other);
      return visit;
    }
    throw Defect("no visit at " + site + " to plant a fault in.");
  }
  FormRow& row_at(const std::string& site, const Test& passes) {
    for (FormRow* row : visit_at(site, passes))
      if (passes(*row)) return *row;
    throw Defect("no row at " + site + " to plant a fault in.");
  }

  static bool was_counted(FormRow& row) { return cell(row, "status") == "counted"; }
  static bool found_some(FormRow& row) { return was_counted(row) && cell(row, "flowering_stems").size() > 1; }
  const DrawnPlot& plot(const std::string& name) const {
    const auto found = std::find_if(season_.plots.begin(), season_.plots.end(),
                                    [&](const DrawnPlot& p) { return p.name == name; });
    if (found == season_.plots.end()) throw Defect("no plot " + name + ".");
    return *found;
  }
  void say(int number, FormRow& row, const std::string& what) {
    said_.push_back(fmt::format("{}: {} {}", number, cell(row, "plot"), what));
  }

  void unknown_plot() {
    const std::vector<FormRow*> visit = visit_at("QPR", was_counted);
    say(1, *visit.front(), "written as QPR7");
    for (FormRow* row : visit) cell(*row, "plot") = "QPR7";
  }
  void swapped_axes() {
    const std::vector<FormRow*> visit = visit_at("ANL", was_counted);
    say(6, *visit.front(), "with latitude and longitude swapped");
    for (FormRow* row : visit) std::swap(cell(*row, "lat"), cell(*row, "lon"));
  }
  void not_a_count() {
    FormRow& row = row_at("QPR", found_some);
    say(10, row, "with ~100 stems");
    cell(row, "flowering_stems") = "~100";
  }
  void blank_count() {
    FormRow& row = row_at("ANL", was_counted);
    say(8, row, "with an empty box");
    cell(row, "flowering_stems").clear();
    cell(row, "twice_stems").clear();
    cell(row, "phase").clear();
  }
  void spreadsheet() {
    const std::vector<FormRow*> visit = visit_at("SKP", was_counted);
    say(26, *visit.front(), "written as 5-Mar");
    for (FormRow* row : visit) cell(*row, "plot") = "5-Mar";
  }
  void small_area() {
    const std::vector<FormRow*> visit =
        visit_at("SKP", [](FormRow& row) { return cell(row, "area_searched_m2") == "20.0"; });
    say(11, *visit.front(), "with 2 m² searched of 20");
    for (FormRow* row : visit) cell(*row, "area_searched_m2") = "2.0";
  }
  void mown_with_a_count() {
    FormRow& row = row_at("PEL", [](FormRow& r) { return cell(r, "status") == "not countable (mown)"; });
    say(23, row, "mown, with a count of 0");
    cell(row, "species") = "PDIG";
    cell(row, "flowering_stems") = "0";
  }
  /// The team with a spreadsheet keyed its last sheet at CND from paper and from the telephone.
  void sheet_twice() {
    std::vector<FormRow>& rows = rows_of("CND");
    const auto last = std::find_if(rows.rbegin(), rows.rend(),
                                   [](FormRow& row) { return cell(row, "plot").starts_with("CND"); });
    const std::string sheet = cell(*last, "sheet_id");
    std::vector<FormRow> again;
    std::copy_if(rows.begin(), rows.end(), std::back_inserter(again),
                 [&](FormRow& row) { return cell(row, "sheet_id") == sheet; });
    for (FormRow& row : again) {
      cell(row, "sheet_id") = sheet + "-b";
      touched_.insert(cell(row, "plot"));
    }
    said_.push_back(fmt::format("21: sheet {} keyed again as {}-b", sheet, sheet));
    rows.insert(rows.end(), again.begin(), again.end());
  }
  void late_species() {
    const std::vector<FormRow*> visit =
        visit_at("ANL", [](FormRow& row) { return was_counted(row) && cell(row, "species") == "PTEN"; });
    for (FormRow* row : visit)
      if (cell(*row, "species") == "PTEN") {
        say(14, *row, "with PTEN on 24 June");
        cell(*row, "visit_date") = fmt::format("{}-06-24", year_);
      }
  }
  void beyond_the_edge() {
    const std::vector<FormRow*> visit = visit_at(
        "FLG", [&](FormRow& row) { return was_counted(row) && plot(cell(row, "plot")).inside_m2 < 18; });
    say(12, *visit.front(), "with 20 m² searched where less lies inside");
    for (FormRow* row : visit) cell(*row, "area_searched_m2") = "20.0";
  }
  /// The second spare of a stratum in place of the first: its rows bear the other's name.
  void spare_out_of_order() {
    for (const DrawnPlot& skipped : season_.plots) {
      if (!skipped.spare || skipped.site != "HDR") continue;
      std::vector<FormRow*> used;
      for (FormRow& row : rows_of("HDR"))
        if (cell(row, "plot") == skipped.name) used.push_back(&row);
      if (used.empty()) continue;
      const auto next = std::find_if(season_.plots.begin(), season_.plots.end(), [&](const DrawnPlot& p) {
        return p.spare && p.stratum == skipped.stratum && p.order > skipped.order && !in_use(p.name);
      });
      if (next == season_.plots.end() || next->inside_m2 != skipped.inside_m2) continue;
      said_.push_back(fmt::format("24: {} used before {}", next->name, skipped.name));
      for (FormRow* row : used) {
        cell(*row, "plot") = next->name;
        cell(*row, "lat") = fmt::format("{:.5f}", next->lat);
        cell(*row, "lon") = fmt::format("{:.5f}", next->lon);
      }
      return;
    }
    throw Defect("no spare at HDR to use out of order.");
  }
  void out_of_place() {
    std::vector<FormRow>& rows = rows_of("HDR");
    const auto at = std::find_if(rows.begin(), rows.end(), [&](FormRow& row) {
      return was_counted(row) && !touched_.contains(cell(row, "plot")) && !plot(cell(row, "plot")).spare;
    });
    if (at == rows.end()) throw Defect("no row at HDR to plant a fault in.");
    FormRow row = *at;
    cell(row, "species") = "PCOB";
    cell(row, "certainty") = "sure";
    cell(row, "flowering_stems") = "3";
    cell(row, "phase") = "flower";
    say(17, row, "with PCOB in silt");
    rows.insert(at + 1, row);
  }
  bool in_use(const std::string& name) {
    const auto& rows = rows_of(name.substr(0, 3));
    return std::any_of(rows.begin(), rows.end(),
                       [&](const FormRow& row) { return row[form_column("plot")] == name; });
  }

  const DrawnSeason& season_;
  ValleyReturns& returns_;
  int year_;
  std::set<std::string> touched_;
  std::vector<std::string> said_;
};

}  // namespace

std::vector<std::string> plant_faults(const DrawnSeason& season, ValleyReturns& returns, int year) {
  return Faults(season, returns, year).plant();
}

}  // namespace swardline::landscape
