#include "swardline/estimate/next.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>

#include "commands.hpp"
#include "earlier.hpp"
#include "opened.hpp"
#include "output.hpp"
#include "swardline/effort/effort.hpp"

namespace swardline::tool {
namespace {

struct NextOptions {
  Common common;
  std::filesystem::path against;
};

void write_files(const Common& common, const Plan& plan, const NextSeason& next, const std::string& pilot,
                 CPLJSONObject& json) {
  make_folder(plan.out);
  const std::filesystem::path table = plan.out / "next-pilot.csv", lines = plan.out / "next-plan.toml";
  write_whole(table, pilot);
  write_whole(lines, next.plan_lines);
  CPLJSONArray files;
  files.Add(table.string());
  files.Add(lines.string());
  json.Add("files", files);
  say(common,
      fmt::format("Counts as a pilot for effort, and these lines: {}, {}.", table.string(), lines.string()));
}

Status run_next(const NextOptions& options) {
  const Common& common = options.common;
  Flags flags;
  const Season season = read_season(common.plan, flags);
  flags.throw_if_stopped();
  const Plan& plan = season.plan;
  const Crs crs = Crs::from_text(plan.crs, plan.crs_place);
  const Sites sites = read_sites(plan, crs, flags);
  flags.throw_if_stopped();
  const FolderLock lock(plan.folder);
  const Store store(plan.store);
  store.check_drawn_for(plan, crs);
  const EvaluatedSeason now = counted_season(common, plan);
  const std::optional<EvaluatedSeason> earlier = earlier_season(plan, now, options.against);
  const EvaluatedSeason* before = earlier ? &*earlier : nullptr;
  const NextSeason next = next_season(season, ground_of(plan, sites, store.read_plots()), now, before, flags);
  say(common, swardline::in_words(next, season));
  CPLJSONObject json = object_of(to_json(next));
  write_files(common, plan, next, next_pilot_csv(season, now, before), json);
  show_findings(common, flags);
  add_findings(json, flags);
  print_json(common, json);
  const bool holds = next.effort && next.effort->holds();
  return holds ? Status::done : Status::needs_person;
}

}  // namespace

std::function<Status()> setup_next(CLI::App& app) {
  auto options = std::make_shared<NextOptions>();
  add_common(app, options->common);
  app.add_option("--against", options->against,
                 "Store of the earlier season to pair plots with (default: the latest of [returns] earlier)");
  add_examples(app, "next plan.toml", "next plan.toml --against ../2026/season.gpkg");
  return [options] { return run_next(*options); };
}

}  // namespace swardline::tool
