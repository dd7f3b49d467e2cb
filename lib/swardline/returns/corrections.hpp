// What was put right in the season's returns: a list that replays from the untouched files to the same table.
#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "swardline/returns/returns.hpp"
#include "swardline/season/plan.hpp"

namespace swardline {

/// `corrections.csv` in the folder of returns, beside the list of files.
[[nodiscard]] std::filesystem::path corrections_file(const Plan& plan);

/// The season's corrections in their order; empty where there are none yet. Throws InputError for a list that
/// cannot be read and for a line without what every correction needs (see append_corrections).
[[nodiscard]] std::vector<Correction> read_corrections(const Plan& plan,
                                                       const std::vector<ReceivedFile>& ledger);

/// Checks a table of corrections and adds it to the season's: all of it, or nothing where one line is wrong.
///
/// Columns file, row, column, old, new, who, when, why, evidence; `reason` stands for why as well. `file` is
/// a name in `returns/` or the one a file came under, and may be missing where the season has one file;
/// `when` may be missing and is then `today`. A column is the form's, or the file's own heading for it; `row`
/// with old "kept" and new "left out" takes a whole row out of use, the other way round puts it back. A new
/// value equal to the old one says that a doubtful value stands.
///
/// Throws InputError, with the line and how many more are wrong: no who, no reason, a file, row or column
/// that is not there, an old text that is not the cell's as the corrections before it leave it, a correction
/// that is in the list already, a `when` that is no date or after `today`. Returns what was added. The caller
/// holds the season's lock (FolderLock).
std::vector<Correction> append_corrections(const std::filesystem::path& table, const Plan& plan, Day today);

/// The same in two steps, for whoever has more to read before anything is written.
struct CheckedCorrections {
  std::vector<Correction> added;
  std::string list;  ///< the season's list with them, as a file
};
[[nodiscard]] CheckedCorrections check_corrections(const std::filesystem::path& table, const Plan& plan,
                                                   Day today);
void write_corrections_list(const CheckedCorrections& checked, const Plan& plan);

/// Lays corrections over the files they name (beside `ledger`), in their order, each checked against the cell
/// as it stands. `list` names where they were read, for messages. Throws InputError as above.
void lay_corrections(const std::vector<Correction>& corrections, const std::string& list,
                     const std::vector<ReceivedFile>& ledger,
                     const std::vector<std::shared_ptr<ReturnedFile>>& files);

}  // namespace swardline
