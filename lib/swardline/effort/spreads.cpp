#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/text.hpp"
#include "swardline/effort/effort.hpp"
#include "swardline/effort/sample_size.hpp"

namespace swardline {
namespace {

bool tells(const PilotCounts& counts) {
  return counts.plots >= least_pilot_plots && counts.sd > 0 && counts.mean > 0;
}

std::vector<std::string> codes_of(const Season& season, const Pilot& pilot) {
  std::vector<std::string> codes;
  for (const Sheet& sheet : season.sheets) codes.push_back(sheet.code);
  const auto add = [&](const std::string& code) {
    if (std::find(codes.begin(), codes.end(), code) == codes.end()) codes.push_back(code);
  };
  for (const auto& entry : pilot) add(entry.first);
  for (const auto& entry : season.plan.effort.expected) add(entry.first);
  return codes;
}

// The mean first, then what the spread of that mean is.
void find_spread(const EffortSpec& spec, const PilotCounts* pilot, const ExpectedCounts& expected,
                 ExpectedSpread& spread) {
  const bool piloted = pilot != nullptr && tells(*pilot);
  if (piloted) {
    spread.mean = pilot->mean;
    spread.sd = pilot->sd;
    spread.basis = fmt::format("{} plots of the pilot, {} of them empty", pilot->plots, pilot->empty_plots);
    return;
  }
  const double seen = pilot != nullptr ? pilot->mean : 0;
  spread.mean = expected.mean.value_or(seen);
  if (!(spread.mean > 0)) {
    spread.unanswered = pilot == nullptr ? "no pilot and no expected mean"
                        : seen > 0       ? "the pilot says nothing of its spread"
                                         : "no plant in the pilot and no expected mean";
    return;
  }
  if (expected.sd && *expected.sd > 0) {
    spread.sd = *expected.sd;
    spread.basis = "the plan";
  } else if (spec.variance_law) {
    const auto& [a, b] = *spec.variance_law;
    spread.sd = sd_by_taylor(spread.mean, a, b);
    spread.basis = fmt::format("variance = {} mean^{}", shortest(a), shortest(b));
  } else {
    spread.unanswered = expected.sd ? "a standard deviation of 0 tells nothing about spread"
                                    : "no standard deviation and no variance_law";
  }
}

}  // namespace

std::vector<ExpectedSpread> expected_spreads(const Season& season, const Pilot& pilot, Flags& flags) {
  const EffortSpec& spec = season.plan.effort;
  std::vector<ExpectedSpread> spreads;
  for (const std::string& code : codes_of(season, pilot)) {
    const auto counted = pilot.find(code);
    const PilotCounts* counts = counted == pilot.end() ? nullptr : &counted->second;
    const auto given = spec.expected.find(code);
    const ExpectedCounts expected = given == spec.expected.end() ? ExpectedCounts{} : given->second;
    ExpectedSpread spread;
    spread.code = code;
    find_spread(spec, counts, expected, spread);
    if (spread.unanswered.empty()) {
      if (counts != nullptr && counts->pairs >= least_pilot_plots && counts->sd_of_differences > 0)
        spread.sd_of_differences = counts->sd_of_differences;
      else if (expected.sd_of_differences && *expected.sd_of_differences > 0)
        spread.sd_of_differences = expected.sd_of_differences;
      else if (spec.correlation)
        spread.sd_of_differences = sd_of_differences(spread.sd, *spec.correlation);
      // Written where a standard deviation belongs, a coefficient of variation makes every sample small.
      if (expected.sd && spread.basis == "the plan" && *expected.sd <= 1 && spread.mean >= 5)
        flags.add(
            Severity::ask, "spread looks like a ratio", spec.place,
            fmt::format("{}: a standard deviation of {} with a mean of {} is smaller than chance makes it.",
                        code, shortest(*expected.sd), shortest(spread.mean)),
            "sd is in plants per plot; a coefficient of variation is sd / mean.");
    }
    spreads.push_back(std::move(spread));
  }
  return spreads;
}

}  // namespace swardline
