// A table as it came: its text in one piece, and where each row begins.
#pragma once

#include <cstddef>
#include <cstdint>
#include <deque>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "swardline/base/flag.hpp"

namespace swardline {

/// The cells of one row. Views reach into the table, or into `unescaped` where a quoted cell holds quotation
/// marks; both end with the next row.
struct RowCells {
  std::vector<std::string_view> cells;
  std::deque<std::string> unescaped;
};

/// Rows are numbered as a spreadsheet shows them: the headings are row 1, blank rows count, and a line break
/// within a cell does not begin a row. Text is UTF-8. Holds the text and 4 bytes a row, no more.
class Table {
 public:
  static constexpr std::size_t longest_row = std::size_t{1} << 20;  ///< bytes
  static constexpr std::size_t largest = std::size_t{1} << 29;      ///< bytes

  /// Delimited text (RFC 4180, any of comma, semicolon, tab and bar, any line ends). `knows` tells a heading
  /// that is looked for; it finds the delimiter. Throws InputError, with the row, for a row past
  /// `longest_row`, a quotation mark that is never closed, and rows of unequal length.
  Table(std::string name, std::string text, const std::function<bool(const std::string&)>& knows);

  [[nodiscard]] const std::string& name() const { return name_; }  ///< for messages
  [[nodiscard]] const std::vector<std::string>& headings() const { return headings_; }
  [[nodiscard]] std::uint32_t last_row() const { return static_cast<std::uint32_t>(starts_.size()); }
  [[nodiscard]] char delimiter() const { return delimiter_; }
  /// The cells of a row from 2 to last_row(); fewer than there are headings only where the row is blank.
  void read_row(std::uint32_t row, RowCells& into) const;
  [[nodiscard]] Place at_row(std::uint32_t row) const;

 private:
  void skip_separator_line();
  void find_delimiter(const std::function<bool(const std::string&)>& knows);
  void index_rows();
  void check_width(std::uint32_t row, std::size_t cells);
  struct Ahead;
  [[nodiscard]] std::size_t row_end(std::size_t begin, Ahead& ahead, std::size_t& cells) const;

  std::string name_;
  std::string text_;
  std::size_t first_ = 0;  ///< where row 1 begins
  char delimiter_ = ',';
  std::vector<std::uint32_t> starts_;
  std::vector<std::string> headings_;
  std::size_t heading_cells_ = 0;  ///< in their row, with empty ones behind the last heading
  std::uint32_t ragged_row_ = 0;   ///< the first one; 0: none
  std::size_t ragged_cells_ = 0, ragged_rows_ = 0;
};

/// Whether all cells are blank.
[[nodiscard]] bool is_blank(const RowCells& row);

struct TableRead {
  Table table;
  bool waypoints = false;    ///< of a GPX file: fixes and nothing else
  bool short_names = false;  ///< headings cut to ten characters by the format
};

/// Reads a file whatever it is: delimited text in UTF-8 (with or without mark), UTF-16 with mark or Windows
/// code page 1252 (a NOTE says so), a spreadsheet or another table GDAL reads, or GPX waypoints, which become
/// the columns plot, visit_date, lat and lon. `name` stands in messages for the file. Throws InputError for
/// what is no such table, IoError for what cannot be read.
[[nodiscard]] TableRead read_table(const std::filesystem::path& file, const std::string& name,
                                   const std::function<bool(const std::string&)>& knows, Flags& flags);

/// A file's delimited text in UTF-8; nothing where it is another format. Of a line much longer than
/// Table::longest_row, and of a file larger than Table::largest, it returns what is enough to be refused.
[[nodiscard]] std::optional<std::string> read_text(const std::filesystem::path& file, const std::string& name,
                                                   Flags& flags);

/// A table GDAL opens, as delimited text.
struct GdalTable {
  std::string text;
  bool waypoints = false;
  bool short_names = false;
};
[[nodiscard]] GdalTable read_gdal_table(const std::filesystem::path& file, const std::string& name,
                                        const std::function<bool(const std::string&)>& knows, Flags& flags);

}  // namespace swardline
