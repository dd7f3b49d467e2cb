// Earlier seasons beside this one: change, trend, next season's plan.
#pragma once

#include <cpl_json.h>

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "commands.hpp"
#include "swardline/base/flag.hpp"
#include "swardline/estimate/estimates.hpp"
#include "swardline/estimate/evaluated.hpp"
#include "swardline/estimate/trend.hpp"
#include "swardline/season/plan.hpp"

namespace swardline::tool {

/// Whether any unit could be evaluated.
[[nodiscard]] bool any_counted(const EvaluatedSeason& season);

/// The plan's own season. Throws InputError where it holds no count that can be used, or is behind what was
/// received and corrected.
[[nodiscard]] EvaluatedSeason counted_season(const Common& common, const Plan& plan);

/// The season in an earlier store. Throws InputError where it holds no count that can be used, or is not
/// earlier than `now`.
[[nodiscard]] EvaluatedSeason season_before(const EvaluatedSeason& now, const std::filesystem::path& store);

/// The season to pair plots with: `against`, else the latest of [returns] earlier that holds counts.
[[nodiscard]] std::optional<EvaluatedSeason> earlier_season(const Plan& plan, const EvaluatedSeason& now,
                                                            const std::filesystem::path& against);

/// Over this season and those of [returns] earlier that hold counts; nothing where they are fewer than four.
[[nodiscard]] std::optional<SeasonTrend> trend_with_earlier(const Plan& plan, const EvaluatedSeason& now,
                                                            double confidence, Flags& flags);

struct Beside {
  const EvaluatedSeason& now;
  const EvaluatedSeason* against;  ///< an earlier season; none: no change is asked for
  double confidence;
  const std::vector<std::string>& species;  ///< codes; empty: all
};
/// Change since the store `against`, and a trend where [returns] earlier makes four seasons or more: said,
/// added to the rows of `estimates` and to `json`. Nothing where there is neither.
void add_earlier(const Common& common, const Plan& plan, const Beside& beside, Estimates& estimates,
                 Flags& flags, CPLJSONObject& json);

/// A JSON text as an object.
[[nodiscard]] CPLJSONObject object_of(const std::string& json);

}  // namespace swardline::tool
