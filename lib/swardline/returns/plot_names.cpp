#include "swardline/returns/plot_names.hpp"

#include <algorithm>
#include <functional>
#include <tuple>

#include "swardline/base/check_letter.hpp"
#include "swardline/base/text.hpp"

namespace swardline {
namespace {

constexpr std::size_t most_edits = 2;
constexpr std::size_t longest = 24;  // longer texts are no slip in a short name

bool is_figure(char c) { return c >= '0' && c <= '9'; }
bool is_capital(char c) { return c >= 'A' && c <= 'Z'; }

/// Calls use(hash) for the text and every text left by taking out one or two of its characters.
template <typename Use>
void each_shortened(std::string_view text, const Use& use) {
  const auto hash = [](std::string_view part) { return std::uint64_t(std::hash<std::string_view>{}(part)); };
  use(hash(text));
  std::string one, two;
  for (std::size_t i = 0; i < text.size(); ++i) {
    one.assign(text);
    one.erase(i, 1);
    use(hash(one));
    for (std::size_t j = i; j < one.size(); ++j) {
      two.assign(one);
      two.erase(j, 1);
      use(hash(two));
    }
  }
}

/// Two digits, a letter and a digit, or Z and three digits, as numbers in names are written.
std::size_t length_of_number(std::string_view before_letter) {
  const std::size_t n = before_letter.size();
  if (n >= 2 && is_figure(before_letter[n - 1]) &&
      (is_figure(before_letter[n - 2]) || is_capital(before_letter[n - 2]))) {
    const bool long_form = n >= 4 && before_letter[n - 4] == 'Z' && is_figure(before_letter[n - 3]) &&
                           is_figure(before_letter[n - 2]);
    return long_form ? 4 : 2;
  }
  return 0;
}

PlotNames::Parts split(std::string_view text) {
  if (text.size() < 4 || !is_capital(text.back())) return {};
  const std::string_view before = text.substr(0, text.size() - 1);
  const std::size_t number = length_of_number(before);
  if (number == 0 || number >= before.size()) return {};
  return {std::string(before.substr(0, before.size() - number)),
          std::string(before.substr(before.size() - number)), text.back()};
}

}  // namespace

PlotNames::PlotNames(const std::vector<ExpectedPlot>& plots) : plots_(plots) {
  of_name_.reserve(plots.size());
  shortened_.reserve(plots.size() * 22);
  for (std::size_t i = 0; i < plots.size(); ++i) {
    const std::string& name = plots[i].name;
    of_name_.emplace(name, std::int32_t(i));
    all_have_letters_ = all_have_letters_ && !std::all_of(name.begin(), name.end(), is_figure);
    if (const Parts parts = split(name); !parts.stem.empty() && check_letter(parts.body()) == parts.letter)
      stems_.insert(parts.stem);
    if (name.size() <= longest)
      each_shortened(name, [&](std::uint64_t hash) { shortened_.push_back({hash, std::int32_t(i)}); });
  }
  std::sort(shortened_.begin(), shortened_.end());
}

std::int32_t PlotNames::find(std::string_view name) const {
  const auto found = of_name_.find(name);
  return found == of_name_.end() ? -1 : found->second;
}

std::vector<PlotNames::Near> PlotNames::near(std::string_view text) const {
  std::vector<Near> found;
  const std::string upper = upper_ascii(text);
  if (upper.empty() || upper.size() > longest) return found;
  std::unordered_set<std::int32_t> seen;
  each_shortened(upper, [&](std::uint64_t hash) {
    auto at = std::lower_bound(shortened_.begin(), shortened_.end(), Shortened{hash, -1});
    for (; at != shortened_.end() && at->hash == hash; ++at) {
      if (!seen.insert(at->plot).second) continue;
      const std::string& name = plots_[std::size_t(at->plot)].name;
      const std::size_t edits = edit_distance(upper, name);
      // Two short words that share next to nothing are within two edits of each other and no slip.
      if (edits <= most_edits && edits * 2 < std::max(upper.size(), name.size())) {
        found.push_back({at->plot, edits});
      }
    }
  });
  std::sort(found.begin(), found.end(), [&](const Near& a, const Near& b) {
    return std::tie(a.edits, plots_[std::size_t(a.plot)].name) <
           std::tie(b.edits, plots_[std::size_t(b.plot)].name);
  });
  return found;
}

std::vector<std::int32_t> PlotNames::beginning(std::string_view start, std::size_t most) const {
  std::vector<std::int32_t> found;
  for (std::size_t i = 0; i < plots_.size() && found.size() < most; ++i)
    if (plots_[i].name.starts_with(start)) found.push_back(std::int32_t(i));
  return found;
}

PlotNames::Parts PlotNames::parts_of(std::string_view text) const {
  Parts parts = split(upper_ascii(text));
  if (!stems_.contains(parts.stem)) return {};
  return parts;
}

std::int32_t PlotNames::completed(std::string_view text) const {
  std::string kept;
  for (const char c : upper_ascii(text))
    if (is_figure(c) || is_capital(c)) kept += c;
  if (const std::int32_t whole = find(kept); whole >= 0) return whole;
  std::size_t digits = 0;
  while (digits < kept.size() && is_figure(kept[kept.size() - 1 - digits])) ++digits;
  if (digits == 0 || digits > 2 || digits == kept.size()) return -1;
  if (digits == 1) kept.insert(kept.size() - 1, 1, '0');
  return find(kept + check_letter(kept));
}

}  // namespace swardline
