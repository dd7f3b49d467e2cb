#include "swardline/design/season_spread.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <set>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/design/season_parts.hpp"

namespace swardline::season_parts {
namespace {

/// Above it an estimate says little more than that there are plants.
constexpr double too_wide = 0.60;

bool is_band(const std::string& key) {
  return key.find_first_not_of("0123456789.-") == std::string::npos && key.find('-') != std::string::npos;
}

/// Looks strata up in one of the plan's tables: identity, site and band, site, band.
class Lookup {
 public:
  Lookup(std::string table, const std::map<std::string, double>& numbers)
      : table_(std::move(table)), numbers_(numbers) {}

  [[nodiscard]] std::optional<double> of(const Stratum& stratum, const std::string& band) {
    std::vector<std::string> keys = {spoken(stratum.id)};
    if (!band.empty()) keys.push_back(stratum.site + " " + band);
    keys.push_back(stratum.site);
    if (!band.empty()) keys.push_back(band);
    std::optional<double> value;
    // All that fit are used, so that a plain band is not called idle where every site has its own.
    for (const std::string& key : keys) {
      const auto found = numbers_.find(key);
      if (found == numbers_.end()) continue;
      used_.insert(key);
      if (!value) value = found->second;
    }
    return value;
  }

  void say_unused(const Place& place, Flags& flags) const {
    std::vector<std::string> idle;
    for (const auto& [key, value] : numbers_) {
      // A plain band may be missing from this season's ground; a site, or a site's band, was meant for one.
      if (!used_.count(key) && !is_band(key)) idle.push_back('"' + key + '"');
    }
    if (idle.empty()) return;
    flags.add(Severity::ask, "no such stratum", place,
              fmt::format("[{}] {} {} to no stratum of this season.", table_, in_words(idle),
                          idle.size() == 1 ? "belongs" : "belong"),
              "Correct it if it was meant for one; a site's code, a band, or both with a blank between.");
  }

  [[nodiscard]] const std::string& table() const { return table_; }

 private:
  std::string table_;
  const std::map<std::string, double>& numbers_;
  std::set<std::string> used_;
};

[[noreturn]] void missing(const Plan& plan, const Lookup& table, const Stratum& stratum,
                          const std::string& band, const char* what, const char* meaning) {
  throw InputError(plan.sample.place, fmt::format("{} in {}.", what, spoken(stratum.id)),
                   fmt::format("Add \"{}\" = {} under [{}].", band.empty() ? spoken(stratum.id) : band,
                               meaning, table.table()));
}

void add_species(const Plan& plan, const SeasonStrata& ground, const std::vector<Stratum>& strata,
                 SeasonShares& season, Flags& flags) {
  for (const auto& [code, spread] : plan.sample.species_spread) {
    Lookup means("sample.spread." + code + ".mean", spread.mean),
        sds("sample.spread." + code + ".sd", spread.sd);
    ExpectedSpecies species{code, spread.target, {}, {}};
    for (std::size_t k = 0; k < season.which.size(); ++k) {
      const Stratum& stratum = strata[season.which[k]];
      const std::string& band = ground.band(season.which[k]);
      const std::optional<double> mean = means.of(stratum, band), sd = sds.of(stratum, band);
      if (!season.shares[k].least_only) {
        const std::string what = fmt::format("nothing is said of {}'s counts", code);
        if (!mean) missing(plan, means, stratum, band, what.c_str(), "the mean of plot counts there");
        if (!sd)
          missing(plan, sds, stratum, band, what.c_str(), "the standard deviation of plot counts there");
      }
      species.mean.push_back(mean.value_or(0));
      species.sd.push_back(sd.value_or(0));
    }
    means.say_unused(spread.place, flags);
    sds.say_unused(spread.place, flags);
    season.species.push_back(std::move(species));
  }
}

std::string percent(double share) { return fmt::format("{:.{}f} %", 100 * share, share < 0.0995 ? 1 : 0); }

}  // namespace

bool gets_plots(const Plan& plan, const Stratum& stratum) {
  return stratum.kind != StratumKind::excluded || plan.sample.plots_in_excluded;
}

SeasonShares season_shares(const Plan& plan, const SeasonStrata& ground, const std::vector<Stratum>& strata,
                           Flags& flags) {
  const SampleSpec& sample = plan.sample;
  SeasonShares season;
  Lookup spreads("sample.spread", sample.spread), costs("sample.cost", sample.cost);
  double dearest = 0;
  for (const auto& [key, minutes] : sample.cost) dearest = std::max(dearest, minutes);
  const bool plain = sample.allocation == Allocation::optimal && sample.species_spread.empty();
  for (std::size_t i = 0; i < strata.size(); ++i) {
    const Stratum& stratum = strata[i];
    if (!gets_plots(plan, stratum)) continue;
    Share share{stratum.id, stratum.area_m2(), 1, stratum.kind != StratumKind::scored, 1};
    const std::optional<double> spread = spreads.of(stratum, ground.band(i));
    if (plain && !share.least_only) {
      if (!spread) {
        missing(plan, spreads, stratum, ground.band(i), "allocation \"optimal\" needs the spread of counts",
                "the standard deviation of plot counts there");
      }
      share.spread = *spread;
    }
    if (!sample.cost.empty()) {
      const std::optional<double> cost = costs.of(stratum, ground.band(i));
      if (!cost && !share.least_only)
        missing(plan, costs, stratum, ground.band(i), "nothing is said of what a plot costs",
                "the minutes that a plot takes there");
      // Ground without a score has no band to look up; a budget must hold all the same.
      share.cost = cost.value_or(dearest);
    }
    season.shares.push_back(std::move(share));
    season.which.push_back(i);
  }
  spreads.say_unused(sample.place, flags);
  costs.say_unused(sample.place, flags);
  add_species(plan, ground, strata, season, flags);
  return season;
}

void expect(const Plan& plan, const SeasonShares& season, const std::vector<Stratum>& strata,
            Certificate& certificate, Flags& flags) {
  std::vector<int> numbers;
  for (const std::size_t i : season.which) numbers.push_back(strata[i].planned);
  std::vector<std::string> said, wide;
  for (const ExpectedSpecies& species : season.species) {
    const auto error = expected_relative_error(season.shares, numbers, species);
    certificate.expected.push_back({species.code, species.target, error});
    said.push_back(
        error ? fmt::format("{} {} ({} wanted)", species.code, percent(*error), percent(species.target))
              : fmt::format("{} none (no plot where it is expected)", species.code));
    if (error && *error > too_wide) wide.push_back(fmt::format("{} ({})", species.code, percent(*error)));
  }
  if (said.empty()) return;
  certificate.allocation.push_back(fmt::format(
      "Expected relative standard error of each total, from the spreads and means in the plan: {}.",
      in_words(said)));
  if (wide.empty()) return;
  flags.add(Severity::ask, "too few plots for a species", plan.sample.place,
            fmt::format("expected relative standard error past {}: {}.", percent(too_wide), in_words(wide)),
            "Such an estimate says little more than that there are plants: give these species more plots, or "
            "longer ones, or do not promise a number.");
}

}  // namespace swardline::season_parts
