// Next season's planning in words and as JSON.
#include <fmt/format.h>

#include "swardline/base/text.hpp"
#include "swardline/estimate/change_numbers.hpp"
#include "swardline/estimate/next.hpp"

namespace swardline {
namespace {

using namespace change_parts;

std::string share_words(double share) { return fmt::format("{:.3g} %", 100 * share); }

std::string plots(int number) {
  return fmt::format("{} {}", grouped(number), number == 1 ? "plot" : "plots");
}

std::string refusals_in_words(const Refusals& refusals, int year) {
  const std::string without = fmt::format("Nothing came back of {}{}.\n", plots(refusals.no_return),
                                          refusals.sent > 0 ? ": left out of that share" : "");
  if (refusals.sent == 0)
    return refusals.no_return > 0 ? without : fmt::format("No plot of {} was in use.\n", year);
  std::string out =
      fmt::format("In {} teams were sent to {} and counted {}; {} were not counted", year,
                  plots(refusals.sent), grouped(refusals.counted), share_words(refusals.share()));
  std::vector<std::string> reasons;
  for (const auto& [reason, plots] : refusals.reasons) reasons.push_back(fmt::format("{} {}", plots, reason));
  out += reasons.empty() ? ".\n" : fmt::format(": {}.\n", in_words(reasons));
  return refusals.no_return > 0 ? out + without : out;
}

std::string spread_in_words(const SeasonSpread& spread) {
  if (!spread.silent.empty()) return fmt::format("  {}: {}.\n", spread.code, spread.silent);
  std::string out =
      fmt::format("  {}: mean {:.3g}, standard deviation {:.3g} per plot ({}, {} empty)", spread.code,
                  spread.mean, spread.sd, plots(spread.plots), grouped(spread.empty_plots));
  if (spread.sd_of_differences)
    out += fmt::format("; on {} pairs, differences {:.3g}", grouped(spread.pairs), *spread.sd_of_differences);
  if (spread.correlation) out += fmt::format(" (as of a correlation of {:.2f})", *spread.correlation);
  return out + ".\n";
}

std::string panels_in_words(const NextSeason& next) {
  if (next.pattern.empty()) return {};
  std::string out = fmt::format("Panels {} in {}:\n", next.pattern, next.year);
  for (const NextPanel& panel : next.panels) {
    out += fmt::format("  {:<4} {:>5} {}  ", panel.name, grouped(panel.plots),
                       panel.plots == 1 ? "plot " : "plots");
    out += panel.due      ? "due\n"
           : panel.due_in ? fmt::format("rests until {}\n", *panel.due_in)
                          : "not met again\n";
  }
  if (!next.panels_end.empty()) out += fmt::format("  Note: {}.\n", next.panels_end);
  return out;
}

std::string strata_in_words(const NextSeason& next) {
  if (!next.no_allocation.empty())
    return fmt::format("Plots are not shared over strata: {}.\n", next.no_allocation);
  std::size_t width = 7;
  for (const NextStratum& stratum : next.strata) width = std::max(width, stratum.stratum.size());
  std::string out = fmt::format(
      "{} plots over strata by this season's spreads (the species farthest from its target first):\n"
      "  {:<{}}  {:>9}  {:>7}  {:>7}  {:>5}\n",
      grouped(next.total), "stratum", width, "ground", "planned", "counted", "next");
  for (const NextStratum& stratum : next.strata)
    out += fmt::format("  {:<{}}  {:>9}  {:>7}  {:>7}  {:>5}\n", stratum.stratum, width,
                       hectares(stratum.area_m2), grouped(stratum.planned), grouped(stratum.counted),
                       grouped(stratum.next));
  return out;
}

std::string next_json(const std::optional<double>& value) {
  return value ? json_number(*value) : std::string("null");
}

std::string next_json(const std::optional<int>& value) {
  return value ? std::to_string(*value) : std::string("null");
}

template <class List, class Item>
std::string listed(const List& list, const Item& item) {
  std::string text = "[";
  bool first = true;
  for (const auto& one : list) {
    text += (first ? "\n    " : ",\n    ") + item(one);
    first = false;
  }
  return text + (first ? "]" : "\n  ]");
}

}  // namespace

std::string in_words(const NextSeason& next, const Season& season) {
  std::string out = refusals_in_words(next.refusals, next.from_year);
  out += next.earlier_year
             ? fmt::format("Spread between plots in {}, pairs with {}:\n", next.from_year, *next.earlier_year)
             : fmt::format("Spread between plots in {}:\n", next.from_year);
  for (const SeasonSpread& spread : next.spreads) out += spread_in_words(spread);
  out += panels_in_words(next) + strata_in_words(next);
  if (next.effort) {
    Plan plan = season.plan;
    if (next.refusals.sent > 0) plan.effort.refused = std::min(0.95, next.refusals.share());
    out += in_words(*next.effort, plan) + "\n";
  } else {
    out += fmt::format("Plots are not worked out: {}\n", next.nothing_to_plan);
  }
  return out + "Lines for next season's plan:\n" + next.plan_lines;
}

std::string to_json(const NextSeason& next) {
  const auto spread = [](const SeasonSpread& s) {
    return fmt::format(
        "{{\"species\": {}, \"plots\": {}, \"empty_plots\": {}, \"mean\": {}, \"sd\": {}, \"occupied\": {}, "
        "\"pairs\": {}, \"sd_of_differences\": {}, \"correlation\": {}, \"silent\": {}}}",
        json_quote(s.code), s.plots, s.empty_plots, json_number(s.mean), json_number(s.sd),
        next_json(s.occupied), s.pairs, next_json(s.sd_of_differences), next_json(s.correlation),
        json_quote(s.silent));
  };
  const auto panel = [](const NextPanel& p) {
    return fmt::format("{{\"panel\": {}, \"plots\": {}, \"due\": {}, \"due_in\": {}}}", json_quote(p.name),
                       p.plots, p.due, next_json(p.due_in));
  };
  const auto stratum = [](const NextStratum& s) {
    return fmt::format("{{\"stratum\": {}, \"area_m2\": {}, \"planned\": {}, \"counted\": {}, \"next\": {}}}",
                       json_quote(s.stratum), json_number(s.area_m2), s.planned, s.counted, s.next);
  };
  const auto reason = [](const auto& one) {
    return fmt::format("{{\"reason\": {}, \"plots\": {}}}", json_quote(one.first), one.second);
  };
  const auto need = [](const SpeciesEffort& species) {
    std::vector<std::string> needs;
    for (const Answer& answer : species.answers)
      if (answer.need)
        needs.push_back(std::to_string(answer.need->planned));
      else
        needs.emplace_back("null");
    return fmt::format("{{\"species\": {}, \"plots_to_plan\": [{}]}}", json_quote(species.spread.code),
                       fmt::join(needs, ", "));
  };
  std::string text = fmt::format(
      "{{\n  \"year\": {}, \"from_year\": {}, \"earlier_year\": {}, \"sent\": {}, \"counted\": {}, "
      "\"no_return\": {}, \"refused\": {},\n  \"reasons\": {},\n  \"spreads\": {},\n  \"panels\": {},\n  "
      "\"strata\": {},\n",
      next.year, next.from_year, next_json(next.earlier_year), next.refusals.sent, next.refusals.counted,
      next.refusals.no_return, json_number(next.refusals.share()), listed(next.refusals.reasons, reason),
      listed(next.spreads, spread), listed(next.panels, panel), listed(next.strata, stratum));
  if (next.effort) text += fmt::format("  \"effort\": {},\n", listed(next.effort->species, need));
  return text + fmt::format("  \"nothing_to_plan\": {},\n  \"plan_lines\": {}\n}}",
                            json_quote(next.nothing_to_plan), json_quote(next.plan_lines));
}

}  // namespace swardline
