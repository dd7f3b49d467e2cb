#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <memory>

#include "commands.hpp"
#include "earlier.hpp"
#include "opened.hpp"
#include "output.hpp"
#include "returned.hpp"
#include "swardline/compare/compare.hpp"
#include "swardline/estimate/change.hpp"
#include "swardline/estimate/trend.hpp"
#include "swardline/report/season_page.hpp"
#include "swardline/store/read_season_record.hpp"
#include "swardline/store/returned.hpp"

namespace swardline::tool {
namespace {

struct ReportCommand {
  Common common;
  std::filesystem::path against;
};

/// What was made of the counts; nothing of it where there are none.
struct ToldOfCounts {
  std::optional<Estimates> estimates;
  std::optional<SeasonChange> change;
  std::optional<SeasonTrend> trend;
  std::optional<Comparison> comparison;
};

ToldOfCounts told_of(const Opened& opened, const ReportCommand& command, const std::vector<Plot>& plots,
                     const EvaluatedSeason& counted, Flags& flags) {
  const Plan& plan = opened.season.plan;
  ToldOfCounts told;
  if (!any_counted(counted)) {
    if (!command.against.empty())
      throw InputError({std::filesystem::path(plan.store).filename().string(), 0, {}},
                       "holds no count that can be used, so there is no change to tell",
                       "Leave --against out, or take in what the teams sent with receive.");
    return told;
  }
  told.estimates = estimate_season(counted, plan.estimate, {{}, false, threads_of(command.common)});
  if (const auto earlier = earlier_season(plan, counted, command.against))
    told.change = change_between(*earlier, counted, change_options(plan), flags);
  told.trend = trend_with_earlier(plan, counted, plan.estimate.confidence, flags);
  if (opened.model.species().empty()) return told;
  CompareOptions options;
  options.confidence = plan.estimate.confidence;
  for (const Plot& plot : plots)
    if (plot.kind.empty()) options.drawn_percent[plot.name] = plot.percent;
  told.comparison = compare_scores(opened.season, opened.layers, opened.model, counted, options);
  return told;
}

/// Its own store as far as the folder of returns goes; drawn for this plan.
void refuse_behind(const Common& common, const Plan& plan, const Crs& crs) {
  Store(plan.store).check_drawn_for(plan, crs);
  if (behind_the_folder(plan))
    throw InputError({std::filesystem::path(plan.store).filename().string(), 0, {}},
                     "is behind what was received and corrected",
                     fmt::format("Make its tables anew: swardline receive {}.", common.plan.string()));
}

void say_what_it_tells(const Common& common, const ToldOfCounts& told, const std::filesystem::path& file,
                       CPLJSONObject& json) {
  if (!told.estimates)
    say(common, "No count can be used yet: the page tells what is drawn.");
  else if (!told.change)
    say(common, "No earlier season is named, so the page tells of no change.");
  say(common,
      fmt::format("The season on one page: {}. It shows where plots lie: for the programme's own people.",
                  file.string()));
  json.Add("file", file.string());
  json.Add("counts", told.estimates.has_value());
  json.Add("change", told.change.has_value());
  json.Add("comparison", told.comparison.has_value());
}

Status run_report(const ReportCommand& command) {
  const Common& common = command.common;
  const Opened opened = open_season(common);
  const Plan& plan = opened.season.plan;
  Flags flags = opened.flags;
  const FolderLock lock(plan.folder);
  refuse_behind(common, plan, opened.crs);
  const Store store(plan.store);
  const std::vector<Plot> plots = store.read_plots();
  const std::vector<Transect> transects = store.read_transects();
  const EvaluatedSeason counted = read_evaluated(plan.store);
  const SeasonOnRecord record = read_season_record(plan.store);
  const ToldOfCounts told = told_of(opened, command, plots, counted, flags);
  SeasonFacts facts{opened.season, opened.sites, opened.layers, opened.model,
                    plots,         transects,    counted,       record};
  facts.certificate = store.read_certificate().value_or("");
  facts.estimates = told.estimates ? &*told.estimates : nullptr;
  facts.change = told.change ? &*told.change : nullptr;
  facts.trend = told.trend ? &*told.trend : nullptr;
  facts.comparison = told.comparison ? &*told.comparison : nullptr;
  facts.threads = threads_of(common);
  make_folder(plan.out);
  const std::filesystem::path file = plan.out / "report.html";
  write_season_page(facts, file);
  CPLJSONObject json;
  say_what_it_tells(common, told, file, json);
  show_findings(common, flags);
  add_findings(json, flags);
  print_json(common, json);
  return Status::done;
}

}  // namespace

std::function<Status()> setup_report(CLI::App& app) {
  auto command = std::make_shared<ReportCommand>();
  add_common(app, command->common);
  app.add_option(
      "--against", command->against,
      "Store of the earlier season to tell change from (default: the latest of [returns] earlier)");
  add_examples(app, "report plan.toml", "report plan.toml --against ../2026/season.gpkg");
  return [command] { return run_report(*command); };
}

}  // namespace swardline::tool
