// How much room a text takes on paper, so that nothing on a sheet runs over its box. Private to this folder.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace swardline {

/// Type on sheets; nothing is smaller.
struct Type {
  double points = 7.5;
  bool bold = false;
};
inline constexpr double mm_per_point = 25.4 / 72;

/// Millimetres that a text takes in one line: widths of the common sans-serif faces of office printers (all
/// have those of Helvetica, Adobe Core 14 metrics, 1990), and of other letters no less than they take.
[[nodiscard]] double text_mm(std::string_view utf8, Type type);

/// The text, or as much of it as fits with "…". Line ends and tabs become blanks.
[[nodiscard]] std::string fitted(std::string_view utf8, double mm, Type type);

/// The text in lines no longer than `mm`, broken at blanks, within a word only where one is longer than a
/// line; the last of `most` lines ends with "…" where there is more.
[[nodiscard]] std::vector<std::string> wrapped(std::string_view utf8, double mm, Type type,
                                               std::size_t most = 1000);

}  // namespace swardline
