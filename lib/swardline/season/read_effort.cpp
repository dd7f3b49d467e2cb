#include "swardline/season/read_effort.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/text.hpp"

namespace swardline {
namespace {

constexpr double most = 1e6;

/// A spread of 0 is what a form left half filled gives, and it would make one plot enough.
std::optional<double> spread(const TomlTable& at, const char* key) {
  const auto value = at.number(key, {.low = 0});
  if (!value || *value > 0) return value;
  at.stop(at.place(key), "spread of 0",
          fmt::format("{} = 0: counts that never differ tell nothing about spread.", key),
          "Take it from a pilot or an earlier season, or leave it out and give variance_law.");
  return std::nullopt;
}

void read_expected(const TomlTable& at, Plan& plan) {
  at.each([&](const std::string& code, const toml::node& node) {
    const auto species = at.chosen(code, node, "[effort.expected." + code + "] ");
    if (!species) return;
    ExpectedCounts& counts = plan.effort.expected[code];
    counts.place = species->place();
    counts.mean = species->number("mean", above_zero);
    counts.sd = spread(*species, "sd");
    counts.sd_of_differences = spread(*species, "sd_of_differences");
    counts.occupied = species->number("occupied", share);
  });
}

void read_cost(const TomlTable& at, EffortSpec& effort) {
  effort.hours = at.number("hours", above_zero);
  take(at.number("minutes_per_plot", {.low = 0, .high = most, .above_low = true}), effort.minutes_per_plot);
  take(at.number("minutes_per_site", {.low = 0, .high = most}), effort.minutes_per_site);
  take(at.number("hours_per_day", {.low = 0, .high = 24, .above_low = true}), effort.hours_per_day);
  take(at.number("walk_m_per_minute", {.low = 0, .high = most, .above_low = true}), effort.walk_m_per_minute);
  take(at.whole("people", 1, 1000), effort.people);
  take(at.whole("visits", 1, 1000), effort.visits);
  take(at.number("refused", {.low = 0, .high = 1, .below_high = true}), effort.refused);
}

void read_questions(const TomlTable& at, EffortSpec& effort) {
  // The upper ends catch percents written where shares belong.
  effort.precision = at.number("precision", {.low = 0, .high = 1, .above_low = true});
  effort.change = at.number("change", {.low = 0, .high = 10, .above_low = true});
  effort.occupied_within = at.number("occupied_within", share);
  effort.occupied_change = at.number("occupied_change", share);
  effort.find_one = at.number("find_one", share);
  const auto questions = {"precision", "change", "occupied_within", "occupied_change", "find_one"};
  if (std::none_of(questions.begin(), questions.end(), [&](const char* key) { return at.has(key); }))
    at.stop(at.place(), "nothing to plan for", "asks nothing: how big a change matters?",
            "Write change = 0.20, or say how wide the limits may be: precision = 0.25.");
}

}  // namespace

void read_effort(const TomlTable& at, Plan& plan) {
  EffortSpec& effort = plan.effort;
  effort.given = true;
  effort.place = at.place();
  take(at.texts("species"), effort.species);
  read_questions(at, effort);
  take(at.number("confidence", share), effort.confidence);
  take(at.number("assurance", share), effort.assurance);
  take(at.number("power", share), effort.power);
  take(at.number("false_change", share), effort.false_change);
  if (const auto how = at.choice("revisit", {"same plots", "separate plots"})) effort.same_plots = *how == 0;
  effort.correlation = at.number("correlation", {.low = -1, .high = 1, .below_high = true});
  if (const auto law = at.numbers("variance_law", above_zero)) {
    if (law->size() == 2)
      effort.variance_law = {(*law)[0], (*law)[1]};
    else
      at.stop(at.place("variance_law"), "variance law", "variance_law has two numbers, a and b.",
              "Write variance_law = [2.5, 1.4].");
  }
  read_cost(at, effort);
  if (const auto expected = at.table("expected")) read_expected(*expected, plan);
}

}  // namespace swardline
