// Everything received in a season, read from the season folder, with its corrections on top.
//
// The folder `returns/` holds every file as it came, named by day and content, and the list `received.csv`;
// `corrections.csv`, beside it, holds what was put right. Nothing else is needed to make the tables of the
// store again.
#pragma once

#include <filesystem>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/returns/expected.hpp"
#include "swardline/returns/return_row.hpp"

namespace swardline {

/// One line of `returns/received.csv`.
struct ReceivedFile {
  std::string file;         ///< in `returns/`
  std::string original;     ///< the name it came under
  std::string fingerprint;  ///< of its content
  std::string received;     ///< the day, ISO 8601
  int version = 1;          ///< of the season's returns: one more each time files are added after an estimate
};

/// One line of `corrections.csv`. A new value equal to the old one says that a doubtful value stands.
struct Correction {
  std::string file;       ///< in `returns/`
  std::uint32_t row = 0;  ///< as a spreadsheet numbers it
  std::string column;     ///< a form's column; "row" to leave a whole row out
  std::string old_text, new_text;
  std::string who, when, why, evidence;
  [[nodiscard]] bool confirms() const { return old_text == new_text; }
};

/// The text of one file, cell by cell, as it came (in UTF-8). Private parts are in the source.
class ReturnedFile;

struct Returns {
  std::vector<ReceivedFile> files;
  std::vector<ReturnRow> rows;  ///< in the order of files and rows
  TextPool texts;
  std::vector<Correction> corrections;
  std::vector<std::shared_ptr<const ReturnedFile>> sources;  ///< beside `files`
  /// As it came, before any correction; empty where the file has no such column.
  [[nodiscard]] std::string original(const RowAt& at, ReturnColumn column) const;
  /// The same of several cells of one row, beside `columns`.
  void originals(const RowAt& at, std::span<const ReturnColumn> columns, std::span<std::string> into) const;
  /// As corrected: what was read.
  [[nodiscard]] std::string text(const RowAt& at, ReturnColumn column) const;
};

}  // namespace swardline
