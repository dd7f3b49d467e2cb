// Text and numbers as people and files want them. All of it is independent of the locale.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace swardline {

/// Characters to change, put in, take out or swap with their neighbour to make one word of the other; each
/// place is changed once at most (optimal string alignment).
[[nodiscard]] std::size_t edit_distance(std::string_view a, std::string_view b);

/// The candidate nearest to `word` by edit distance, or empty when none is near
/// enough to be a likely slip (distance above max(2, length/3)).
[[nodiscard]] std::string nearest_word(std::string_view word, const std::vector<std::string>& candidates);

/// "a, b and c"
[[nodiscard]] std::string in_words(const std::vector<std::string>& items);

/// 12345678 -> "12,345,678"
[[nodiscard]] std::string grouped(std::int64_t number);

/// Shortest decimal that reads back to the same double; "inf" and "-inf" for infinities.
[[nodiscard]] std::string shortest(double value);

/// Hectares for people: "2.5 ha", "0.11 ha", "96 ha" (two significant figures below 10, whole above).
[[nodiscard]] std::string hectares(double square_metres);

[[nodiscard]] std::string upper_ascii(std::string_view text);
[[nodiscard]] std::string lower_ascii(std::string_view text);

/// Letters, digits, '-' and '_' stay, everything else becomes '_'; never empty, never
/// a path, never a reserved device name. For site and species codes as file names.
[[nodiscard]] std::string safe_file_name(std::string_view text);

/// Escapes & < > " ' and drops characters XML 1.0 does not allow and those that set the direction of text
/// after them (U+202A to U+202E, U+2066 to U+2069); marks of direction (U+200E, U+200F, U+061C) and letters
/// that are read from the right stay.
[[nodiscard]] std::string xml_escape(std::string_view text);

/// A JSON string with its quotes.
[[nodiscard]] std::string json_quote(std::string_view text);

/// A CSV field (RFC 4180), with a leading apostrophe where a spreadsheet would run
/// the text as a formula (it begins with = + - @, tab or return and is not a number).
[[nodiscard]] std::string csv_field(std::string_view text);

/// The text of a cell that `csv_field` wrote: without the apostrophe it put before a formula's sign.
[[nodiscard]] std::string_view without_guard(std::string_view cell);

/// Whether all of it is well-formed UTF-8 (RFC 3629).
[[nodiscard]] bool is_utf8(std::string_view text);

/// True where spreadsheets turn the text into a date or a number (MAR05, 1E05, 007).
[[nodiscard]] bool spreadsheet_misreads(std::string_view code);

}  // namespace swardline
