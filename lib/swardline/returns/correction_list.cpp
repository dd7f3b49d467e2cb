#include "swardline/returns/correction_list.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <optional>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/returns/cells.hpp"
#include "swardline/season/days.hpp"

namespace swardline {
namespace {

enum Part : std::size_t { file, row, column, old_text, new_text, who, when, why, evidence, parts };
constexpr std::array<const char*, parts> part_words = {"file", "row",  "column", "old",     "new",
                                                       "who",  "when", "why",    "evidence"};

std::optional<std::size_t> part_of(const std::string& heading) {
  const std::string lower = lower_ascii(trimmed(heading));
  if (lower == "reason") return why;
  const auto* const found = std::find(part_words.begin(), part_words.end(), lower);
  return found == part_words.end() ? std::nullopt
                                   : std::optional(static_cast<std::size_t>(found - part_words.begin()));
}

class List {
 public:
  List(const std::filesystem::path& file, const std::vector<ReceivedFile>& ledger, const ColumnMap& columns,
       Day today)
      : ledger_(ledger),
        columns_(columns),
        today_(today),
        table_(read_table(
                   file, file.filename().string(),
                   [](const std::string& heading) { return part_of(heading).has_value(); }, flags_)
                   .table) {
    where_.fill(-1);
    for (std::size_t i = 0; i < table_.headings().size(); ++i)
      if (const auto part = part_of(table_.headings()[i])) where_[*part] = static_cast<int>(i);
    for (const std::size_t part : {row, column, old_text, new_text, who, why})
      if (where_[part] < 0)
        throw InputError(table_.at_row(1), fmt::format("has no column {}", part_words[part]),
                         "A correction has file, row, column, old, new, who, when, why and evidence.");
  }

  std::vector<ListedCorrection> read() {
    std::vector<ListedCorrection> list;
    RowCells cells;
    for (std::uint32_t at = 2; at <= table_.last_row(); ++at) {
      table_.read_row(at, cells);
      if (is_blank(cells)) continue;
      here_ = table_.at_row(at);
      list.push_back({correction(cells), here_});
    }
    if (wrong_ == 0) return list;
    throw InputError(first_, problem_ + (wrong_ > 1 ? fmt::format(" ({} more are wrong)", wrong_ - 1) : ""),
                     remedy_);
  }

 private:
  std::string text(const RowCells& cells, std::size_t part) const {
    const int at = where_[part];
    if (at < 0 || static_cast<std::size_t>(at) >= cells.cells.size()) return {};
    return std::string(without_guard(cells.cells[static_cast<std::size_t>(at)]));
  }

  void wrong(const std::string& problem, const std::string& remedy) {
    if (wrong_++ > 0) return;
    first_ = here_;
    problem_ = problem;
    remedy_ = remedy;
  }

  Correction correction(const RowCells& cells) {
    Correction one;
    const auto word_in = [&](std::size_t part) { return std::string(trimmed(text(cells, part))); };
    one.old_text = text(cells, old_text);
    one.new_text = text(cells, new_text);
    one.who = word_in(who);
    one.when = word_in(when);
    one.why = word_in(why);
    one.evidence = word_in(evidence);
    if (one.when.empty() && today_ != no_day) one.when = iso_date(today_);
    if (one.why.empty()) wrong("gives no reason", "Say why the value is changed, or why it stands.");
    if (one.who.empty()) wrong("does not say who made it", "Fill in who.");
    check_day(one.when);
    one.file = file_named(word_in(file));
    const auto number = read_count(text(cells, row));
    if (!number)
      wrong(fmt::format("'{}' is no row", word_in(row)),
            "Count rows as a spreadsheet does: the headings are row 1.");
    one.row = static_cast<std::uint32_t>(number.value_or(0));
    one.column = column_named(word_in(column));
    if (one.column == "row") {
      one.old_text = lower_ascii(trimmed(one.old_text));
      one.new_text = lower_ascii(trimmed(one.new_text));
    }
    return one;
  }

  /// What is in the season's list was looked at as it came.
  void check_day(const std::string& when) {
    if (when.empty()) return wrong("does not say when it was made", "Fill in the day.");
    if (today_ == no_day) return;
    const auto read = read_date(when, today_);
    if (!read || (read->day_first == no_day && read->month_first == no_day))
      return wrong(fmt::format("'{}' in when is no date", when), "Write it like 2027-06-20.");
    const Day either = std::min(read->day_first, read->month_first);
    const Day day = either != no_day ? either : std::max(read->day_first, read->month_first);
    if (day > today_)
      wrong(fmt::format("was made on {}, which is after {}", when, iso_date(today_)),
            "Write the day it was made, not a day to come.");
  }

  std::string file_named(const std::string& name) {
    if (name.empty() && ledger_.size() == 1) return ledger_.front().file;
    std::vector<std::string> came_so, names;
    for (const ReceivedFile& one : ledger_) {
      if (one.file == name) return name;
      if (one.original == name) came_so.push_back(one.file);
      names.push_back(one.original);
    }
    if (came_so.size() == 1) return came_so.front();
    if (came_so.size() > 1) {
      wrong(fmt::format("{} files came under the name {}: {}", came_so.size(), name, in_words(came_so)),
            "Name the one in the folder of returns that is meant.");
    } else if (name.empty()) {
      wrong("does not say in which file", "Name a file of received.csv, the list of what came.");
    } else {
      const std::string nearest = nearest_word(name, names);
      wrong(fmt::format("no file {} was received", name),
            nearest.empty() ? "Name a file of received.csv, the list of what came."
                            : fmt::format("Is it {}?", nearest));
    }
    return {};
  }

  std::string column_named(const std::string& name) {
    if (lower_ascii(name) == "row") return "row";
    if (const auto form = columns_.column(name)) return word(*form);
    std::vector<std::string> words = {"row"};
    for (std::size_t i = 0; i < return_columns; ++i) words.emplace_back(word(static_cast<ReturnColumn>(i)));
    const std::string nearest = nearest_word(name, words);
    wrong(name.empty() ? "does not say in which column" : fmt::format("the form has no column {}", name),
          nearest.empty() ? "Use a heading of the form, or \"row\" for a whole row."
                          : fmt::format("Is it {}?", nearest));
    return {};
  }

  const std::vector<ReceivedFile>& ledger_;
  const ColumnMap& columns_;
  Day today_;
  Flags flags_;
  Table table_;
  std::array<int, parts> where_{};
  Place here_, first_;
  std::string problem_, remedy_;
  int wrong_ = 0;
};

}  // namespace

std::vector<ListedCorrection> list_corrections(const std::filesystem::path& table,
                                               const std::vector<ReceivedFile>& ledger,
                                               const ColumnMap& columns, Day today) {
  return List(table, ledger, columns, today).read();
}

}  // namespace swardline
