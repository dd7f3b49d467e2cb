#include <fmt/format.h>

#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/effort/effort.hpp"
#include "swardline/effort/sample_size.hpp"

namespace swardline {
namespace {

std::string percent(double share) { return fmt::format("{:.3g} %", 100 * share); }

std::string tenth(double value) { return shortest(std::round(10 * value) / 10); }

std::string hours_words(const std::optional<double>& hours) {
  return hours ? fmt::format(", {:.0f} person-hours", *hours) : std::string();
}

// "98 plots by the formula (79 where 400 fit), 100 by Student's t, …".
std::string need_words(const Need& need, const Effort& effort, const EffortSpec& spec, bool precision) {
  const double formula = std::ceil(need.by_normal - 1e-9);
  std::string out = fmt::format("{:.0f} plots by the formula", formula);
  if (precision)
    out += fmt::format(" ({:.0f} where {} fit)",
                       std::ceil(plots_in_finite_area(formula, effort.possible_plots) - 1e-9),
                       grouped(std::int64_t(effort.possible_plots)));
  out += fmt::format(", {} by Student's t", need.by_t);
  if (precision)
    out += fmt::format(", {} so that {} of samples keep them, {} in this area", need.adjusted,
                       percent(spec.assurance), need.in_area);
  if (spec.refused > 0)
    out += fmt::format("; {} to be planned with {} not counted", need.planned, percent(spec.refused));
  return out + hours_words(need.hours) + ".\n";
}

std::string species_words(const SpeciesEffort& species, const Effort& effort, const EffortSpec& spec) {
  const ExpectedSpread& spread = species.spread;
  if (!spread.unanswered.empty())
    return fmt::format("{}  cannot be planned for: {}.\n", spread.code, spread.unanswered);
  std::string out = fmt::format("{}  mean {}, standard deviation {} per plot ({}).\n", spread.code,
                                shortest(std::round(100 * spread.mean) / 100),
                                shortest(std::round(100 * spread.sd) / 100), spread.basis);
  if (species.precision)
    out += fmt::format("  Limits of ±{} at {}: {}", percent(*spec.precision), percent(spec.confidence),
                       need_words(*species.precision, effort, spec, true));
  if (species.change)
    out += fmt::format("  A change of {}, seen with {} power at {} false changes ({}): {}",
                       percent(*spec.change), percent(spec.power), percent(spec.false_change),
                       spec.same_plots ? fmt::format("same plots, differences' standard deviation {}",
                                                     tenth(*spread.sd_of_differences))
                                       : "separate plots, in each season",
                       need_words(*species.change, effort, spec, false));
  if (species.change_unanswered)
    out += fmt::format("  A change cannot be planned for: {}.\n", *species.change_unanswered);
  return out;
}

std::string table(const Effort& effort, const EffortSpec& spec) {
  std::string out =
      fmt::format("Expected limits at {} (and the smallest change seen), by plots:\n  {:>6} {:>7}",
                  percent(spec.confidence), "plots", "hours");
  for (const SpeciesEffort& species : effort.species)
    if (!species.reach.empty()) out += fmt::format(" {:>16}", species.spread.code);
  out += '\n';
  for (std::size_t i = 0; i < effort.plots.size(); ++i) {
    out += fmt::format("  {:>6} {:>7.0f}", effort.plots[i], effort.hours[i]);
    for (const SpeciesEffort& species : effort.species) {
      if (species.reach.empty()) continue;
      const Reach& reach = species.reach[i];
      out += fmt::format(" {:>16}", fmt::format("±{:.0f} %{}", 100 * reach.half_width,
                                                reach.change ? fmt::format(" ({:.0f} %)", 100 * *reach.change)
                                                             : std::string()));
    }
    out += '\n';
  }
  return out;
}

const Reach* reach_at(const Effort& effort, const std::string& code, int plots) {
  for (const SpeciesEffort& species : effort.species)
    for (std::size_t i = 0; i < species.reach.size(); ++i)
      if (species.spread.code == code && effort.plots[i] == plots) return &species.reach[i];
  return nullptr;
}

std::string failing_words(const Effort& effort, const EffortSpec& spec) {
  const int there_are = effort.affordable.value_or(effort.planned);
  std::string out;
  for (const Failing& failing : effort.failing) {
    out += fmt::format("SHORT {} {}: {} plots needed, {} {}", failing.species,
                       failing.change ? "change" : "limits", failing.needed, there_are,
                       effort.affordable ? "affordable" : "planned");
    if (const Reach* reach = reach_at(effort, failing.species, there_are)) {
      if (failing.change && reach->change)
        out += fmt::format(", which show a change of {}", percent(*reach->change));
      else if (!failing.change)
        out += fmt::format(", which give ±{}", percent(reach->half_width));
    }
    out +=
        &failing == &effort.failing.front() && effort.failing.size() > 1 ? ". The first to fail.\n" : ".\n";
  }
  for (const SpeciesEffort& species : effort.species)
    if (const Reach* reach = reach_at(effort, species.spread.code, there_are);
        reach != nullptr && reach->variation > 0.6)
      out += fmt::format(
          "{} would have a coefficient of variation of {} with {} plots: say so before anyone drives.\n",
          species.spread.code, percent(reach->variation), there_are);
  if (spec.hours)
    out += fmt::format("{} person-hours pay for {} planned plots.\n", shortest(*spec.hours), there_are);
  return out;
}

}  // namespace

std::string in_words(const Effort& effort, const EffortSpec& spec) {
  std::string out;
  for (const SpeciesEffort& species : effort.species) out += species_words(species, effort, spec);
  if (!effort.plots.empty()) out += table(effort, spec);
  return out + failing_words(effort, spec);
}

}  // namespace swardline
