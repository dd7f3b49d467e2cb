// One file's rows to records. Private to returns.
#pragma once

#include <cstdint>
#include <functional>
#include <span>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/returns/expected.hpp"
#include "swardline/returns/return_row.hpp"
#include "swardline/returns/returned_file.hpp"
#include "swardline/season/season.hpp"

namespace swardline {

struct TextHash {
  using is_transparent = void;
  std::size_t operator()(std::string_view text) const { return std::hash<std::string_view>{}(text); }
};
template <class Value>
using ByText = std::unordered_map<std::string, Value, TextHash, std::equal_to<>>;

/// What cells name, by name.
class Known {
 public:
  Known(const Season& season, const Expected& expected);
  [[nodiscard]] std::int32_t plot(std::string_view cell) const;     ///< -1: none
  [[nodiscard]] std::int32_t species(std::string_view cell) const;  ///< -1: none
  [[nodiscard]] std::optional<bool> day_first() const { return day_first_; }

 private:
  std::unordered_map<std::string_view, std::int32_t> plots_;
  ByText<std::int32_t> species_;  ///< codes, names and common names in small letters
  std::optional<bool> day_first_;
};

/// Reads all rows of a file that hold anything, in order; `file` is its index. Texts go to `texts` in the
/// order of rows, whatever the number of threads. Says of the file as a whole what is doubtful.
void read_rows(const ReturnedFile& source, std::uint32_t file, Day received, const Known& known, int threads,
               std::vector<ReturnRow>& rows, TextPool& texts, Flags& flags);

/// Fixes of files that hold nothing else, brought to the visits that have none.
void join_fixes(const std::vector<std::pair<std::string, std::vector<ReturnRow>>>& fixes,
                const Expected& expected, std::vector<ReturnRow>& rows, Flags& flags);

}  // namespace swardline
