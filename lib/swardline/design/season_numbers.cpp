// How many plots each stratum of a season gets, and saying so.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/design/allocation.hpp"
#include "swardline/design/season_parts.hpp"
#include "swardline/design/season_spread.hpp"
#include "swardline/design/site_parts.hpp"

namespace swardline::season_parts {
namespace {

std::string by_words(const SampleSpec& sample, bool over_species) {
  const std::string cost = sample.cost.empty() ? "" : " / √cost";
  switch (sample.allocation) {
    case Allocation::equal:
      return "in equal parts";
    case Allocation::proportional:
      return "by area";
    case Allocation::optimal:
      return over_species ? fmt::format(
                                "one by one to the stratum that helps the species farthest from its "
                                "target most{}",
                                sample.cost.empty() ? "" : " for its cost")
                          : "by area × spread" + cost;
  }
  return "";
}

/// How many minutes the plots take, as far as the plan says.
std::string minutes_in_words(const SampleSpec& sample, const SeasonShares& season,
                             const std::vector<int>& numbers) {
  if (sample.cost.empty()) return {};
  double minutes = 0;
  for (std::size_t k = 0; k < numbers.size(); ++k) minutes += numbers[k] * season.shares[k].cost;
  const std::string taken = grouped(std::int64_t(std::ceil(minutes - 1e-6)));
  return sample.budget_minutes
             ? fmt::format(" They take {} of the {} minutes.", taken, shortest(*sample.budget_minutes))
             : fmt::format(" They take {} minutes.", taken);
}

/// Versions of a stratum are spoken alike: "QPR|score=50-75 (2 versions)".
std::vector<std::string> each_once_counted(const std::vector<std::string>& names) {
  std::map<std::string, int> times;
  for (const std::string& name : names) ++times[name];
  std::vector<std::string> out;
  for (const std::string& name : names) {
    int& left = times[name];
    if (left > 0) out.push_back(left == 1 ? name : fmt::format("{} ({} versions)", name, left));
    left = 0;
  }
  return out;
}

void share_out(const Plan& plan, const SeasonShares& season, std::vector<Stratum>& strata,
               std::vector<std::string>& words) {
  const SampleSpec& sample = plan.sample;
  const int least = sample.least_per_stratum;
  const Available available =
      sample.total ? Available::plots(*sample.total) : Available::budget(*sample.budget_minutes);
  const bool over_species = sample.allocation == Allocation::optimal && !season.species.empty();
  const std::vector<int> numbers =
      over_species ? allocate_over_species(season.shares, season.species, available, least, sample.place)
                   : allocate(season.shares, available, least, sample.allocation, sample.place);
  int given = 0;
  std::vector<std::string> held;
  for (std::size_t k = 0; k < numbers.size(); ++k) {
    strata[season.which[k]].planned = numbers[k];
    given += numbers[k];
    if (numbers[k] == least && !season.shares[k].least_only) held.push_back(spoken(season.shares[k].stratum));
  }
  held = each_once_counted(held);
  words.push_back(fmt::format("{} planned plots {} over {} strata: at least {} in each{}, the rest {}.{}",
                              grouped(sample.total ? *sample.total : given),
                              sample.total ? "asked" : "paid for", numbers.size(), least,
                              least > 0 ? ", poor habitat too" : "", by_words(sample, over_species),
                              minutes_in_words(sample, season, numbers)));
  if (!held.empty()) words.push_back(fmt::format("At the minimum of {}: {}.", least, in_words(held)));
  if (sample.total && given != *sample.total) {
    words.push_back(fmt::format("{} plots given, {} asked: no stratum here can take more than the minimum.",
                                grouped(given), grouped(*sample.total)));
  }
}

/// Chances that are not equal.
void say_weights(const Plan& plan, const std::vector<Stratum>& strata, std::vector<std::string>& words) {
  const WeightSpec& weight = plan.sample.weight;
  if (!weight.given()) return;
  std::int64_t at_floor = 0;
  for (const Stratum& stratum : strata) {
    if (gets_plots(plan, stratum)) at_floor += stratum.at_floor_mm2;
  }
  std::string text = fmt::format("Chances within each stratum are in proportion to {}, in whole steps of {}",
                                 weight.of, shortest(weight.step));
  if (weight.floor > 0) text += fmt::format(" and at least {}", shortest(weight.floor));
  if (at_floor > 0) {
    text += fmt::format(": {} have less, or none, and stand at that floor",
                        site_parts::hectares_plain(double(at_floor) * 1e-6));
  }
  words.push_back(text + ". Estimates must weigh every plot by its own chance (Horvitz-Thompson).");
  const bool no_score = std::any_of(strata.begin(), strata.end(), [](const Stratum& stratum) {
    return stratum.kind == StratumKind::no_score;
  });
  if (weight.by_score() && no_score) words.emplace_back("In strata without a score chances are equal.");
  if (!plan.sites.linear.sources.empty())
    words.emplace_back("Segments of linear sites are drawn with equal chances, whatever the weight.");
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
                  Certificate& certificate, Flags& flags) {
  const SampleSpec& sample = plan.sample;
  const char* unit = sample.unit == SampleUnit::transect ? "transect" : "plot";
  std::vector<std::string>& words = certificate.allocation;
  const SeasonShares season = season_shares(plan, ground, strata, flags);
  if (sample.each) {
    for (Stratum& stratum : strata) stratum.planned = gets_plots(plan, stratum) ? *sample.each : 0;
    words.push_back(fmt::format("{} planned {}s in each stratum.", *sample.each, unit));
  } else if (sample.total || sample.budget_minutes) {
    share_out(plan, season, strata, words);
  } else {
    throw InputError(
        sample.place, "the plan says neither total nor each, so nothing can be drawn.",
        "Set total = (plots over all strata) or each = (plots in every stratum) under [sample].");
  }
  say_weights(plan, strata, words);
  say_nothings(plan, strata, words);
  expect(plan, season, strata, certificate, flags);
  for (Stratum& stratum : strata) {
    stratum.spares = spares_for(sample, stratum.planned);
    if (stratum.planned == 1) {
      flags.add(Severity::ask, "stratum with one plot", sample.place,
                fmt::format("{} gets one {}: no spread can be computed from it.", spoken(stratum.id), unit),
                "Give it two, or make fewer strata.");
    }
  }
}

}  // namespace swardline::season_parts
