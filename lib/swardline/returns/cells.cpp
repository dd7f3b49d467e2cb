#include "swardline/returns/cells.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <chrono>
#include <functional>

#include "swardline/base/text.hpp"
#include "swardline/season/days.hpp"

namespace swardline {
namespace {

bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_letter(char c) { return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z'); }
bool is_blank_ascii(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; }

/// Characters that a spreadsheet or a phone writes in place of plain ones.
struct Plain {
  std::string_view other;
  char plain;
};
constexpr std::array<Plain, 13> plain_signs = {{{"\xE2\x88\x92", '-'},    // U+2212 minus
                                                {"\xE2\x80\x93", '-'},    // U+2013 en dash
                                                {"\xE2\x80\x90", '-'},    // U+2010 hyphen
                                                {"\xC2\xA0", ' '},        // U+00A0 no-break space
                                                {"\xE2\x80\xAF", ' '},    // U+202F narrow no-break space
                                                {"\xE2\x80\x89", ' '},    // U+2009 thin space
                                                {"\xC2\xB0", '*'},        // U+00B0 degree
                                                {"\xC2\xBA", '*'},        // U+00BA, typed for it
                                                {"\xE2\x80\xB2", '\''},   // U+2032 prime
                                                {"\xE2\x80\x99", '\''},   // U+2019
                                                {"\xC2\xB4", '\''},       // U+00B4
                                                {"\xE2\x80\xB3", '"'},    // U+2033 double prime
                                                {"\xE2\x80\x9D", '"'}}};  // U+201D
/// The digit zero of decimal digits in other scripts; the other nine follow it (Unicode, category Nd).
constexpr std::array<std::string_view, 5> zeros = {"\xEF\xBC\x90",   // U+FF10 full width
                                                   "\xD9\xA0",       // U+0660 Arabic-Indic
                                                   "\xDB\xB0",       // U+06F0 extended Arabic-Indic
                                                   "\xE0\xA5\xA6",   // U+0966 Devanagari
                                                   "\xE0\xA7\xA6"};  // U+09E6 Bengali

/// The digit at the start of `text`, 0 to 9; -1: none of these scripts.
int other_digit(std::string_view text, std::string_view zero) {
  const std::size_t last = zero.size() - 1;
  if (text.size() < zero.size() || text.substr(0, last) != zero.substr(0, last)) return -1;
  const int digit = static_cast<unsigned char>(text[last]) - static_cast<unsigned char>(zero[last]);
  return digit >= 0 && digit <= 9 ? digit : -1;
}

std::size_t take_other(std::string_view text, std::string& out) {
  for (const Plain& one : plain_signs)
    if (text.starts_with(one.other)) {
      out += one.plain;
      return one.other.size();
    }
  for (const std::string_view zero : zeros)
    if (const int digit = other_digit(text, zero); digit >= 0) {
      out += static_cast<char>('0' + digit);
      return zero.size();
    }
  out += text[0];
  return 1;
}

/// The same in plain characters where there are such; a view of the cell itself where it is plain already.
std::string_view in_plain(std::string_view cell, std::string& room) {
  const auto other = [](char c) { return static_cast<unsigned char>(c) >= 0x80; };
  if (std::none_of(cell.begin(), cell.end(), other)) return cell;
  room.clear();
  for (std::size_t at = 0; at < cell.size();) {
    if (other(cell[at])) {
      at += take_other(cell.substr(at), room);
    } else {
      room += cell[at++];
    }
  }
  return room;
}

/// A number without sign: digits with at most one point or comma among them.
std::optional<NumberRead> unsigned_number(std::string_view text) {
  std::size_t mark = std::string_view::npos;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (is_digit(text[i])) continue;
    if ((text[i] != '.' && text[i] != ',') || mark != std::string_view::npos) return std::nullopt;
    mark = i;
  }
  constexpr std::size_t longest = 30;
  if (text.empty() || text.size() > longest || text.size() == (mark == std::string_view::npos ? 0 : 1))
    return std::nullopt;
  NumberRead read;
  std::array<char, longest> digits{};
  std::copy(text.begin(), text.end(), digits.begin());
  if (mark != std::string_view::npos) {
    const bool comma = text[mark] == ',';
    const std::size_t behind = text.size() - mark - 1;
    if (comma && (mark == 0 || behind == 0)) return std::nullopt;
    const bool thousands = comma && behind == 3 && mark <= 3 && text[0] != '0';
    read.decimals = thousands ? Decimals::comma_or_thousands : comma ? Decimals::comma : Decimals::point;
    digits[mark] = '.';
  }
  const char* const last = digits.data() + text.size();
  const auto [end, problem] = std::from_chars(digits.data(), last, read.value);
  if (problem != std::errc() || end != last) return std::nullopt;
  return read;
}

/// The month a word names, in full or by three letters; 0: none.
int month_of(std::string_view word) {
  constexpr std::array<std::string_view, 12> months = {"january",   "february", "march",    "april",
                                                       "may",       "june",     "july",     "august",
                                                       "september", "october",  "november", "december"};
  const std::string lower = lower_ascii(word);
  if (lower == "sept") return 9;
  for (std::size_t i = 0; i < months.size(); ++i)
    if (lower == months[i] || lower == months[i].substr(0, 3)) return static_cast<int>(i) + 1;
  return 0;
}

/// Numbers and month names of a date, in their order.
struct DateParts {
  struct Part {
    int value = 0;
    std::size_t digits = 0;  ///< 0: a month's name
  };
  std::array<Part, 3> part;
  std::size_t count = 0;
};

bool is_ordinal(std::string_view word) {
  const std::string lower = lower_ascii(word);
  return lower == "st" || lower == "nd" || lower == "rd" || lower == "th";
}

std::optional<DateParts> date_parts(std::string_view text) {
  DateParts parts;
  for (std::size_t at = 0; at < text.size();) {
    const bool digit = is_digit(text[at]);
    if (!digit && !is_letter(text[at])) {
      if (std::string_view(" -/.,").find(text[at]) == std::string_view::npos || at == 0) return std::nullopt;
      ++at;
      continue;
    }
    std::size_t end = at;
    while (end < text.size() && (digit ? is_digit(text[end]) : is_letter(text[end]))) ++end;
    const std::string_view word = text.substr(at, end - at);
    at = end;
    if (!digit && parts.count > 0 && parts.part[parts.count - 1].digits > 0 && is_ordinal(word)) continue;
    if (parts.count == parts.part.size() || word.size() > 9) return std::nullopt;
    DateParts::Part& part = parts.part[parts.count++];
    part.digits = digit ? word.size() : 0;
    if (digit)
      std::from_chars(word.data(), word.data() + word.size(), part.value);
    else
      part.value = month_of(word);
    if (!digit && part.value == 0) return std::nullopt;
  }
  return parts;
}

int full_year(const DateParts::Part& part) {
  return part.digits == 4 ? part.value : part.digits == 2 ? 2000 + part.value : 0;
}

/// The last such day up to `today`.
Day without_year(int month, int day, Day today) {
  if (today == no_day) return no_day;
  const std::chrono::year_month_day now{std::chrono::sys_days{std::chrono::days{today}}};
  for (int back = 0; back < 8; ++back)  // to the last 29 February
    if (const Day one = day_of(static_cast<int>(now.year()) - back, month, day);
        one != no_day && one <= today)
      return one;
  return no_day;
}

DateRead one_order(Day day) { return {day, day, true}; }

/// Two short numbers are day and month in either order.
DateRead either_order(int first, int second, const std::function<Day(int month, int day)>& make) {
  return {make(second, first), make(first, second), false};
}

std::optional<DateRead> date_of(const DateParts& parts, Day today) {
  const auto& [a, b, c] = parts.part;
  const auto in_year = [&](int month, int day) { return without_year(month, day, today); };
  if (parts.count == 1 && a.digits == 8)
    return one_order(day_of(a.value / 10000, a.value / 100 % 100, a.value % 100));
  const auto small = [](const DateParts::Part& part) { return part.digits == 1 || part.digits == 2; };
  if (parts.count == 2) {
    if (a.digits == 0 && small(b)) return one_order(in_year(a.value, b.value));
    if (b.digits == 0 && small(a)) return one_order(in_year(b.value, a.value));
    if (small(a) && small(b)) return either_order(a.value, b.value, in_year);
    return std::nullopt;
  }
  if (parts.count != 3) return std::nullopt;
  if (a.digits == 4 && (small(b) || b.digits == 0) && small(c))
    return one_order(day_of(a.value, b.value, c.value));
  const int year = full_year(c);
  if (year == 0) return std::nullopt;
  if (a.digits == 0 && small(b)) return one_order(day_of(year, a.value, b.value));
  if (b.digits == 0 && small(a)) return one_order(day_of(year, b.value, a.value));
  if (!small(a) || !small(b)) return std::nullopt;
  return either_order(a.value, b.value, [&](int month, int day) { return day_of(year, month, day); });
}

/// Where a time stands behind a date, the place between them; else npos.
std::size_t before_time(std::string_view text) {
  const std::size_t colon = text.find(':');
  if (colon == std::string_view::npos) return std::string_view::npos;
  std::size_t at = colon;
  while (at > 0 && is_digit(text[at - 1])) --at;
  return at == 0 ? std::string_view::npos : at - 1;
}

int whole(std::string_view text) {
  int value = -1;
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), value);
  return problem == std::errc() && end == text.data() + text.size() ? value : -1;
}

/// "N", "S", "E", "W" off one end: its sign; 0: none.
int take_hemisphere(std::string_view& text) {
  const auto sign_of = [](char c) {
    return c == 'N' || c == 'n' || c == 'E' || c == 'e'   ? 1
           : c == 'S' || c == 's' || c == 'W' || c == 'w' ? -1
                                                          : 0;
  };
  if (text.empty()) return 0;
  int sign = sign_of(text.front());
  if (sign != 0) {
    text = trimmed(text.substr(1));
    return sign;
  }
  sign = sign_of(text.back());
  if (sign != 0) text = trimmed(text.substr(0, text.size() - 1));
  return sign;
}

/// Off the front: one number and what may stand behind it.
std::optional<NumberRead> take_part(std::string_view& text, std::string_view marks) {
  std::size_t end = 0;
  while (end < text.size() && (is_digit(text[end]) || text[end] == '.' || text[end] == ',')) ++end;
  const auto number = unsigned_number(text.substr(0, end));
  while (end < text.size() && (text[end] == ' ' || marks.find(text[end]) != std::string_view::npos)) ++end;
  text.remove_prefix(end);
  return number;
}

}  // namespace

std::string_view trimmed(std::string_view cell) {
  constexpr std::array<std::string_view, 3> others = {"\xC2\xA0", "\xE2\x80\xAF", "\xEF\xBB\xBF"};
  for (bool more = true; more;) {
    more = false;
    while (!cell.empty() && is_blank_ascii(cell.front())) cell.remove_prefix(1);
    while (!cell.empty() && is_blank_ascii(cell.back())) cell.remove_suffix(1);
    if (cell.empty() ||
        (static_cast<signed char>(cell.front()) >= 0 && static_cast<signed char>(cell.back()) >= 0))
      break;
    for (const std::string_view other : others) {
      const bool before = cell.starts_with(other);
      if (before) cell.remove_prefix(other.size());
      const bool behind = cell.ends_with(other);
      if (behind) cell.remove_suffix(other.size());
      more = more || before || behind;
    }
  }
  return cell;
}

std::optional<std::int32_t> read_count(std::string_view cell, std::int32_t most) {
  std::string room;
  std::string_view text = in_plain(trimmed(cell), room);
  for (const std::string_view zeros_behind : {".0", ".00", ",0", ",00"})
    if (text.ends_with(zeros_behind)) {
      text.remove_suffix(zeros_behind.size());
      break;
    }
  if (text.empty() || !std::all_of(text.begin(), text.end(), is_digit)) return std::nullopt;
  std::int32_t value = 0;
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (problem != std::errc() || value > most) return std::nullopt;
  return value;
}

std::optional<NumberRead> read_number(std::string_view cell, std::string_view unit) {
  std::string_view text = trimmed(cell);
  if (!unit.empty()) {
    if (text.ends_with(unit)) text = trimmed(text.substr(0, text.size() - unit.size()));
    if (unit == "m2" && text.ends_with("m\xC2\xB2")) text = trimmed(text.substr(0, text.size() - 3));
  }
  std::string room;
  text = in_plain(text, room);
  const bool negative = !text.empty() && text[0] == '-';
  if (negative || (!text.empty() && text[0] == '+')) text.remove_prefix(1);
  auto read = unsigned_number(text);
  if (read && negative) read->value = -read->value;
  return read;
}

std::optional<NumberRead> read_degrees(std::string_view cell) {
  std::string room;
  std::string_view text = trimmed(in_plain(trimmed(cell), room));
  int sign = take_hemisphere(text);
  if (!text.empty() && (text[0] == '-' || text[0] == '+')) {
    if (sign != 0) return std::nullopt;  // "-96 W" is two statements
    sign = text[0] == '-' ? -1 : 1;
    text = trimmed(text.substr(1));
  }
  if (sign == 0) sign = 1;
  auto degrees = take_part(text, "*:");
  if (!degrees) return std::nullopt;
  double unit = 60;
  NumberRead* last = &*degrees;
  NumberRead part;
  for (const std::string_view marks : {std::string_view("':"), std::string_view("\"'")}) {
    if (text.empty()) break;
    if (last->decimals != Decimals::none) return std::nullopt;  // only the last may have decimals
    const auto next = take_part(text, marks);
    if (!next || next->value >= 60) return std::nullopt;
    degrees->value += next->value / unit;
    unit *= 60;
    part = *next;
    last = &part;
  }
  if (!text.empty()) return std::nullopt;
  return NumberRead{sign * degrees->value,
                    last->decimals == Decimals::comma_or_thousands ? Decimals::comma : last->decimals};
}

std::optional<DateRead> read_date(std::string_view cell, Day today) {
  std::string room;
  std::string_view text = in_plain(trimmed(cell), room);
  if (const std::size_t time = before_time(text); time != std::string_view::npos)
    text = trimmed(text.substr(0, time));
  if (text.empty()) return std::nullopt;
  const auto parts = date_parts(text);
  if (!parts) return std::nullopt;
  const auto read = date_of(*parts, today);
  if (!read || (read->day_first == no_day && read->month_first == no_day)) return std::nullopt;
  return read;
}

std::string iso_day(Day day) {
  const std::chrono::year_month_day date{std::chrono::sys_days{std::chrono::days{day}}};
  return fmt::format("{:04}-{:02}-{:02}", static_cast<int>(date.year()), static_cast<unsigned>(date.month()),
                     static_cast<unsigned>(date.day()));
}

std::optional<std::int16_t> read_time(std::string_view cell) {
  std::string room;
  std::string lower = lower_ascii(in_plain(trimmed(cell), room));
  std::string_view text = lower;
  if (text.starts_with("pt") && text.size() > 6) {  // ISO 8601 duration, as open documents keep times
    std::replace(lower.begin(), lower.end(), 'h', ':');
    std::replace(lower.begin(), lower.end(), 'm', ':');
    if (lower.back() == 's') lower.pop_back();
    text = std::string_view(lower).substr(2);
  }
  if (const std::size_t time = before_time(text); time != std::string_view::npos)
    text = text.substr(time + 1);
  int half = -1;
  for (const auto& [word, is] : {std::pair<std::string_view, int>{"am", 0}, {"pm", 1}})
    if (text.ends_with(word)) {
      half = is;
      text = trimmed(text.substr(0, text.size() - 2));
    }
  int hour = -1, minute = 0;
  if (const std::size_t mark = text.find_first_of(":h"); mark != std::string_view::npos) {
    std::string_view rest = text.substr(mark + 1);
    if (rest.size() > 2 && rest[2] == ':') rest = rest.substr(0, 2);  // seconds are dropped
    hour = mark <= 2 ? whole(text.substr(0, mark)) : -1;
    minute = rest.size() == 2 ? whole(rest) : -1;
  } else if (text.size() == 4) {
    hour = whole(text.substr(0, 2));
    minute = whole(text.substr(2));
  } else if (half >= 0) {
    hour = whole(text);
  }
  if (half >= 0) hour = hour >= 1 && hour <= 12 ? hour % 12 + 12 * half : -1;
  if (hour < 0 || hour > 23 || minute < 0 || minute > 59) return std::nullopt;
  return static_cast<std::int16_t>(hour * 60 + minute);
}

}  // namespace swardline
