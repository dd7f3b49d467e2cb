#include "swardline/report/chart_text.hpp"

namespace swardline {
namespace {

constexpr const char* ellipsis = "…";

/// Advances of Helvetica and faces made to fit it, at 12 pixels, rounded up by kind.
double advance_of(unsigned char first) {
  if (first >= 0xE0) return 13;  // scripts of square letters, and pictures
  if (first >= 0x80) return 9;
  if (first == 'W' || first == 'M' || first == 'm' || first == '@' || first == '%') return 12;
  if (first >= 'A' && first <= 'Z') return 9.4;
  if (first == 'i' || first == 'l' || first == 'j' || first == ' ' || first == '.' || first == ',')
    return 3.6;
  return 7;
}

bool goes_on(char byte) { return (static_cast<unsigned char>(byte) & 0xC0U) == 0x80U; }

}  // namespace

double text_width(std::string_view text) {
  double width = 0;
  for (const char byte : text)
    if (!goes_on(byte)) width += advance_of(static_cast<unsigned char>(byte));
  return width;
}

std::string fitted(const std::string& text, double pixels) {
  if (text_width(text) <= pixels) return text;
  double width = text_width(ellipsis);
  std::size_t at = 0;
  while (at < text.size()) {
    std::size_t end = at + 1;
    while (end < text.size() && goes_on(text[end])) ++end;
    width += advance_of(static_cast<unsigned char>(text[at]));
    if (width > pixels) break;
    at = end;
  }
  return text.substr(0, at) + ellipsis;
}

}  // namespace swardline
