#include "swardline/base/text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstring>
#include <utility>

#include "swardline/base/files.hpp"

namespace swardline {
namespace {

bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_letter(char c) { return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z'); }

struct Character {
  char32_t code = 0;
  std::size_t bytes = 1;
  bool good = false;
};

// The UTF-8 character at the start of `text` (RFC 3629: no overlong forms, no surrogates).
Character first_character(std::string_view text) {
  const auto byte = [text](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned char lead = byte(0);
  if (lead < 0x80) return {lead, 1, true};
  const std::size_t length = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : 2;
  if (lead < 0xC2 || lead > 0xF4 || text.size() < length) return {};
  char32_t code = lead & (0xFFU >> (length + 1));
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte(i) & 0xC0U) != 0x80U) return {};
    code = (code << 6) | (byte(i) & 0x3FU);
  }
  constexpr std::array<char32_t, 5> smallest = {0, 0, 0x80, 0x800, 0x10000};
  const bool surrogate = code >= 0xD800 && code <= 0xDFFF;
  if (code < smallest[length] || code > 0x10FFFF || surrogate) return {};
  return {code, length, true};
}

bool allowed_in_xml(char32_t code) {
  if (code < 0x20) return code == '\t' || code == '\n' || code == '\r';
  return code != 0xFFFE && code != 0xFFFF;
}

/// Embeddings, overrides and isolates of Unicode's bidirectional algorithm (UAX 9, 2.1 to 2.5): left open
/// they turn what stands after them, to the end of the paragraph.
bool turns_what_follows(char32_t code) {
  return (code >= 0x202A && code <= 0x202E) || (code >= 0x2066 && code <= 0x2069);
}

bool is_number(std::string_view text) {
  const bool has_sign = !text.empty() && (text.front() == '+' || text.front() == '-');
  const std::string_view unsigned_part = has_sign ? text.substr(1) : text;
  // from_chars would also take "inf" and "nan", which a spreadsheet reads as names.
  if (unsigned_part.empty() || !(is_digit(unsigned_part[0]) || unsigned_part[0] == '.')) return false;
  double value = 0;
  const char* const last = unsigned_part.data() + unsigned_part.size();
  const auto [end, code] = std::from_chars(unsigned_part.data(), last, value);
  return code != std::errc::invalid_argument && end == last;
}

bool is_reserved_device(std::string_view upper) {
  if (upper == "CON" || upper == "PRN" || upper == "AUX" || upper == "NUL") return true;
  return upper.size() == 4 && (upper.starts_with("COM") || upper.starts_with("LPT")) && is_digit(upper[3]);
}

bool is_month(std::string_view upper) {
  constexpr std::array<std::string_view, 12> months = {"JANUARY",   "FEBRUARY", "MARCH",    "APRIL",
                                                       "MAY",       "JUNE",     "JULY",     "AUGUST",
                                                       "SEPTEMBER", "OCTOBER",  "NOVEMBER", "DECEMBER"};
  return upper == "SEPT" || std::any_of(months.begin(), months.end(), [upper](std::string_view month) {
           return upper == month || upper == month.substr(0, 3);
         });
}

// Runs of digits and of letters, with the signs and blanks between them kept aside.
struct Pieces {
  std::vector<std::string> words;
  std::string between;  // every character that is neither letter nor digit
  bool blank = false;
};

Pieces pieces_of(std::string_view upper) {
  Pieces out;
  char previous = ' ';
  for (const char c : upper) {
    const bool digit = is_digit(c);
    const bool letter = is_letter(c);
    if (digit || letter) {
      const bool same_run = (digit && is_digit(previous)) || (letter && is_letter(previous));
      if (!same_run) out.words.emplace_back();
      out.words.back() += c;
    } else {
      out.between += c;
      out.blank = out.blank || c == ' ';
    }
    previous = c;
  }
  return out;
}

bool all_numbers(const std::vector<std::string>& words) {
  return std::all_of(words.begin(), words.end(), [](const std::string& word) { return is_digit(word[0]); });
}

bool reads_as_date(std::string_view upper) {
  const Pieces pieces = pieces_of(upper);
  const auto& words = pieces.words;
  const auto only = [&pieces](std::string_view signs) {
    return pieces.between.find_first_not_of(signs) == std::string::npos;
  };
  if (words.size() < 2 || words.size() > 4) return false;
  const auto fits_a_date = [](const std::string& word) {
    return is_month(word) || (is_digit(word[0]) && word.size() != 3 && word.size() <= 4);
  };
  const bool datelike = std::all_of(words.begin(), words.end(), fits_a_date);
  const auto months = std::count_if(words.begin(), words.end(), is_month);
  if (datelike && months == 1 && words.size() <= 3 && only(" -/.,")) return true;
  if (all_numbers(words) && pieces.between.size() + 1 >= words.size() && only(" -/.:,") &&
      is_digit(upper[0])) {
    return true;  // 1-2, 3/4, 12:30, 1.5 (a date in half of Europe)
  }
  // "5 AM", "5:30 P"
  const std::string& last = words.back();
  return (last == "A" || last == "P" || last == "AM" || last == "PM") && pieces.blank && only(" :") &&
         std::all_of(words.begin(), words.end() - 1,
                     [](const std::string& word) { return is_digit(word[0]); });
}

}  // namespace

// A swap of neighbours counts once: the commonest slip at a keyboard after a wrong letter.
std::size_t edit_distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> before(b.size() + 1);
  std::vector<std::size_t> above(b.size() + 1);
  std::vector<std::size_t> row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) above[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t change = above[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      row[j] = std::min({above[j] + 1, row[j - 1] + 1, change});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
        row[j] = std::min(row[j], before[j - 2] + 1);
      }
    }
    before.swap(above);
    above.swap(row);
  }
  return above[b.size()];
}

std::string nearest_word(std::string_view word, const std::vector<std::string>& candidates) {
  const std::string wanted = lower_ascii(word);
  std::size_t best = std::max<std::size_t>(2, word.size() / 3) + 1;
  std::string nearest;
  for (const std::string& candidate : candidates) {
    const std::size_t distance = edit_distance(wanted, lower_ascii(candidate));
    // Two short words that share nothing are within two edits of each other and no slip.
    const bool shares_a_letter = distance < std::max(word.size(), candidate.size());
    if (distance < best && shares_a_letter) {
      best = distance;
      nearest = candidate;
    }
  }
  return nearest;
}

std::string in_words(const std::vector<std::string>& items) {
  std::string out;
  for (std::size_t i = 0; i < items.size(); ++i) {
    if (i > 0) out += i + 1 == items.size() ? " and " : ", ";
    out += items[i];
  }
  return out;
}

std::string grouped(std::int64_t number) {
  std::string digits = std::to_string(number);
  const std::size_t first = number < 0 ? 1 : 0;
  for (std::size_t at = digits.size(); at > first + 3;) {
    at -= 3;
    digits.insert(at, 1, ',');
  }
  return digits;
}

std::string shortest(double value) {
  std::array<char, 40> buffer{};
  const auto [end, code] = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value);
  return {buffer.data(), end};
}

std::string hectares(double square_metres) {
  const double value = square_metres / 10000.0;
  if (!std::isfinite(value)) return shortest(value) + " ha";
  // Rounded to two figures first, so that 9.96 becomes 10 and not 10.0.
  const std::string rounded = fmt::format("{:.1e}", std::fabs(value));
  double two_figures = 0;
  std::from_chars(rounded.data(), rounded.data() + rounded.size(), two_figures);
  if (two_figures >= 10) return grouped(std::llround(value)) + " ha";
  if (two_figures == 0) return "0 ha";
  int decimals = 1;
  for (double scaled = two_figures; scaled < 1 && decimals < 12; scaled *= 10) ++decimals;
  return fmt::format("{:.{}f} ha", value, decimals);
}

std::string upper_ascii(std::string_view text) {
  std::string out(text);
  for (char& c : out) {
    if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
  }
  return out;
}

std::string lower_ascii(std::string_view text) {
  std::string out(text);
  for (char& c : out) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return out;
}

std::string safe_file_name(std::string_view text) {
  constexpr std::size_t longest = 100;
  std::string out;
  for (const char c : text) out += is_digit(c) || is_letter(c) || c == '-' || c == '_' ? c : '_';
  if (out.empty()) out = "_";
  if (is_reserved_device(upper_ascii(out))) out += '_';
  if (out.size() > longest) out = out.substr(0, longest - 17) + '_' + text_fingerprint(text);
  return out;
}

std::string xml_escape(std::string_view text) {
  std::string out;
  while (!text.empty()) {
    const Character character = first_character(text);
    const std::string_view bytes = text.substr(0, character.bytes);
    text.remove_prefix(character.bytes);
    if (!character.good || !allowed_in_xml(character.code) || turns_what_follows(character.code)) continue;
    switch (character.code) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      case '\'':
        out += "&apos;";
        break;
      default:
        out += bytes;
    }
  }
  return out;
}

std::string json_quote(std::string_view text) {
  std::string out = "\"";
  while (!text.empty()) {
    const Character character = first_character(text);
    const std::string_view bytes = text.substr(0, character.bytes);
    text.remove_prefix(character.bytes);
    if (!character.good) {
      out += "\\ufffd";
    } else if (character.code == '"' || character.code == '\\') {
      out += '\\';
      out += bytes;
    } else if (character.code == '\n') {
      out += "\\n";
    } else if (character.code == '\t') {
      out += "\\t";
    } else if (character.code < 0x20 || character.code == 0x7F) {
      out += fmt::format("\\u{:04x}", static_cast<unsigned>(character.code));
    } else {
      out += bytes;
    }
  }
  return out + '"';
}

std::string csv_field(std::string_view text) {
  const bool formula = !text.empty() && std::string_view("=+-@\t\r").find(text[0]) != std::string_view::npos;
  std::string value = formula && !is_number(text) ? "'" : "";
  value += text;
  if (value.find_first_of(",\"\r\n") == std::string::npos) return value;
  std::string out = "\"";
  for (const char c : value) out += c == '"' ? std::string("\"\"") : std::string(1, c);
  return out + '"';
}

std::string_view without_guard(std::string_view cell) {
  const bool guarded = cell.size() > 1 && cell[0] == '\'' &&
                       std::string_view("=+-@\t\r").find(cell[1]) != std::string_view::npos;
  return guarded ? cell.substr(1) : cell;
}

bool is_utf8(std::string_view text) {
  while (!text.empty()) {
    std::uint64_t eight = 0;
    if (text.size() >= sizeof eight) {
      std::memcpy(&eight, text.data(), sizeof eight);
      if ((eight & 0x8080808080808080U) == 0) {  // ASCII alone
        text.remove_prefix(sizeof eight);
        continue;
      }
    }
    const Character character = first_character(text);
    if (!character.good) return false;
    text.remove_prefix(character.bytes);
  }
  return true;
}

bool spreadsheet_misreads(std::string_view code) {
  while (!code.empty() && code.front() == ' ') code.remove_prefix(1);
  while (!code.empty() && code.back() == ' ') code.remove_suffix(1);
  if (code.empty()) return false;
  const std::string upper = upper_ascii(code);
  if (upper == "TRUE" || upper == "FALSE") return true;
  if (is_number(upper)) {
    // A plain whole number is shown as it was typed up to eleven digits; a leading
    // zero, a sign, a point or an exponent is not.
    const bool plain = std::all_of(upper.begin(), upper.end(), is_digit);
    return !plain || upper.size() > 11 || (upper.size() > 1 && upper[0] == '0');
  }
  if (upper.back() == '%' && is_number(std::string_view(upper).substr(0, upper.size() - 1))) return true;
  return reads_as_date(upper);
}

}  // namespace swardline
