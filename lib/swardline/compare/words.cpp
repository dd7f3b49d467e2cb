// Numbers of a comparison in words.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "swardline/base/text.hpp"
#include "swardline/compare/compare_parts.hpp"

namespace swardline {

std::string score_text(double score) {
  return std::isnan(score) ? std::string("no score") : fmt::format("{:.2f}", score);
}

std::string signed_text(double value) {
  const std::string text = fmt::format("{:.2f}", std::abs(value));
  return value < 0 && text != "0.00" ? "−" + text : text;
}

std::string score_range(double from, double to) {
  const std::string a = score_text(from), b = score_text(to);
  return a == b ? a : a + "–" + b;
}

std::string figures(double value) {
  if (!std::isfinite(value)) return "–";
  if (value == 0) return "0";
  const double size = std::floor(std::log10(std::abs(value)));
  const double step = std::pow(10.0, size - 2);
  const double rounded = std::round(value / step) * step;
  if (size >= 2) return grouped(std::int64_t(std::llround(rounded)));
  std::string text = fmt::format("{:.{}f}", rounded, std::clamp(int(2 - size), 0, 9));
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text;
}

std::string value_text(double value, const std::string& unit) {
  std::string text = fmt::format("{:.{}f}", value, std::abs(value) < 10 ? 3 : 1);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  if (text == "-0") text = "0";
  if (unit.empty() || unit == "index") return text;
  return text + (unit == "percent" ? " %" : " " + unit);
}

std::string value_range(double from, double to, const std::string& unit) {
  const std::string a = value_text(from, {}), b = value_text(to, {});
  return a == b ? value_text(to, unit) : a + "–" + value_text(to, unit);
}

std::string unit_of_layer(const Plan& plan, const std::string& layer) {
  if (const LayerSpec* spec = plan.layer(layer)) return spec->unit;
  if (layer == "slope" || layer == "aspect") return "degrees";
  return layer == "heat" ? "index" : "";
}

std::string counted_words(int number, const std::string& one) {
  return fmt::format("{} {}{}", grouped(number), one, number == 1 ? "" : "s");
}

std::string some_names(const std::vector<std::string>& names, std::size_t most) {
  if (names.size() <= most + 1) return in_words(names);
  std::string text;
  for (std::size_t i = 0; i < most; ++i) text += (i == 0 ? "" : ", ") + names[i];
  return text + fmt::format(" and {} more", names.size() - most);
}

std::string percent_word(double confidence) { return shortest(std::round(confidence * 1000) / 10); }

namespace {

constexpr std::size_t most_one_by_one = 5;

std::string two_figures(double value) {
  const int decimals = std::clamp(1 - int(std::floor(std::log10(value))), 0, 6);
  return fmt::format("{:.{}f}", value, decimals);
}

std::string times_in_100(double share) { return fmt::format("{:.0f}", 100 * share); }

void say_pairs(const Comparison& comparison, SpeciesComparison& species) {
  if (!species.pairs) return;
  std::string text = fmt::format(
      "Of an occupied and an empty place, each chosen at random, the occupied one has the higher score {} "
      "times "
      "in 100, ties counted half",
      times_in_100(species.pairs->value));
  if (species.pairs->df > 0) {
    const LowHigh limits = symmetric_limits(species.pairs->value, species.pairs->standard_error(),
                                            species.pairs->df, comparison.confidence);
    text += fmt::format(" ({} % limits {}–{})", percent_word(comparison.confidence),
                        times_in_100(std::max(0.0, limits.low)), times_in_100(std::min(1.0, limits.high)));
  }
  text += fmt::format(
      "; 50 would be no better than a coin. Area under the ROC curve {:.2f}, by the draw's weights",
      species.pairs->value);
  const double error = species.plain_pairs ? species.plain_pairs->standard_error : 0;
  if (species.plain_pairs)
    text += fmt::format("; {:.2f}{} if every plot stood for the same ground", species.plain_pairs->share,
                        error > 0 ? fmt::format(" (standard error {:.3f})", error) : std::string());
  species.indices.push_back(text + ".");
}

void say_ratio(SpeciesComparison& species) {
  if (!species.ratio.index) return;
  const RatioWindow *low = nullptr, *high = nullptr;
  for (const RatioWindow& window : species.ratio.windows) {
    if (!window.ratio) continue;
    if (low == nullptr) low = &window;
    high = &window;
  }
  const auto times = [](const RatioWindow& window) {
    if (*window.ratio == 0) return std::string("none of them stand");
    return fmt::format("they are {} times as frequent as ground", two_figures(*window.ratio));
  };
  species.indices.push_back(fmt::format(
      "Occupied plots: {} at scores of {:.2f}–{:.2f}, and {} at {:.2f}–{:.2f}. How steadily that rises "
      "with the score (continuous ratio index, −1 to 1): {}.",
      times(*low), low->low, low->high, times(*high), high->low, high->high,
      signed_text(*species.ratio.index)));
}

void say_agreement(const Comparison& comparison, SpeciesComparison& species) {
  if (!species.agreement) return;
  species.indices.push_back(
      fmt::format("Plots in order of their score and in order of their density agree at {} (rank "
                  "correlation, −1 to 1; {} % "
                  "limits {} to {}).",
                  signed_text(*species.agreement), percent_word(comparison.confidence),
                  signed_text(species.agreement_limits.low), signed_text(species.agreement_limits.high)));
}

}  // namespace

void say_indices(const Comparison& comparison, SpeciesComparison& species) {
  say_pairs(comparison, species);
  say_ratio(species);
  say_agreement(comparison, species);
  const int empty = species.compared - species.occupied;
  if (species.occupied == 0)
    species.cautions.push_back(fmt::format("None found on {}: nothing here can show where the rule is wrong.",
                                           counted_words(species.compared, "plot")));
  else if (empty == 0)
    species.cautions.emplace_back("Every compared plot is occupied: no empty ground to hold them against.");
  else if (species.occupied < 10 || empty < 10)
    species.cautions.push_back(
        fmt::format("Only {} occupied and {} empty plots: every figure here could change with a few more.",
                    species.occupied, empty));
  const double beyond = (1 - comparison.quantile) * species.compared;
  if (species.occupied > 0 && beyond < 5)
    species.cautions.push_back(
        fmt::format("The upper edge of counts rests on the highest {}: take it as a hint.",
                    counted_words(std::max(1, int(beyond)), "plot")));
}

void say_apart(const EvaluatedSeason& counted, const Comparison& comparison, SpeciesComparison& species) {
  const auto name = [&](const PlotAndScore& plot) {
    return counted.units[comparison.plots[plot.plot].unit].name;
  };
  for (const PlotUse use : {PlotUse::set_aside, PlotUse::not_certain}) {
    std::vector<std::string> one_by_one;
    std::map<std::string, std::vector<std::string>> by_reason;
    for (const PlotAndScore& plot : species.plots) {
      if (plot.use != use) continue;
      one_by_one.push_back(fmt::format("{} is set aside: {}.", name(plot), plot.reason));
      by_reason[plot.reason.substr(0, plot.reason.find(", "))].push_back(name(plot));
    }
    if (one_by_one.size() <= most_one_by_one) {
      species.apart.insert(species.apart.end(), one_by_one.begin(), one_by_one.end());
      continue;
    }
    std::vector<std::string> named;
    for (const auto& [reason, plots] : by_reason)
      if (by_reason.size() == 1)
        named = plots;
      else
        for (const std::string& plot : plots) named.push_back(fmt::format("{} ({})", plot, reason));
    species.apart.push_back(
        fmt::format("{} set aside, {}{}: {}.", counted_words(int(named.size()), "plot"),
                    use == PlotUse::set_aside ? "because nobody can tell which cell they stand in"
                                              : "neither occupied nor empty",
                    by_reason.size() == 1 ? fmt::format(" ({})", by_reason.begin()->first) : std::string(),
                    in_words(named)));
  }
  for (const PlotUse use : {PlotUse::excluded, PlotUse::no_score}) {
    std::vector<std::string> reasons;
    for (const PlotAndScore& plot : species.plots)
      if (plot.use == use && std::find(reasons.begin(), reasons.end(), plot.reason) == reasons.end())
        reasons.push_back(plot.reason);
    for (const std::string& reason : reasons) {
      std::vector<std::string> occupied, empty;
      for (const PlotAndScore& plot : species.plots)
        if (plot.use == use && plot.reason == reason)
          (plot.occupied() ? occupied : empty).push_back(name(plot));
      const std::string ground = use == PlotUse::excluded
                                     ? fmt::format("On excluded ground ({})", reason)
                                     : fmt::format("Without a score (no data: {})", reason);
      if (!occupied.empty())
        species.apart.push_back(fmt::format("{}, yet with stems: {}.", ground, some_names(occupied)));
      if (!empty.empty())
        species.apart.push_back(fmt::format("{}, none found: {}.", ground, some_names(empty)));
    }
  }
}

}  // namespace swardline
