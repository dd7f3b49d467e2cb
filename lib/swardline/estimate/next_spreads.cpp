// How much this season's counts vary.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/effort/pilot.hpp"
#include "swardline/estimate/change_ground.hpp"
#include "swardline/estimate/next.hpp"
#include "swardline/estimate/next_parts.hpp"

namespace swardline {
namespace {

using namespace change_parts;

/// Plots of one stratum, counts brought to a whole plot.
struct StratumPlots {
  double ground = 0, mean = 0, squares = 0;
  int plots = 0, occupied = 0;
  [[nodiscard]] double variance() const { return plots > 1 ? squares / (plots - 1) : 0; }
};

/// Several strata taken together: their mean by ground, their spread within strata.
struct Pool {
  double ground = 0, weighted = 0, squares = 0;
  int plots = 0, free = 0;
  void add(const StratumPlots& stratum) {
    ground += stratum.ground;
    weighted += stratum.ground * stratum.mean;
    squares += stratum.squares;
    plots += stratum.plots;
    free += std::max(0, stratum.plots - 1);
  }
  [[nodiscard]] bool tells() const { return plots >= least_pilot_plots && free > 0 && ground > 0; }
  [[nodiscard]] double mean() const { return weighted / ground; }
  [[nodiscard]] double sd() const { return std::sqrt(squares / free); }
};

class Spreads {
 public:
  Spreads(const EvaluatedSeason& now, std::size_t species) : now_(now), strata_(now.strata.size()) {
    spread_.code = now.species[species];
    for (std::size_t h = 0; h < now.strata.size(); ++h) {
      index_.emplace(now.strata[h].id, h);
      strata_[h].ground = estimated_m2(now, now.strata[h]);
    }
    fill(species);
  }

  SeasonSpread result() {
    Pool all;
    for (const StratumPlots& stratum : strata_)
      if (stratum.plots > 0) all.add(stratum);
    spread_.plots = all.plots;
    if (all.ground > 0) spread_.mean = all.mean();
    double variance = 0, occupied = 0;
    for (const StratumPlots& stratum : strata_) {
      if (stratum.plots == 0 || !(all.ground > 0)) continue;
      const double share = stratum.ground / all.ground;
      const double s2 = stratum.plots > 1 ? stratum.variance() : all.free > 0 ? all.squares / all.free : 0;
      variance += share * share * s2 / stratum.plots;
      occupied += share * stratum.occupied / stratum.plots;
      spread_.empty_plots += stratum.plots - stratum.occupied;
    }
    spread_.sd = std::sqrt(variance * all.plots);
    if (spread_.plots >= least_pilot_plots && occupied > 0 && occupied < 1) spread_.occupied = occupied;
    PilotCounts counts;
    counts.plots = spread_.plots;
    counts.empty_plots = spread_.empty_plots;
    counts.sd = spread_.sd;
    spread_.silent = spread_.plots == 0 ? "no plot was searched for it" : why_silent(counts);
    if (all.tells()) by_stratum(all);
    return std::move(spread_);
  }

 private:
  void fill(std::size_t species) {
    std::vector<double> stems(strata_.size()), area(strata_.size());
    const auto each = [&](const auto& take) {
      for (const EvaluatedUnit& unit : now_.units) {
        if (!unit.evaluated) continue;
        const UnitCount& count = unit.counts[species];
        const auto found = index_.find(unit.stratum);
        if (count.searched && count.area_m2 > 0 && found != index_.end()) take(found->second, count);
      }
    };
    each([&](std::size_t h, const UnitCount& count) {
      ++strata_[h].plots;
      strata_[h].occupied += count.sure > 0 ? 1 : 0;
      stems[h] += count.sure;
      area[h] += count.area_m2;
    });
    const double unit = now_.unit_area_m2;
    for (std::size_t h = 0; h < strata_.size(); ++h)
      if (strata_[h].plots > 0) strata_[h].mean = stems[h] / area[h] * unit;
    each([&](std::size_t h, const UnitCount& count) {
      const double off =
          (count.sure - stems[h] / area[h] * count.area_m2) * strata_[h].plots / area[h] * unit;
      strata_[h].squares += off * off;
    });
  }

  /// A stratum's own numbers where it has plots enough, else its band's, else all strata's.
  void by_stratum(const Pool& all) {
    std::map<std::string, Pool> bands;
    for (std::size_t h = 0; h < strata_.size(); ++h)
      if (strata_[h].plots > 0) bands[next_parts::band_of(now_.strata[h].id)].add(strata_[h]);
    for (std::size_t h = 0; h < strata_.size(); ++h) {
      const auto band = bands.find(next_parts::band_of(now_.strata[h].id));
      const StratumPlots& own = strata_[h];
      const bool enough = own.plots >= least_pilot_plots;
      const bool banded = band != bands.end() && band->second.tells();
      const std::string& id = now_.strata[h].id;
      if (!enough && !banded) spread_.of_all.insert(id);
      spread_.stratum_mean[id] = enough ? own.mean : banded ? band->second.mean() : all.mean();
      spread_.stratum_sd[id] = enough ? std::sqrt(own.variance()) : banded ? band->second.sd() : all.sd();
    }
  }

  const EvaluatedSeason& now_;
  std::vector<StratumPlots> strata_;
  std::map<std::string, std::size_t> index_;
  SeasonSpread spread_;
};

void add_pairs(const SeasonChange& change, double unit_area_m2, SeasonSpread& spread) {
  for (const ChangeEstimate& estimate : change.estimates) {
    if (estimate.species != spread.code || estimate.with_not_certain || estimate.where != "all sites" ||
        !estimate.stratum.empty())
      continue;
    spread.pairs = estimate.paired.pairs;
    const auto se = estimate.paired.standard_error;
    if (!se || !(*se > 0) || spread.pairs < least_pilot_plots) return;
    spread.sd_of_differences = *se * std::sqrt(double(spread.pairs)) * unit_area_m2;
    if (spread.sd > 0) {
      const double ratio = *spread.sd_of_differences / spread.sd;
      spread.correlation = 1 - ratio * ratio / 2;
    }
    return;
  }
}

}  // namespace

namespace next_parts {

std::string without_version(const std::string& stratum) {
  const std::size_t bar = stratum.rfind("|v");
  if (bar == std::string::npos || bar + 2 == stratum.size() ||
      stratum.find_first_not_of("0123456789", bar + 2) != std::string::npos)
    return stratum;
  return stratum.substr(0, bar);
}

std::string band_of(const std::string& stratum) {
  const std::string spoken = without_version(stratum);
  const std::size_t bar = spoken.find('|');
  const std::string tail = bar == std::string::npos ? spoken : spoken.substr(bar + 1);
  constexpr std::string_view score = "score=";
  const std::size_t dash = tail.find('-');
  const bool plain = tail.starts_with(score) && dash != std::string::npos &&
                     tail.find_first_not_of("0123456789-", score.size()) == std::string::npos;
  if (!plain) return tail;
  const int low = std::stoi(tail.substr(score.size())), high = std::stoi(tail.substr(dash + 1));
  return fmt::format("{:.2f}-{:.2f}", low / 100.0, high / 100.0);
}

std::vector<std::string> planned_species(const Season& season) {
  if (!season.plan.effort.species.empty()) return season.plan.effort.species;
  std::vector<std::string> codes;
  for (const Sheet& sheet : season.sheets) codes.push_back(sheet.code);
  return codes;
}

}  // namespace next_parts

std::vector<SeasonSpread> spreads_of(const EvaluatedSeason& now, const EvaluatedSeason* earlier,
                                     const Season& season) {
  std::vector<SeasonSpread> spreads;
  std::optional<SeasonChange> change;
  Flags said_by_change;
  if (earlier != nullptr) {
    const bool shared = std::any_of(now.species.begin(), now.species.end(), [&](const std::string& code) {
      return std::find(earlier->species.begin(), earlier->species.end(), code) != earlier->species.end();
    });
    if (shared) change = change_between(*earlier, now, change_options(season.plan), said_by_change);
  }
  for (const std::string& code : next_parts::planned_species(season)) {
    const auto found = std::find(now.species.begin(), now.species.end(), code);
    if (found == now.species.end()) {
      SeasonSpread none;
      none.code = code;
      none.silent = fmt::format("not counted in {}", now.year);
      spreads.push_back(std::move(none));
      continue;
    }
    SeasonSpread spread = Spreads(now, std::size_t(found - now.species.begin())).result();
    if (change) add_pairs(*change, now.unit_area_m2, spread);
    spreads.push_back(std::move(spread));
  }
  return spreads;
}

Refusals refusals_of(const EvaluatedSeason& now) {
  Refusals refusals;
  std::map<std::string, int> reasons;
  for (const EvaluatedUnit& unit : now.units) {
    if (!unit.in_use) continue;
    if (!unit.evaluated && (unit.fate.empty() || unit.fate == "no return")) {
      ++refusals.no_return;
      continue;
    }
    ++refusals.sent;
    refusals.counted += unit.evaluated ? 1 : 0;
    if (!unit.evaluated) ++reasons[unit.fate];
  }
  refusals.reasons.assign(reasons.begin(), reasons.end());
  std::stable_sort(refusals.reasons.begin(), refusals.reasons.end(),
                   [](const auto& a, const auto& b) { return a.second > b.second; });
  return refusals;
}

}  // namespace swardline
