#include "swardline/returns/table.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstring>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/returns/cells.hpp"

namespace swardline {
namespace {

constexpr std::string_view delimiters = ",;\t|";

bool ends_row(char c) { return c == '\n' || c == '\r'; }

/// Past the line end at `at`; CR and LF together are one.
std::size_t after_line_end(std::string_view text, std::size_t at) {
  if (at >= text.size()) return text.size();
  return text[at] == '\r' && at + 1 < text.size() && text[at + 1] == '\n' ? at + 2 : at + 1;
}

/// Where a cell that begins with a quotation mark at `at` ends: on its closing mark; npos: it never does.
std::size_t closing_quote(std::string_view text, std::size_t at) {
  for (std::size_t from = at + 1;;) {
    const std::size_t mark = text.find('"', from);
    if (mark == std::string_view::npos || mark + 1 >= text.size() || text[mark + 1] != '"') return mark;
    from = mark + 2;
  }
}

/// One cell and where it ends (on the delimiter, the line end or the end of the text).
struct Cell {
  std::size_t begin = 0, end = 0, next = 0;
  bool quoted = false, escaped = false, open = false, trailed = false;
};

Cell cell_at(std::string_view text, std::size_t at, char delimiter) {
  Cell cell{at, at, at};
  if (at < text.size() && text[at] == '"') {
    cell.quoted = true;
    cell.begin = at + 1;
    cell.end = closing_quote(text, at);
    if (cell.end == std::string_view::npos) {
      cell.open = true;
      cell.end = cell.next = text.size();
      return cell;
    }
    cell.escaped = std::memchr(text.data() + cell.begin, '"', cell.end - cell.begin) != nullptr;
    cell.next = cell.end + 1;
    while (cell.next < text.size() && text[cell.next] != delimiter && !ends_row(text[cell.next])) {
      cell.trailed = cell.trailed || text[cell.next] != ' ';
      ++cell.next;
    }
    return cell;
  }
  while (cell.end < text.size() && text[cell.end] != delimiter && !ends_row(text[cell.end])) ++cell.end;
  cell.next = cell.end;
  return cell;
}

std::string_view as_text(std::string_view text, const Cell& cell, std::deque<std::string>& unescaped) {
  const std::string_view raw = text.substr(cell.begin, cell.end - cell.begin);
  if (!cell.escaped) return raw;
  std::string& out = unescaped.emplace_back();
  for (std::size_t i = 0; i < raw.size(); ++i) {
    out += raw[i];
    if (raw[i] == '"') ++i;  // of two marks the first stands
  }
  return out;
}

std::vector<std::string> first_row(std::string_view text, char delimiter) {
  std::vector<std::string> cells;
  std::deque<std::string> unescaped;
  for (std::size_t at = 0;; ++at) {
    const Cell cell = cell_at(text, at, delimiter);
    cells.emplace_back(trimmed(as_text(text, cell, unescaped)));
    at = cell.next;
    if (at >= text.size() || text[at] != delimiter) return cells;
  }
}

const char* word_of(char delimiter) {
  switch (delimiter) {
    case ';':
      return "semicolon";
    case '\t':
      return "tab";
    case '|':
      return "bar";
    default:
      return "comma";
  }
}

}  // namespace

bool is_blank(const RowCells& row) {
  return std::all_of(row.cells.begin(), row.cells.end(),
                     [](std::string_view cell) { return trimmed(cell).empty(); });
}

Table::Table(std::string name, std::string text, const std::function<bool(const std::string&)>& knows)
    : name_(std::move(name)), text_(std::move(text)) {
  if (text_.size() > largest)
    throw InputError({name_, 0, {}}, "holds more than 512 MB of text", "Split it into several files.");
  if (trimmed(text_).empty()) throw InputError({name_, 0, {}}, "is empty", "Send the table again.");
  skip_separator_line();
  find_delimiter(knows);
  index_rows();
  if (ragged_rows_ == 0) return;
  const std::string others =
      ragged_rows_ > 1
          ? fmt::format(" (and {} more rows)", grouped(static_cast<std::int64_t>(ragged_rows_ - 1)))
          : std::string();
  throw InputError(
      at_row(ragged_row_),
      fmt::format("has {} cells where there are {} headings{}", ragged_cells_, headings_.size(), others),
      fmt::format("Look for a {} too many or too few; a cell that holds one stands between "
                  "quotation marks.",
                  word_of(delimiter_)));
}

Place Table::at_row(std::uint32_t row) const { return {name_, 0, fmt::format("row {}", row)}; }

/// "sep=;" above the headings tells spreadsheets the delimiter; they show no row for it.
void Table::skip_separator_line() {
  if (text_.size() < 6 || lower_ascii(std::string_view(text_).substr(0, 4)) != "sep=") return;
  if (ends_row(text_[5])) first_ = after_line_end(text_, 5);
}

void Table::find_delimiter(const std::function<bool(const std::string&)>& knows) {
  const std::string_view top = std::string_view(text_).substr(first_, longest_row);
  std::size_t most_known = 0, most_cells = 0;
  for (const char candidate : delimiters) {
    std::vector<std::string> cells = first_row(top, candidate);
    const auto known = static_cast<std::size_t>(std::count_if(cells.begin(), cells.end(), knows));
    if (known < most_known || (known == most_known && cells.size() <= most_cells)) continue;
    most_known = known;
    most_cells = cells.size();
    delimiter_ = candidate;
    headings_ = std::move(cells);
  }
  // A spreadsheet leaves delimiters behind its last column, in this row as in all others.
  heading_cells_ = headings_.size();
  while (headings_.size() > 1 && headings_.back().empty()) headings_.pop_back();
}

/// The next places of what ends a row or opens a quoted cell. Each is looked for once only.
struct Table::Ahead {
  class Next {
   public:
    explicit Next(char wanted) : wanted_(wanted) {}
    std::size_t from(std::string_view text, std::size_t begin) {
      if (!known_ || at_ < begin) at_ = std::min(text.find(wanted_, begin), text.size());
      known_ = true;
      return at_;
    }

   private:
    char wanted_;
    std::size_t at_ = 0;
    bool known_ = false;
  };
  Next line_feed{'\n'}, carriage_return{'\r'}, quotation_mark{'"'};
};

/// Where the row that begins at `begin` ends, and how many cells it has. Rows without a quotation mark,
/// nearly all, are looked through with the system's searches.
std::size_t Table::row_end(std::size_t begin, Ahead& ahead, std::size_t& cells) const {
  const std::size_t end =
      std::min(ahead.line_feed.from(text_, begin), ahead.carriage_return.from(text_, begin));
  if (ahead.quotation_mark.from(text_, begin) >= end) {
    const char* const data = text_.data();
    cells = 1 + static_cast<std::size_t>(std::count(data + begin, data + end, delimiter_));
    return end;
  }
  cells = 0;
  for (std::size_t at = begin;; ++at) {
    const Cell cell = cell_at(text_, at, delimiter_);
    ++cells;
    const std::uint32_t row = last_row() + 1;
    if (cell.open)
      throw InputError(at_row(row), "a quotation mark opens a cell and none closes it",
                       "Close it, or take it away.");
    if (cell.trailed)
      throw InputError(at_row(row), "a cell goes on after its closing quotation mark",
                       "Write two marks for one within a cell.");
    at = cell.next;
    if (at >= text_.size() || text_[at] != delimiter_) return at;
  }
}

void Table::index_rows() {
  starts_.reserve(text_.size() / 64);
  Ahead ahead;
  for (std::size_t begin = first_; begin < text_.size();) {
    std::size_t cells = 0;
    const std::size_t end = row_end(begin, ahead, cells);
    starts_.push_back(static_cast<std::uint32_t>(begin));
    const std::uint32_t row = last_row();
    if (end - begin > longest_row)
      throw InputError(
          at_row(row), "is longer than 1 MB",
          "No row of a form is: look for a quotation mark that is not closed, or line ends that are "
          "missing.");
    if (row > 1 && cells != headings_.size()) check_width(row, cells);
    begin = after_line_end(text_, end);
  }
}

void Table::check_width(std::uint32_t row, std::size_t cells) {
  RowCells found;
  read_row(row, found);
  const auto blank = [](std::string_view cell) { return trimmed(cell).empty(); };
  const std::size_t fit = std::min(cells, headings_.size());
  const auto past = found.cells.begin() + static_cast<std::ptrdiff_t>(fit);
  // More cells than the row of headings has, though empty, come of a comma in a number without quotation
  // marks.
  const bool fills = cells <= heading_cells_ && cells > headings_.size();
  if (is_blank(found) || (fills && std::all_of(past, found.cells.end(), blank))) return;
  if (ragged_rows_++ > 0) return;
  ragged_row_ = row;
  ragged_cells_ = cells;
}

void Table::read_row(std::uint32_t row, RowCells& into) const {
  into.cells.clear();
  into.unescaped.clear();
  for (std::size_t at = starts_.at(row - 1);; ++at) {
    const Cell cell = cell_at(text_, at, delimiter_);
    into.cells.push_back(as_text(text_, cell, into.unescaped));
    at = cell.next;
    if (at >= text_.size() || text_[at] != delimiter_) return;
  }
}

TableRead read_table(const std::filesystem::path& file, const std::string& name,
                     const std::function<bool(const std::string&)>& knows, Flags& flags) {
  std::error_code failed;
  const auto status = std::filesystem::status(file, failed);
  if (std::filesystem::is_directory(status))
    throw InputError({name, 0, {}}, "is a folder, not a file", "Name the files inside it.");
  if (std::filesystem::exists(status) && !std::filesystem::is_regular_file(status))
    throw InputError({name, 0, {}}, "is not a file", "Save the table as a file and name that.");
  if (auto text = read_text(file, name, flags)) return {Table(name, std::move(*text), knows)};
  GdalTable other = read_gdal_table(file, name, knows, flags);
  return {Table(name, std::move(other.text), knows), other.waypoints, other.short_names};
}

}  // namespace swardline
