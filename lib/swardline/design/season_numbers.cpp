// How many plots each stratum of a season gets, and saying so.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/design/allocation.hpp"
#include "swardline/design/season_parts.hpp"
#include "swardline/design/site_parts.hpp"

namespace swardline::season_parts {
namespace {

bool gets_plots(const Plan& plan, const Stratum& stratum) {
  return stratum.kind != StratumKind::excluded || plan.sample.plots_in_excluded;
}

double spread_of(const Plan& plan, const Stratum& stratum, const std::string& band) {
  const std::map<std::string, double>& spread = plan.sample.spread;
  const std::string own = band.empty() ? stratum.site : stratum.site + " " + band;
  for (const std::string& key : {own, band}) {
    const auto found = spread.find(key);
    if (found != spread.end()) return found->second;
  }
  throw InputError(
      plan.sample.place,
      fmt::format("allocation \"optimal\" needs the spread of counts in {}.", spoken(stratum.id)),
      fmt::format("Add \"{}\" = the standard deviation of plot counts there under [sample.spread].",
                  band.empty() ? own : band));
}

const char* by_words(Allocation how) {
  switch (how) {
    case Allocation::equal:
      return "in equal parts";
    case Allocation::proportional:
      return "by area";
    case Allocation::optimal:
      return "by area × spread";
  }
  return "";
}

void share_total(const Plan& plan, const SeasonStrata& ground, std::vector<Stratum>& strata,
                 std::vector<std::string>& words) {
  const SampleSpec& sample = plan.sample;
  std::vector<Share> shares;
  std::vector<std::size_t> which;
  for (std::size_t i = 0; i < strata.size(); ++i) {
    if (!gets_plots(plan, strata[i])) continue;
    Share share{strata[i].id, strata[i].area_m2(), 1, strata[i].kind != StratumKind::scored};
    if (sample.allocation == Allocation::optimal && !share.least_only) {
      share.spread = spread_of(plan, strata[i], ground.band(i));
    }
    shares.push_back(std::move(share));
    which.push_back(i);
  }
  const int least = sample.least_per_stratum;
  const std::vector<int> numbers = allocate(shares, *sample.total, least, sample.allocation, sample.place);
  int given = 0;
  std::vector<std::string> held;
  for (std::size_t k = 0; k < which.size(); ++k) {
    strata[which[k]].planned = numbers[k];
    given += numbers[k];
    if (numbers[k] == least && !shares[k].least_only) held.push_back(spoken(shares[k].stratum));
  }
  words.push_back(fmt::format("{} planned plots asked over {} strata: at least {} in each, the rest {}.",
                              grouped(*sample.total), which.size(), least, by_words(sample.allocation)));
  if (!held.empty()) words.push_back(fmt::format("At the minimum of {}: {}.", least, in_words(held)));
  if (given != *sample.total) {
    words.push_back(fmt::format("{} plots given, {} asked: no stratum here can take more than the minimum.",
                                grouped(given), grouped(*sample.total)));
  }
}

/// What strata without scores get.
void say_nothings(const Plan& plan, const std::vector<Stratum>& strata, std::vector<std::string>& words) {
  for (const StratumKind kind : {StratumKind::excluded, StratumKind::no_score}) {
    double area = 0;
    int count = 0, plots = 0;
    for (const Stratum& stratum : strata) {
      if (stratum.kind != kind) continue;
      ++count;
      area += stratum.area_m2();
      plots += stratum.planned;
    }
    if (count == 0) continue;
    const bool excluded = kind == StratumKind::excluded;
    const std::string rest = excluded && !plan.sample.plots_in_excluded
                                 ? "no plots, and estimates speak of the rest"
                                 : fmt::format("{} plots", plots);
    words.push_back(
        fmt::format("{} ({} in {} {}): {}.", excluded ? "Excluded ground" : "Ground with no score",
                    site_parts::hectares_plain(area), count, count == 1 ? "stratum" : "strata", rest));
  }
}

}  // namespace

std::string spoken(const std::string& stratum_id) {
  const auto version = stratum_id.rfind("|v");
  return version == std::string::npos ? stratum_id : stratum_id.substr(0, version);
}

int spares_for(const SampleSpec& sample, int planned) {
  // 0.07 × 100 is a hair over 7: the millionth keeps that from becoming 8.
  return int(std::ceil(sample.spares * planned - 1e-6));
}

void give_numbers(const Plan& plan, const SeasonStrata& ground, std::vector<Stratum>& strata,
                  std::vector<std::string>& words, Flags& flags) {
  const SampleSpec& sample = plan.sample;
  if (sample.each) {
    for (Stratum& stratum : strata) stratum.planned = gets_plots(plan, stratum) ? *sample.each : 0;
    words.push_back(fmt::format("{} planned plots in each stratum.", *sample.each));
  } else if (sample.total) {
    share_total(plan, ground, strata, words);
  } else {
    throw InputError(
        sample.place, "the plan says neither total nor each, so nothing can be drawn.",
        "Set total = (plots over all strata) or each = (plots in every stratum) under [sample].");
  }
  say_nothings(plan, strata, words);
  for (Stratum& stratum : strata) {
    stratum.spares = spares_for(sample, stratum.planned);
    if (stratum.planned == 1) {
      flags.add(Severity::ask, "stratum with one plot", sample.place,
                fmt::format("{} gets one plot: no spread can be computed from it.", spoken(stratum.id)),
                "Give it two, or make fewer strata.");
    }
  }
}

}  // namespace swardline::season_parts
