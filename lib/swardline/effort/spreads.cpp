#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/effort/effort.hpp"
#include "swardline/effort/sample_size.hpp"

namespace swardline {
namespace {

std::vector<std::string> sheet_codes(const Season& season) {
  std::vector<std::string> codes;
  for (const Sheet& sheet : season.sheets) codes.push_back(sheet.code);
  return codes;
}

std::string of_the_pilot(const PilotCounts& counts) {
  return fmt::format("{} plots of the pilot, {} of them empty", counts.plots, counts.empty_plots);
}

/// One species: the pilot before the plan's own numbers before the variance law.
class Expectation {
 public:
  Expectation(const Season& season, const std::string& code, const Pilot& pilot) : spec_(season.plan.effort) {
    const auto counted = pilot.find(code);
    if (counted != pilot.end()) pilot_ = &counted->second;
    if (pilot_ != nullptr) silent_ = why_silent(*pilot_);
    const auto given = spec_.expected.find(code);
    if (given != spec_.expected.end()) given_ = &given->second;
    spread_.code = code;
  }

  ExpectedSpread find(Flags& flags) {
    find_mean_and_sd();
    if (spread_.unanswered.empty()) find_differences();
    find_occupied();
    if (pilot_tells()) advise();
    say_silence(flags);
    if (spread_.basis == by_plan) doubt_ratio(flags);
    return std::move(spread_);
  }

 private:
  static constexpr const char* by_plan = "the plan";

  [[nodiscard]] bool pilot_tells() const { return pilot_ != nullptr && silent_.empty(); }

  void find_mean_and_sd() {
    if (pilot_tells()) {
      spread_.mean = pilot_->mean;
      spread_.sd = pilot_->sd;
      spread_.basis = of_the_pilot(*pilot_);
      return;
    }
    const double seen = pilot_ != nullptr ? pilot_->mean : 0;
    const double mean = given_ != nullptr && given_->mean ? *given_->mean : seen;
    if (!(mean > 0)) {
      spread_.unanswered = pilot_ != nullptr ? silent_ : "no pilot and no expected mean";
      return;
    }
    const std::optional<double> sd = given_ != nullptr ? given_->sd : std::nullopt;
    if (sd && *sd > 0) {
      spread_.sd = *sd;
      spread_.basis = by_plan;
    } else if (spec_.variance_law) {
      const auto& [a, b] = *spec_.variance_law;
      spread_.sd = sd_by_taylor(mean, a, b);
      spread_.basis = fmt::format("variance = {} mean^{}", shortest(a), shortest(b));
    } else {
      spread_.unanswered = sd                  ? "a standard deviation of 0 tells nothing about spread"
                           : pilot_ != nullptr ? silent_
                                               : "no standard deviation and no variance_law";
      return;
    }
    spread_.mean = mean;
  }

  void find_differences() {
    if (pilot_ != nullptr && pilot_->pairs >= least_pilot_plots && pilot_->sd_of_differences > 0)
      spread_.sd_of_differences = pilot_->sd_of_differences;
    else if (given_ != nullptr && given_->sd_of_differences && *given_->sd_of_differences > 0)
      spread_.sd_of_differences = given_->sd_of_differences;
    else if (spec_.correlation)
      spread_.sd_of_differences = sd_of_differences(spread_.sd, *spec_.correlation);
  }

  void find_occupied() {
    const bool enough = pilot_ != nullptr && pilot_->plots >= least_pilot_plots;
    if (enough && pilot_->empty_plots > 0 && pilot_->empty_plots < pilot_->plots) {
      spread_.occupied = 1 - double(pilot_->empty_plots) / pilot_->plots;
      spread_.occupied_basis = of_the_pilot(*pilot_);
    } else if (given_ != nullptr && given_->occupied) {
      spread_.occupied = given_->occupied;
      spread_.occupied_basis = by_plan;
    } else if (!enough) {
      spread_.occupied_unanswered =
          pilot_ != nullptr ? silent_ : "no pilot and no expected share of plots occupied";
    } else {
      spread_.occupied_unanswered = fmt::format("{} plots {} tell nothing of a share", pilot_->plots,
                                                pilot_->empty_plots > 0 ? "all empty" : "all occupied");
    }
  }

  // Plants grow in patches: a long plot crosses more of them than a compact one of the same area, so fewer
  // plots stay empty and counts differ less (Elzinga, Salzer & Willoughby 1998; common practice).
  void advise() {
    constexpr double mostly_empty = 0.8;
    if (pilot_->empty_plots < mostly_empty * pilot_->plots) return;
    spread_.advice = fmt::format(
        "{} of {} pilot plots are empty: longer plots, laid across the gradient, would cross more patches "
        "and "
        "differ less.",
        pilot_->empty_plots, pilot_->plots);
  }

  void say_silence(Flags& flags) const {
    if (silent_.empty()) return;
    const bool answered = spread_.unanswered.empty();
    flags.add(answered ? Severity::note : Severity::ask, "pilot says nothing",
              {spec_.pilot.filename().string(), 0, spread_.code}, silent_ + ".",
              answered
                  ? fmt::format("Taken instead: {}.", spread_.basis)
                  : fmt::format("Count {} plots or more where the species grows, give [effort.expected.{}], "
                                "or a variance_law.",
                                least_pilot_plots, spread_.code));
  }

  // Plants scattered at random have a variance equal to their mean (Poisson), and real ones more. Written
  // where a standard deviation belongs, a coefficient of variation makes every sample small.
  void doubt_ratio(Flags& flags) const {
    if (spread_.sd >= std::sqrt(spread_.mean) / 2) return;
    flags.add(
        Severity::ask, "spread looks like a ratio", given_->place,
        fmt::format("{}: a standard deviation of {} with a mean of {} is far below what chance alone gives "
                    "({:.2g}).",
                    spread_.code, shortest(spread_.sd), shortest(spread_.mean), std::sqrt(spread_.mean)),
        fmt::format("Is it a coefficient of variation? Then write sd = {:.3g}.", spread_.sd * spread_.mean));
  }

  const EffortSpec& spec_;
  const PilotCounts* pilot_ = nullptr;
  const ExpectedCounts* given_ = nullptr;
  std::string silent_;
  ExpectedSpread spread_;
};

}  // namespace

Pilot read_pilot(const Season& season, Flags& flags) {
  const std::filesystem::path& file = season.plan.effort.pilot;
  return file.empty() ? Pilot{} : read_pilot(file, sheet_codes(season), flags);
}

std::vector<ExpectedSpread> expected_spreads(const Season& season, const Pilot& pilot, Flags& flags) {
  const std::vector<std::string>& asked = season.plan.effort.species;
  std::vector<ExpectedSpread> spreads;
  for (const std::string& code : asked.empty() ? sheet_codes(season) : asked)
    spreads.push_back(Expectation(season, code, pilot).find(flags));
  return spreads;
}

}  // namespace swardline
