// What the checks of returns share. Private to this folder.
#pragma once

#include <cstdint>
#include <functional>
#include <span>
#include <string>
#include <string_view>
#include <unordered_set>
#include <vector>

#include "swardline/returns/plot_places.hpp"
#include "swardline/returns/return_flags.hpp"

namespace swardline::return_parts {

/// Rows of one plot on one day by one observer: what somebody wrote down while standing there.
struct Visit {
  std::int32_t plot = -1, observer = -1;
  Day date = no_day;
  std::uint32_t begin = 0, end = 0;  ///< into Material::order
  Fate fate = Fate::none;            ///< of the rows that name no species, else of the first that has one
};

/// The rows to look at, put together once. Rows that a correction left out are not among them.
struct Material {
  const Season& season;
  const Expected& expected;
  const Returns& returns;
  const CellText& cell;
  std::vector<std::uint32_t> order;  ///< rows with a plot, by plot, day and observer, then as received
  std::vector<Visit> visits;         ///< of `order`
  int year = 0;                      ///< of the season; 0: not known
  PlotPlaces places;

  [[nodiscard]] const ReturnRow& row(std::uint32_t index) const { return returns.rows[index]; }
  [[nodiscard]] std::span<const std::uint32_t> rows(const Visit& visit) const {
    return std::span(order).subspan(visit.begin, visit.end - visit.begin);
  }
  [[nodiscard]] const ExpectedPlot& plot(std::int32_t index) const {
    return expected.plots[static_cast<std::size_t>(index)];
  }
  [[nodiscard]] const Sheet& sheet(std::int32_t species) const {
    return season.sheets[static_cast<std::size_t>(species)];
  }
  [[nodiscard]] std::string text(std::uint32_t index, ReturnColumn column) const {
    return cell(row(index).at, column);
  }
  /// "row 14", with the file's name where there are several.
  [[nodiscard]] std::string place(std::uint32_t index) const;
};
[[nodiscard]] Material material_of(const Season& season, const Expected& expected, const Returns& returns,
                                   const CellText& cell);

/// A row's own status, or that of its visit where it has none.
[[nodiscard]] inline Fate fate_at(const ReturnRow& row, const Visit& visit) {
  return row.fate == Fate::none ? visit.fate : row.fate;
}
/// Something stands in the box, a count or what should be one.
[[nodiscard]] inline bool written(const ReturnRow& row) {
  return row.stems >= 0 || row.cannot_read(ReturnColumn::flowering_stems);
}
/// A count that estimates could use if nothing speaks against the row.
[[nodiscard]] inline bool has_count(const ReturnRow& row, const Visit& visit) {
  return row.stems >= 0 && row.species >= 0 && carries_counts(fate_at(row, visit));
}

/// What was found so far, and which checks have spoken of a row, so that one cause raises one flag.
class Findings {
 public:
  explicit Findings(const Returns& returns);
  struct Finding {
    int check;
    std::span<const std::uint32_t> rows;  ///< the first is the one to look at
    std::int32_t plot;
    ReturnColumn column;
    std::string value, reason, next_step;
    bool only_said = false;  ///< a NOTE, whatever the check is else
  };
  void add(Finding finding);
  /// A check has spoken of this row, not only by the way, and nobody has answered it.
  [[nodiscard]] bool open(std::uint32_t row, int check) const { return (open_[row] >> check & 1U) != 0; }
  [[nodiscard]] bool any_open(std::uint32_t row, std::initializer_list<int> checks) const {
    for (const int check : checks)
      if (open(row, check)) return true;
    return false;
  }
  [[nodiscard]] std::vector<ReturnFlag> take();

 private:
  [[nodiscard]] bool confirmed(const RowAt& at, ReturnColumn column) const;
  const Returns& returns_;
  std::vector<std::uint32_t> open_;
  std::unordered_set<std::uint64_t> confirmed_;  ///< row and column
  std::vector<ReturnFlag> flags_;
};

[[nodiscard]] double median(std::vector<double> values);  ///< the upper one of an even number

// In this order: later ones hold their tongue where earlier ones have spoken.
void check_names(const Material& material, Findings& findings);      // 1, 2, 26
void check_statuses(const Material& material, Findings& findings);   // 23
void check_dates(const Material& material, Findings& findings);      // 15, 16
void check_positions(const Material& material, Findings& findings);  // 3 to 7
void check_counts(const Material& material, Findings& findings);     // 8, 9, 10
void check_areas(const Material& material, Findings& findings);      // 11, 12, 13
void check_sheets(const Material& material, Findings& findings);     // 21, 22
void check_spares(const Material& material, Findings& findings);     // 24
void check_windows(const Material& material, Findings& findings);    // 14
void check_species(const Material& material, Findings& findings);    // 17, 18
void check_observers(const Material& material, Findings& findings);  // 19
void check_unusual(const Material& material, Findings& findings);    // 20
void check_habits(const Material& material, Findings& findings);     // 25
void check_photos(const Material& material, Findings& findings);     // 27

}  // namespace swardline::return_parts
