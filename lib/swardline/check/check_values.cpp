#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/check/check_parts.hpp"

namespace swardline::check_parts {
namespace {

constexpr double foot_m = 0.3048;  // the international foot

std::string plain(double value) {
  // Whole above 1,000, else as many decimals as three figures need: floats print no tail.
  if (std::abs(value) >= 1000) return shortest(std::round(value));
  return shortest(std::round(value * 1000) / 1000);
}

std::string runs(const LayerInfo& info, const Range& range) {
  return fmt::format("{} runs {}–{}", info.name, plain(range.low), plain(range.high));
}

std::string percent_of(double share) {
  return share < 0.0005 ? "under 0.1 %" : fmt::format("{:.1f} %", 100 * share);
}

bool named(const LayerInfo& info, const char* word) {
  return lower_ascii(info.name).find(word) != std::string::npos;
}

// The range a layer of this unit can have; nothing where the unit sets none. Common practice.
std::optional<Range> range_of(const LayerInfo& info) {
  const bool slope = named(info, "slope");
  if (info.unit == "percent") return slope ? Range{0, 2000} : Range{0, 100};
  if (info.unit == "fraction") return Range{0, 1};
  if (info.unit == "degrees") return slope ? Range{0, 90} : Range{-360, 360};
  if (info.unit == "celsius") return Range{-90, 60};
  // Dead Sea shore to above the highest summit; distances have no bounds.
  if (info.unit == "m" && named(info, "elevation")) return Range{-500, 9000};
  return {};
}

bool fits(const Range& range, const Range& allowed) {
  const double slack = 1e-4 * (allowed.high - allowed.low);  // what float cells leave
  return range.low >= allowed.low - slack && range.high <= allowed.high + slack;
}

std::string likely_cause(const LayerInfo& info, const Range& range, const Range& allowed) {
  const auto scale = [&](double factor) { return fmt::format("scale = {}", shortest(info.scale * factor)); };
  const auto scaled = [&](double factor) { return fits({range.low * factor, range.high * factor}, allowed); };
  if (info.unit == "degrees" && named(info, "slope") && range.low >= 0)
    return "In percent? 45 % is 24 degrees. Set unit = \"percent\" and its sheets' corners with it.";
  if (info.unit == "fraction" && scaled(0.01))
    return fmt::format("In percent? Set {} or unit = \"percent\".", scale(0.01));
  if (info.unit == "m" && scaled(foot_m)) return fmt::format("In feet? Set {}.", scale(foot_m));
  for (const int factor : {10, 100, 1000})
    if (scaled(1.0 / factor)) return fmt::format("Scaled by {}? Set {}.", factor, scale(1.0 / factor));
  return "Correct the unit or the raster.";
}

void check_range(const LayerInfo& info, const LayerFacts& facts, Flags& flags) {
  if (info.unit.empty()) {
    if (!facts.whole) return;  // a check of every cell says it with the range
    flags.add(Severity::note, "no unit", info.place,
              fmt::format("{}; no unit is declared, so the range was not checked.", runs(info, facts.range)),
              "Set unit, e.g. unit = \"percent\".");
    return;
  }
  const std::optional<Range> allowed = range_of(info);
  if (!allowed) return;
  Range range = facts.range;
  if (!fits(range, *allowed) && !facts.marks.empty() && facts.range_without_marks.any()) {
    const auto most = std::max_element(facts.marks.begin(), facts.marks.end(),
                                       [](const auto& a, const auto& b) { return a.second < b.second; });
    range = facts.range_without_marks;
    flags.add(Severity::stop, "missing data as a number", info.place,
              fmt::format("{} cells of {} are {}, which no {} can be: missing data stored as a number?",
                          grouped(most->second), info.name, plain(most->first),
                          info.unit == "m" ? "height" : info.unit),
              fmt::format("If so, declare {} as no data in the raster.", plain(most->first)));
  }
  if (!fits(range, *allowed))
    flags.add(Severity::stop, "range does not fit unit", info.place,
              fmt::format("{}: expected {} ({}–{}).", runs(info, range), info.unit, plain(allowed->low),
                          plain(allowed->high)),
              likely_cause(info, range, *allowed));
  else if (facts.whole && info.unit == "percent" && range.high <= 1 && range.high > 0)
    flags.add(Severity::ask, "range does not fit unit", info.place,
              fmt::format("{} and is declared percent.", runs(info, range)),
              fmt::format("A fraction from 0 to 1? Set scale = {}.", shortest(info.scale * 100)));
}

// Zeros far below every other value are usually missing data: between 0 and the next value lies a gap much
// wider than the one after it, and too many cells sit at 0 for chance, too few for a layer that is mostly 0.
void check_zeros(const LayerInfo& info, const LayerFacts& facts, Flags& flags) {
  constexpr double gap_times = 4;
  constexpr double least_gap = 0.02;
  if (!facts.whole) return;  // the gap is one of all values
  const double share = double(facts.zeros) / double(facts.values);
  const double first = facts.above_zero[0];
  const double next = facts.above_zero[1];
  if (facts.range.low < 0 || !std::isfinite(next) || share < 0.0005 || share > 0.9) return;
  if (first < gap_times * (next - first) || first < least_gap * (facts.range.high - first)) return;
  flags.add(Severity::ask, "zeros", info.place,
            fmt::format("{} cells of {} are exactly 0 and the next value is {}: missing data stored as 0?",
                        grouped(facts.zeros), info.name, plain(first)),
            "If so, declare 0 as no data in the raster: until then it is scored as a real 0.");
}

void check_classes(const LayerInfo& info, const LayerFacts& facts, Flags& flags) {
  std::vector<std::pair<std::int64_t, long long>> unknown;  // cells, value
  for (const auto& [value, cells] : facts.class_cells)
    if (info.classes.count(value) == 0) unknown.emplace_back(-cells, value);
  std::sort(unknown.begin(), unknown.end());
  if (!unknown.empty()) {
    constexpr std::size_t most = 5;
    std::vector<std::string> list;
    for (std::size_t i = 0; i < std::min(most, unknown.size()); ++i)
      list.push_back(fmt::format("{} ({} cells{})", unknown[i].second, grouped(-unknown[i].first),
                                 facts.whole ? "" : " by the sites"));
    const std::size_t more = unknown.size() - list.size();
    if (more > 0) list.push_back(fmt::format("{} more", more));
    const bool mark = unknown.size() == 1 && (unknown[0].second == 0 || unknown[0].second == 255);
    flags.add(
        Severity::stop, "unknown class", info.place,
        fmt::format("{} value{} {} {} in no legend.", info.name, unknown.size() == 1 ? "" : "s",
                    in_words(list), unknown.size() == 1 ? "is" : "are"),
        mark ? "If it marks missing data, declare it as no data in the raster; else name it under classes."
        : unknown.size() > most
            ? "Averaging a class layer makes values nobody defined: get it by nearest cell, or name "
              "each under classes."
            : "Name each under classes, or mend the raster.");
  }
  if (!facts.whole) return;
  std::vector<std::string> unmet;
  for (const auto& [value, code] : info.classes)
    if (facts.class_cells.count(value) == 0) unmet.push_back(code);
  if (!unmet.empty())
    flags.add(Severity::note, "class not met", info.place,
              fmt::format("layer {} has no cell of {}.", info.name, in_words(unmet)), "");
}

}  // namespace

void check_values(const Plan& plan, const LayerInfo& info, const LayerFacts& facts, Flags& flags) {
  if (facts.values == 0) return;
  if (info.kind == LayerKind::classes) {
    check_classes(info, facts, flags);
  } else if (plan.layer(info.name) != nullptr) {
    check_range(info, facts, flags);
    check_zeros(info, facts, flags);
  }
}

std::string layer_line(const LayerInfo& info, const LayerFacts& facts) {
  if (!facts.readable) return fmt::format("{}: cannot be read; {}", info.name, info.how);
  if (!facts.whole) return fmt::format("{}: looked at by the sites; {}", info.name, info.how);
  std::string text = info.name + ": ";
  if (facts.values == 0) {
    text += "no data";
  } else if (info.kind == LayerKind::classes) {
    std::vector<std::string> shares;
    for (const auto& [value, cells] : facts.class_cells) {
      const auto code = info.classes.find(value);
      if (code != info.classes.end())
        shares.push_back(
            fmt::format("{} {:.1f} %", code->second, 100 * double(cells) / double(facts.values)));
    }
    text += shares.empty() ? "no known class" : fmt::format("{}", fmt::join(shares, ", "));
  } else {
    text += fmt::format("{}–{}{}{}", plain(facts.range.low), plain(facts.range.high),
                        info.unit.empty() ? "" : " ", info.unit);
  }
  const std::int64_t all = facts.values + facts.none;
  if (facts.none > 0 && facts.values > 0)
    text += fmt::format("; no data on {} cells ({})", grouped(facts.none),
                        percent_of(double(facts.none) / double(all)));
  return text + "; " + info.how;
}

}  // namespace swardline::check_parts
