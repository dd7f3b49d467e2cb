#include "swardline/report/text_fit.hpp"

#include <array>
#include <cstdint>

namespace swardline {
namespace {

/// Thousandths of the type's size, from the blank on.
constexpr std::array<std::uint16_t, 95> ascii_widths = {
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333,  278, 278, 556, 556, 556,
    556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667,
    611, 778, 722, 278, 500, 667, 556, 833, 722, 778, 667, 778, 722, 667,  611, 722, 667, 944, 667,
    667, 611, 278, 278, 278, 469, 556, 333, 556, 556, 500, 556, 556, 278,  556, 556, 222, 222, 500,
    222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500,  500, 334, 260, 334, 584};

/// Bold letters of these faces are wider by no more, bold quotes apart; digits and blanks are not. Faces
/// differ by a hair.
constexpr double bold_wider = 56, bold_quote_wider = 119, hair = 1.015;

constexpr std::string_view dots = "\u2026";

bool continues(char c) { return (static_cast<unsigned char>(c) & 0xC0U) == 0x80U; }

/// The code point that begins at `at`, and its bytes. Damaged bytes stand for themselves.
struct Letter {
  char32_t code = 0;
  std::size_t bytes = 1;
};
Letter letter_at(std::string_view text, std::size_t at) {
  const auto first = static_cast<unsigned char>(text[at]);
  const std::size_t wanted = first < 0xC0 ? 1 : first < 0xE0 ? 2 : first < 0xF0 ? 3 : 4;
  if (wanted == 1) return {first, 1};
  char32_t code = first & (0xFFU >> (wanted + 1));
  std::size_t bytes = 1;
  while (bytes < wanted && at + bytes < text.size() && continues(text[at + bytes]))
    code = (code << 6U) | (static_cast<unsigned char>(text[at + bytes++]) & 0x3FU);
  return {code, bytes};
}

double width_of(char32_t code) {
  if (code >= 32 && code < 127) return ascii_widths[code - 32];
  if (code < 32 || code == 127) return 278;
  switch (code) {
    case 0xB0:
      return 400;  // degree
    case 0xD7:
      return 584;  // times
    case 0x2013:
      return 556;  // en dash
    case 0x2018:
    case 0x2019:
      return 222;
    case 0xB2:    // square
    case 0xB7:    // middle dot
    case 0x201C:  // quotes
    case 0x201D:
      return 333;
    default:
      break;
  }
  // Letters of Europe, the Near East; the widest of them. Then everything that is a square or a picture.
  return code < 0x0900 ? 1000 : 1400;
}

double width_of(char32_t code, bool bold) {
  if (!bold || code == ' ' || (code >= '0' && code <= '9')) return width_of(code);
  return width_of(code) + (code == '"' ? bold_quote_wider : bold_wider);
}

bool is_blank(char c) { return c == ' ' || c == '\n' || c == '\t' || c == '\r'; }

std::string one_line(std::string_view text) {
  std::string line;
  for (const char c : text)
    if (!is_blank(c))
      line += c;
    else if (!line.empty() && line.back() != ' ')
      line += ' ';
  while (!line.empty() && line.back() == ' ') line.pop_back();
  return line;
}

/// Bytes of `text` that take no more than `mm`, whole letters.
std::size_t bytes_within(std::string_view text, double mm, Type type) {
  double taken = 0;
  std::size_t at = 0;
  while (at < text.size()) {
    const Letter letter = letter_at(text, at);
    taken += text_mm(text.substr(at, letter.bytes), type);
    if (taken > mm) break;
    at += letter.bytes;
  }
  return at;
}

}  // namespace

double text_mm(std::string_view utf8, Type type) {
  double thousandths = 0;
  for (std::size_t at = 0; at < utf8.size();) {
    const Letter letter = letter_at(utf8, at);
    thousandths += width_of(letter.code, type.bold);
    at += letter.bytes;
  }
  return thousandths / 1000 * type.points * mm_per_point * hair;
}

std::string fitted(std::string_view utf8, double mm, Type type) {
  std::string line = one_line(utf8);
  if (text_mm(line, type) <= mm) return line;
  line.resize(bytes_within(line, mm - text_mm(dots, type), type));
  while (!line.empty() && line.back() == ' ') line.pop_back();
  return line + std::string(dots);
}

std::vector<std::string> wrapped(std::string_view utf8, double mm, Type type, std::size_t most) {
  std::vector<std::string> lines;
  std::string rest = one_line(utf8);
  while (!rest.empty()) {
    if (lines.size() + 1 == most || text_mm(rest, type) <= mm) {
      lines.push_back(fitted(rest, mm, type));
      break;
    }
    std::size_t end = bytes_within(rest, mm, type);
    if (end == 0) end = letter_at(rest, 0).bytes;
    // Back to a blank, unless the first word alone is too long.
    if (end < rest.size() && rest[end] != ' ')
      if (const std::size_t blank = rest.rfind(' ', end); blank != std::string::npos && blank > 0)
        end = blank;
    lines.push_back(rest.substr(0, end));
    rest.erase(0, end);
    if (!rest.empty() && rest.front() == ' ') rest.erase(0, 1);
  }
  return lines;
}

}  // namespace swardline
