#include "swardline/season/read_effort.hpp"

namespace swardline {
namespace {

constexpr Range share{.low = 0, .high = 1, .above_low = true, .below_high = true};
constexpr Range above_zero{.low = 0, .above_low = true};
constexpr double most = 1e6;

void read_expected(const TomlTable& at, Plan& plan) {
  at.each([&](const std::string& code, const toml::node& node) {
    const auto species = at.chosen(code, node, "[effort.expected." + code + "] ");
    if (!species) return;
    ExpectedCounts& counts = plan.effort.expected[code];
    counts.mean = species->number("mean", above_zero);
    counts.sd = species->number("sd", {.low = 0});
    counts.sd_of_differences = species->number("sd_of_differences", {.low = 0});
  });
}

void read_cost(const TomlTable& at, EffortSpec& effort) {
  effort.hours = at.number("hours", above_zero);
  take(at.number("minutes_per_plot", {.low = 0, .high = most, .above_low = true}), effort.minutes_per_plot);
  take(at.number("minutes_per_site", {.low = 0, .high = most}), effort.minutes_per_site);
  take(at.number("walk_m_per_minute", {.low = 0, .high = most, .above_low = true}), effort.walk_m_per_minute);
  take(at.whole("people", 1, 1000), effort.people);
  take(at.number("refused", {.low = 0, .high = 1, .below_high = true}), effort.refused);
}

}  // namespace

void read_effort(const TomlTable& at, Plan& plan) {
  EffortSpec& effort = plan.effort;
  effort.given = true;
  effort.place = at.place();
  effort.precision = at.number("precision", above_zero);
  effort.change = at.number("change", above_zero);
  if (!at.has("precision") && !at.has("change"))
    at.stop(at.place(), "nothing to plan for", "asks for no precision and no change.",
            "How wide may the limits be (precision = 0.25), how big a change matters (change = 0.20)?");
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
