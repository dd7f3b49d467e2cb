#include "earlier.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>

#include "output.hpp"
#include "returned.hpp"
#include "swardline/base/error.hpp"
#include "swardline/estimate/change.hpp"
#include "swardline/store/returned.hpp"

namespace swardline::tool {
namespace {

/// Seasons of [returns] earlier that hold counts.
std::vector<EvaluatedSeason> all_earlier(const Plan& plan) {
  std::vector<EvaluatedSeason> seasons;
  for (const std::filesystem::path& store : plan.returns.earlier) {
    EvaluatedSeason season = read_evaluated(store);
    if (any_counted(season)) seasons.push_back(std::move(season));
  }
  return seasons;
}

void add_rows(std::vector<EstimateRow> rows, Estimates& estimates) {
  estimates.rows.insert(estimates.rows.end(), std::make_move_iterator(rows.begin()),
                        std::make_move_iterator(rows.end()));
}

}  // namespace

bool any_counted(const EvaluatedSeason& season) {
  return std::any_of(season.units.begin(), season.units.end(),
                     [](const EvaluatedUnit& unit) { return unit.evaluated; });
}

EvaluatedSeason counted_season(const Common& common, const Plan& plan) {
  const std::string name = std::filesystem::path(plan.store).filename().string();
  if (behind_the_folder(plan))
    throw InputError({name, 0, {}}, "is behind what was received and corrected",
                     fmt::format("Make its tables anew: swardline receive {}.", common.plan.string()));
  EvaluatedSeason season = read_evaluated(plan.store);
  if (!any_counted(season))
    throw InputError(
        {name, 0, {}}, "holds no count that can be used",
        fmt::format("Take in what the teams sent: swardline receive {} FILE.", common.plan.string()));
  return season;
}

EvaluatedSeason season_before(const EvaluatedSeason& now, const std::filesystem::path& store) {
  const Place place{store.string(), 0, {}};
  if (!std::filesystem::exists(store))
    throw InputError(place, "is not there", "Name the store of an earlier season, like ../2026/season.gpkg.");
  EvaluatedSeason season = read_evaluated(store);
  if (!any_counted(season))
    throw InputError(place, "holds no count that can be used",
                     "Take in what the teams sent with receive, in that season's folder.");
  if (season.year >= now.year)
    throw InputError(place, fmt::format("is a season of {}, not earlier than {}", season.year, now.year),
                     "Name the store of an earlier season.");
  return season;
}

std::optional<EvaluatedSeason> earlier_season(const Plan& plan, const EvaluatedSeason& now,
                                              const std::filesystem::path& against) {
  if (!against.empty()) return season_before(now, against);
  std::optional<EvaluatedSeason> latest;
  for (EvaluatedSeason& season : all_earlier(plan))
    if (!latest || season.year > latest->year) latest = std::move(season);
  return latest;
}

std::optional<SeasonTrend> trend_with_earlier(const Plan& plan, const EvaluatedSeason& now, double confidence,
                                              Flags& flags) {
  const std::vector<EvaluatedSeason> earlier = all_earlier(plan);
  if (earlier.size() + 1 < least_trend_seasons) return {};
  std::vector<const EvaluatedSeason*> seasons = {&now};
  for (const EvaluatedSeason& season : earlier) seasons.push_back(&season);
  return trend_over(seasons, confidence, plan.estimate.moved_m, flags);
}

void add_earlier(const Common& common, const Plan& plan, const Beside& beside, Estimates& estimates,
                 Flags& flags, CPLJSONObject& json) {
  const auto not_asked = [&](const auto& estimate) {
    return !beside.species.empty() &&
           std::find(beside.species.begin(), beside.species.end(), estimate.species) == beside.species.end();
  };
  if (beside.against != nullptr) {
    ChangeOptions options = change_options(plan);
    options.confidence = beside.confidence;
    SeasonChange change = change_between(*beside.against, beside.now, options, flags);
    std::erase_if(change.estimates, not_asked);
    say(common, "\n" + swardline::in_words(change));
    add_rows(change_rows(change), estimates);
    json.Add("change", object_of(to_json(change)));
  }
  std::optional<SeasonTrend> trend = trend_with_earlier(plan, beside.now, beside.confidence, flags);
  if (!trend) return;
  std::erase_if(trend->estimates, not_asked);
  say(common, "\n" + swardline::in_words(*trend));
  add_rows(trend_rows(*trend), estimates);
  json.Add("trend", object_of(to_json(*trend)));
}

CPLJSONObject object_of(const std::string& json) {
  CPLJSONDocument document;
  if (!document.LoadMemory(json)) throw Defect("a summary is not JSON.");
  return document.GetRoot();
}

}  // namespace swardline::tool
