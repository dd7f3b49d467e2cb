#include "swardline/returns/returned_file.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/returns/cells.hpp"

namespace swardline {
namespace {

std::vector<std::string> form_columns() {
  std::vector<std::string> words;
  for (std::size_t i = 0; i < return_columns; ++i) words.emplace_back(word(static_cast<ReturnColumn>(i)));
  return words;
}

std::string key_of(std::string_view heading) { return lower_ascii(trimmed(heading)); }

/// The column whose word a format cut to ten characters.
std::optional<ReturnColumn> cut_column(const std::string& heading) {
  constexpr std::size_t cut = 10;
  if (heading.size() != cut) return std::nullopt;
  std::optional<ReturnColumn> found;
  for (std::size_t i = 0; i < return_columns; ++i) {
    const auto column = static_cast<ReturnColumn>(i);
    if (!std::string_view(word(column)).starts_with(lower_ascii(heading))) continue;
    if (found) return std::nullopt;
    found = column;
  }
  return found;
}

TableRead read_with(const std::filesystem::path& file, const std::string& name, const ColumnMap& columns,
                    Flags& flags) {
  return read_table(
      file, name, [&](const std::string& heading) { return columns.column(heading).has_value(); }, flags);
}

}  // namespace

ColumnMap::ColumnMap(const Plan& plan) : place_(plan.returns.place) {
  for (const auto& [heading, target] : plan.returns.columns) {
    const auto column = return_column(target);
    if (!column) {
      const std::string nearest = nearest_word(target, form_columns());
      throw InputError(place_,
                       fmt::format("the heading \"{}\" is said to be \"{}\", but the form has no such column",
                                   heading, target),
                       nearest.empty() ? fmt::format("The form's columns are {}.", in_words(form_columns()))
                                       : fmt::format("Did you mean {}?", nearest));
    }
    by_heading_.emplace(key_of(heading), Entry{heading, *column});
  }
}

std::optional<ReturnColumn> ColumnMap::column(const std::string& heading) const {
  const std::string key = key_of(heading);
  if (const auto found = by_heading_.find(key); found != by_heading_.end()) {
    met_[key] = true;
    return found->second.column;
  }
  return return_column(trimmed(heading));
}

std::vector<std::string> ColumnMap::not_met() const {
  std::vector<std::string> missing;
  for (const auto& [key, entry] : by_heading_)
    if (met_.count(key) == 0) missing.push_back('"' + entry.heading + '"');
  std::sort(missing.begin(), missing.end());
  return missing;
}

ReturnedFile::ReturnedFile(const std::filesystem::path& file, const std::string& name,
                           const ColumnMap& columns, Flags& flags)
    : ReturnedFile(read_with(file, name, columns, flags), columns, flags) {}

ReturnedFile::ReturnedFile(TableRead read, const ColumnMap& columns, Flags& flags)
    : table_(std::move(read.table)) {
  map_columns(columns, read.short_names, flags);
  check_needed();
}

void ReturnedFile::map_columns(const ColumnMap& columns, bool short_names, Flags& flags) {
  where_.fill(-1);
  std::vector<std::string> unknown;
  const std::vector<std::string>& headings = table_.headings();
  for (std::size_t i = 0; i < headings.size(); ++i) {
    auto column = columns.column(headings[i]);
    if (!column && short_names) column = cut_column(headings[i]);
    if (!column) {
      unknown.push_back(headings[i].empty() ? "one without a heading" : '"' + headings[i] + '"');
      continue;
    }
    int& where = where_[static_cast<std::size_t>(*column)];
    if (where >= 0)
      throw InputError(table_.at_row(1),
                       fmt::format("two headings are the column {}: \"{}\" and \"{}\"", word(*column),
                                   headings[static_cast<std::size_t>(where)], headings[i]),
                       "Leave one out, or give it another heading.");
    where = static_cast<int>(i);
  }
  if (!unknown.empty())
    flags.add(Severity::note, "other columns", table_.at_row(1),
              fmt::format("{} {} not on the form: kept in the file, not read.", in_words(unknown),
                          unknown.size() == 1 ? "is" : "are"),
              "Name the form's column for it under [returns.columns] if it holds one.");
}

bool ReturnedFile::fixes_only() const {
  return !has(ReturnColumn::species) && !has(ReturnColumn::flowering_stems) && !has(ReturnColumn::status);
}

void ReturnedFile::check_needed() const {
  const auto need = [&](ReturnColumn column) {
    if (has(column)) return;
    std::vector<std::string> free;
    for (const std::string& heading : table_.headings())
      if (!return_column(heading)) free.push_back(heading);
    const std::string nearest = nearest_word(word(column), free);
    throw InputError(table_.at_row(1), fmt::format("no heading is the column {}", word(column)),
                     nearest.empty()
                         ? fmt::format("Headings stand in row 1; name it \"{}\", or say under [returns.columns] "
                                       "which one it is.",
                                       word(column))
                         : fmt::format("Is it \"{}\"? Say so under [returns.columns].", nearest));
  };
  need(ReturnColumn::plot);
  need(ReturnColumn::visit_date);
  if (fixes_only() && has(ReturnColumn::lat) && has(ReturnColumn::lon)) return;
  if (has(ReturnColumn::status) && !has(ReturnColumn::species) && !has(ReturnColumn::flowering_stems)) return;
  need(ReturnColumn::species);
  need(ReturnColumn::flowering_stems);
}

std::string_view ReturnedFile::cell(const RowCells& row, ReturnColumn column) const {
  const int where = at(column);
  return where < 0 || static_cast<std::size_t>(where) >= row.cells.size()
             ? std::string_view()
             : row.cells[static_cast<std::size_t>(where)];
}

std::string ReturnedFile::original(std::uint32_t row, ReturnColumn column) const {
  if (row < 2 || row > table_.last_row()) return {};
  RowCells cells;
  table_.read_row(row, cells);
  return std::string(cell(cells, column));
}

const ReturnedFile::Overlay* ReturnedFile::overlay(std::uint32_t row) const {
  const auto found = corrected_.find(row);
  return found == corrected_.end() ? nullptr : &found->second;
}

bool ReturnedFile::left_out(std::uint32_t row) const {
  const auto found = left_out_.find(row);
  return found != left_out_.end() && found->second;
}

std::string ReturnedFile::text(std::uint32_t row, ReturnColumn column) const {
  if (const Overlay* corrected = overlay(row))
    for (const auto& [which, text] : *corrected)
      if (which == column) return text;
  return original(row, column);
}

void ReturnedFile::correct(std::uint32_t row, ReturnColumn column, std::string text) {
  Overlay& corrected = corrected_[row];
  for (auto& [which, old] : corrected)
    if (which == column) {
      old = std::move(text);
      return;
    }
  corrected.emplace_back(column, std::move(text));
}

void ReturnedFile::leave_out(std::uint32_t row, bool out) { left_out_[row] = out; }

std::string Returns::original(const RowAt& at, ReturnColumn column) const {
  if (at.file >= sources.size() || !sources[at.file]) return {};
  return sources[at.file]->original(at.row, column);
}

std::string Returns::text(const RowAt& at, ReturnColumn column) const {
  if (at.file >= sources.size() || !sources[at.file]) return {};
  return sources[at.file]->text(at.row, column);
}

}  // namespace swardline
