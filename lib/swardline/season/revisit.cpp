#include "swardline/season/revisit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <numeric>

namespace swardline {
namespace {

constexpr int most_seasons = 50;

std::vector<std::string_view> split(std::string_view text, char at) {
  std::vector<std::string_view> pieces;
  while (true) {
    const std::size_t end = text.find(at);
    pieces.push_back(text.substr(0, end));
    if (end == std::string_view::npos) return pieces;
    text.remove_prefix(end + 1);
  }
}

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
  while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
  return text;
}

/// Why this part cannot be read; empty when it can.
std::string read_part(std::string_view text, RevisitPart& part) {
  part.text = text;
  const std::vector<std::string_view> numbers = split(text, '-');
  if (numbers.size() < 2 || numbers.size() % 2 != 0)
    return fmt::format("\"{}\" is not pairs of seasons on and off", text);
  for (std::size_t i = 0; i < numbers.size(); ++i) {
    const std::string_view word = trimmed(numbers[i]);
    const bool last = i + 1 == numbers.size();
    int number = 0;
    if (last && word == "n") {
      part.never_again = true;
    } else {
      const auto [end, error] = std::from_chars(word.data(), word.data() + word.size(), number);
      if (error != std::errc{} || end != word.data() + word.size() || number < 0 || number > most_seasons)
        return fmt::format("\"{}\": '{}' is no number of seasons{}", text, word, last ? " and not n" : "");
    }
    const bool may_be_none = last && (part.never_again || numbers.size() == 2);
    if (number == 0 && !may_be_none) return fmt::format("\"{}\" has no seasons where it says 0", text);
    part.on_off.push_back(number);
  }
  return {};
}

}  // namespace

int RevisitPart::cycle() const { return always() ? 1 : std::accumulate(on_off.begin(), on_off.end(), 0); }

bool RevisitPart::always() const { return !never_again && on_off.size() == 2 && on_off[1] == 0; }

bool RevisitPart::on(int season) const {
  if (season < 0) return false;
  if (always()) return true;
  int left = never_again ? season : season % cycle();
  for (std::size_t i = 0; i < on_off.size(); ++i) {
    if (left < on_off[i]) return i % 2 == 0;
    left -= on_off[i];
  }
  return false;
}

int RevisitPart::visits() const {
  int count = 0;
  for (int season = 0; season < cycle(); ++season) count += on(season) ? 1 : 0;
  return count;
}

std::vector<RevisitPart> read_pattern(std::string_view text, std::string& problem) {
  const std::string_view whole = trimmed(text);
  if (whole.size() < 2 || whole.front() != '[' || whole.back() != ']') {
    problem = fmt::format("\"{}\" is not in brackets", text);
    return {};
  }
  std::vector<RevisitPart> parts;
  for (const std::string_view piece : split(whole.substr(1, whole.size() - 2), ',')) {
    RevisitPart part;
    problem = read_part(trimmed(piece), part);
    if (!problem.empty()) return {};
    parts.push_back(std::move(part));
  }
  for (RevisitPart& part : parts) part.share = 1.0 / double(parts.size());
  return parts;
}

}  // namespace swardline
