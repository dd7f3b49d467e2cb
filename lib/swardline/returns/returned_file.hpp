// One file of the season's returns: its table, which of the form's columns stand where, and what corrections
// lie on top. Private to returns.
#pragma once

#include <array>
#include <filesystem>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/returns/returns.hpp"
#include "swardline/returns/table.hpp"
#include "swardline/season/plan.hpp"

namespace swardline {

/// Headings of the plan's [returns.columns] and the form's own. Throws InputError for a column the form does
/// not have.
class ColumnMap {
 public:
  explicit ColumnMap(const Plan& plan);
  [[nodiscard]] std::optional<ReturnColumn> column(const std::string& heading) const;
  /// Headings of the map that were met by no call of `column` so far, as the plan has them.
  [[nodiscard]] std::vector<std::string> not_met() const;
  [[nodiscard]] const Place& place() const { return place_; }

 private:
  struct Entry {
    std::string heading;
    ReturnColumn column;
  };
  std::unordered_map<std::string, Entry> by_heading_;  ///< in small letters
  mutable std::unordered_map<std::string, bool> met_;
  Place place_;
};

class ReturnedFile {
 public:
  /// Reads and checks a file: one heading for a column, and what a return needs: plot, visit_date, and
  /// species with flowering_stems, or status, or lat with lon. Notes on headings that are not the form's.
  ReturnedFile(const std::filesystem::path& file, const std::string& name, const ColumnMap& columns,
               Flags& flags);

  [[nodiscard]] const Table& table() const { return table_; }
  [[nodiscard]] bool has(ReturnColumn column) const { return at(column) >= 0; }
  /// A table of fixes alone: no counts and no status, so that it tells of no visit by itself.
  [[nodiscard]] bool fixes_only() const;
  /// A row's cell of a column; empty where there is none.
  [[nodiscard]] std::string_view cell(const RowCells& row, ReturnColumn column) const;
  [[nodiscard]] std::string original(std::uint32_t row, ReturnColumn column) const;

  using Overlay = std::vector<std::pair<ReturnColumn, std::string>>;
  /// What corrections put in place of a row's cells; nullptr: nothing.
  [[nodiscard]] const Overlay* overlay(std::uint32_t row) const;
  [[nodiscard]] bool left_out(std::uint32_t row) const;
  [[nodiscard]] std::string text(std::uint32_t row, ReturnColumn column) const;  ///< as corrected
  void correct(std::uint32_t row, ReturnColumn column, std::string text);
  void leave_out(std::uint32_t row, bool out);

 private:
  ReturnedFile(TableRead read, const ColumnMap& columns, Flags& flags);
  void map_columns(const ColumnMap& columns, bool short_names, Flags& flags);
  void check_needed() const;
  [[nodiscard]] int at(ReturnColumn column) const { return where_[static_cast<std::size_t>(column)]; }

  Table table_;
  std::array<int, return_columns> where_{};  ///< index of the heading; -1: none
  std::unordered_map<std::uint32_t, Overlay> corrected_;
  std::unordered_map<std::uint32_t, bool> left_out_;
};

}  // namespace swardline
