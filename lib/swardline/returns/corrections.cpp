#include "swardline/returns/corrections.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>
#include <optional>
#include <set>
#include <system_error>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/returns/cells.hpp"
#include "swardline/returns/correction_list.hpp"
#include "swardline/returns/ledger.hpp"
#include "swardline/returns/returned_file.hpp"

namespace swardline {
namespace {

namespace fs = std::filesystem;

constexpr const char* headings = "file,row,column,old,new,who,when,why,evidence\n";

/// As people compare cells: without outer blanks, and without the apostrophe a spreadsheet-safe table puts
/// before a formula's sign.
bool same_text(std::string_view a, std::string_view b) {
  a = trimmed(a);
  b = trimmed(b);
  return a == b || without_guard(a) == without_guard(b);
}

std::string as_shown(std::string_view cell) {
  constexpr std::size_t enough = 60;
  if (trimmed(cell).empty()) return "blank";
  return cell.size() <= enough ? fmt::format("'{}'", cell) : fmt::format("'{}…'", cell.substr(0, enough));
}

/// One correction against the files as they stand; nothing, or what is wrong and what to do.
using Trouble = std::optional<std::pair<std::string, std::string>>;

Trouble lay_row(const Correction& one, ReturnedFile& file) {
  const char* stands = file.left_out(one.row) ? "left out" : "kept";
  const auto state = [](const std::string& text) { return text == "kept" || text == "left out"; };
  if (!state(one.old_text) || !state(one.new_text))
    return {{"says neither \"kept\" nor \"left out\" of a row",
             "A row is taken out with old \"kept\" and new \"left out\"."}};
  if (one.old_text != stands)
    return {{fmt::format("says that row {} is {}, but it is {}", one.row, one.old_text, stands),
             "Look at the corrections before it."}};
  file.leave_out(one.row, one.new_text == "left out");
  return std::nullopt;
}

Trouble lay_cell(const Correction& one, ReturnedFile& file) {
  const auto column = return_column(one.column);
  if (!column)
    return {{fmt::format("the form has no column {}", one.column), "Use a heading of the form, or \"row\"."}};
  const std::string stands = file.text(one.row, *column);
  if (!same_text(stands, one.old_text)) {
    const bool corrected = !same_text(stands, file.original(one.row, *column));
    return {{fmt::format("says that {} in row {} was {}, but it is {}{}", one.column, one.row,
                         as_shown(one.old_text), as_shown(stands),
                         corrected ? fmt::format(" (corrected; it came as {})",
                                                 as_shown(file.original(one.row, *column)))
                                   : std::string()),
             "Write the old value as it stands, or drop the line if it is put right already."}};
  }
  if (!one.confirms()) file.correct(one.row, *column, one.new_text);
  return std::nullopt;
}

Trouble lay_one(const Correction& one, ReturnedFile& file) {
  if (one.row < 2 || one.row > file.table().last_row())
    return {{fmt::format("there is no row {} in {}: its rows are 2 to {}", one.row, file.table().name(),
                         file.table().last_row()),
             "Count rows as a spreadsheet does: the headings are row 1."}};
  RowCells cells;
  file.table().read_row(one.row, cells);
  if (is_blank(cells))
    return {{fmt::format("row {} of {} is blank", one.row, file.table().name()),
             "Send what is missing as a further return."}};
  return one.column == "row" ? lay_row(one, file) : lay_cell(one, file);
}

class Laying {
 public:
  Laying(const std::vector<ReceivedFile>& ledger, const std::vector<std::shared_ptr<ReturnedFile>>& files)
      : files_(files) {
    for (std::size_t i = 0; i < ledger.size(); ++i) index_[ledger[i].file] = i;
  }
  Trouble lay(const Correction& one) {
    const auto found = index_.find(one.file);
    if (found == index_.end() || !files_[found->second])
      return {{fmt::format("no file {} was received", one.file),
               "Name a file of received.csv, the list of what came."}};
    return lay_one(one, *files_[found->second]);
  }

 private:
  const std::vector<std::shared_ptr<ReturnedFile>>& files_;
  std::map<std::string, std::size_t> index_;
};

/// The first trouble as an error, with how many more there are.
class Troubles {
 public:
  void add(const Place& place, const std::string& problem, const std::string& remedy) {
    if (count_++ == 0) {
      place_ = place;
      problem_ = problem;
      remedy_ = remedy;
    }
  }
  void throw_if_any() const {
    if (count_ == 0) return;
    const std::string others =
        count_ == 1 ? std::string()
                    : fmt::format(" ({} more {} wrong)", count_ - 1, count_ == 2 ? "line is" : "lines are");
    throw InputError(place_, problem_ + others, remedy_);
  }

 private:
  int count_ = 0;
  Place place_;
  std::string problem_, remedy_;
};

std::string line_of(const Correction& one) {
  return fmt::format("{},{},{},{},{},{},{},{},{}\n", csv_field(one.file), one.row, csv_field(one.column),
                     csv_field(one.old_text), csv_field(one.new_text), csv_field(one.who),
                     csv_field(one.when), csv_field(one.why), csv_field(one.evidence));
}

std::vector<std::shared_ptr<ReturnedFile>> read_named(const Plan& plan,
                                                      const std::vector<ReceivedFile>& ledger,
                                                      const std::set<std::string>& named) {
  const ColumnMap columns(plan);
  std::vector<std::shared_ptr<ReturnedFile>> files(ledger.size());
  for (std::size_t i = 0; i < ledger.size(); ++i) {
    Flags said_when_received;
    if (named.count(ledger[i].file) > 0)
      files[i] = std::make_shared<ReturnedFile>(plan.returns.folder / ledger[i].file, ledger[i].file, columns,
                                                said_when_received);
  }
  return files;
}

}  // namespace

fs::path corrections_file(const Plan& plan) { return plan.returns.folder / "corrections.csv"; }

std::vector<Correction> read_corrections(const Plan& plan, const std::vector<ReceivedFile>& ledger) {
  const fs::path file = corrections_file(plan);
  std::error_code failed;
  if (!fs::exists(file, failed)) return {};
  std::vector<Correction> corrections;
  for (ListedCorrection& one : list_corrections(file, ledger, ColumnMap(plan), no_day))
    corrections.push_back(std::move(one.correction));
  return corrections;
}

void lay_corrections(const std::vector<Correction>& corrections, const std::string& list,
                     const std::vector<ReceivedFile>& ledger,
                     const std::vector<std::shared_ptr<ReturnedFile>>& files) {
  Laying laying(ledger, files);
  Troubles troubles;
  for (std::size_t i = 0; i < corrections.size(); ++i)
    if (const Trouble trouble = laying.lay(corrections[i]))
      troubles.add({list, 0, fmt::format("correction {}", i + 1)}, trouble->first, trouble->second);
  troubles.throw_if_any();
}

CheckedCorrections check_corrections(const fs::path& table, const Plan& plan, Day today) {
  const std::vector<ReceivedFile> ledger = read_ledger(plan);
  const std::vector<Correction> before = read_corrections(plan, ledger);
  std::vector<ListedCorrection> added = list_corrections(table, ledger, ColumnMap(plan), today);
  std::set<std::string> named, lines;
  for (const Correction& one : before) {
    named.insert(one.file);
    lines.insert(line_of(one));
  }
  for (const ListedCorrection& one : added) named.insert(one.correction.file);
  const auto files = read_named(plan, ledger, named);
  lay_corrections(before, corrections_file(plan).filename().string(), ledger, files);
  Laying laying(ledger, files);
  Troubles troubles;
  CheckedCorrections checked;
  std::string text;
  for (ListedCorrection& one : added) {
    const std::string line = line_of(one.correction);
    if (!lines.insert(line).second)
      troubles.add(one.place, "is in the season's corrections already", "Leave the line out.");
    else if (const Trouble trouble = laying.lay(one.correction))
      troubles.add(one.place, trouble->first, trouble->second);
    text += line;
    checked.added.push_back(std::move(one.correction));
  }
  troubles.throw_if_any();
  if (checked.added.empty())
    throw InputError({table.filename().string(), 0, {}}, "holds no correction", "Give a row for each.");
  std::error_code failed;
  const fs::path list = corrections_file(plan);
  checked.list = fs::exists(list, failed) ? read_whole(list) : std::string(headings);
  if (!checked.list.ends_with('\n')) checked.list += '\n';
  checked.list += text;
  return checked;
}

void write_corrections_list(const CheckedCorrections& checked, const Plan& plan) {
  write_whole(corrections_file(plan), checked.list);
}

std::vector<Correction> append_corrections(const fs::path& table, const Plan& plan, Day today) {
  CheckedCorrections checked = check_corrections(table, plan, today);
  write_corrections_list(checked, plan);
  return std::move(checked.added);
}

}  // namespace swardline
