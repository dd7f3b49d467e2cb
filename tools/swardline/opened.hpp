// A season opened for work: everything the commands between check and points share.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "commands.hpp"
#include "output.hpp"
#include "swardline/base/files.hpp"
#include "swardline/check/check_season.hpp"
#include "swardline/design/draw_season.hpp"
#include "swardline/design/strata.hpp"
#include "swardline/store/store.hpp"

namespace swardline::tool {

struct Opened {
  Flags flags;
  Season season;
  Crs crs = Crs::wgs84();
  Sites sites;
  Access access;
  Layers layers;
  Model model;
};

/// What `check` finds, before any work; of the strata of record only where they are to hold. A STOP refuses
/// the work: the further ones are shown, and the first is thrown, saying how many more there are.
[[nodiscard]] CheckResult check_first(const Common& common, CellsChecked cells, bool record);
/// Findings of the check and those of the work after it, each once.
[[nodiscard]] Flags each_once(const Flags& checked, const Flags& later);

/// Opens the plan and all it names, with the layers that `needed` lists; the sites as `checked` has read
/// them, if it has. Throws on the first STOP, saying how many more there are.
[[nodiscard]] Opened open_season(const Common& common, const CheckResult* checked = nullptr,
                                 std::vector<std::string> (*needed)(const Season&) = layers_for_draw);

/// Threads to use.
[[nodiscard]] int threads_of(const Common& common);

/// Adds --new-strata to a command that draws.
void add_new_strata(CLI::App& app, bool& new_strata);

/// "2027-03-18T09:30:00Z"
[[nodiscard]] std::string utc_now();

[[nodiscard]] RunRecord run_record(const std::string& command, const Plan& plan, const std::string& inputs,
                                   const std::string& started);

/// Lines for the terminal; each command's work, shared with `run`.
Status score_opened(const Common& common, Opened& opened, const ScoreOptions& options, CPLJSONObject& json);
/// Where the plan asks something under [effort].
Status effort_of(const Common& common, Season& season, const Sites& sites, Flags& flags, CPLJSONObject& json);
/// Of the counts the store holds; says so where there are none.
Status estimate_of(const Common& common, const Plan& plan, Flags& flags, CPLJSONObject& json);
Status draw_opened(const Common& common, Opened& opened, bool new_strata, CPLJSONObject& json);
Status points_of(const Common& common, const Plan& plan, const Crs& crs,
                 const std::vector<std::string>& formats, CPLJSONObject& json);

}  // namespace swardline::tool
