#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>

#include "commands.hpp"
#include "opened.hpp"
#include "output.hpp"
#include "returned.hpp"

namespace swardline::tool {
namespace {

Status run_all(const Common& common, bool new_strata) {
  const CheckResult checked = check_first(common, CellsChecked::all, !new_strata);
  say(common, fmt::format("Inputs: {}.", checked.verdict));
  CPLJSONObject json;
  json.Add("verdict", checked.verdict);
  Opened opened = open_season(common, &checked);
  const FolderLock lock(opened.season.plan.folder);
  refuse_what_is_lost(opened.season.plan);  // before a draw: estimates would rest on tables of lost files
  CPLJSONObject scored;
  (void)score_opened(common, opened, {}, scored);
  CPLJSONObject drawn;
  const Status status = draw_opened(common, opened, new_strata, drawn);
  // After the draw, so that a second run finds the same walking orders as the first.
  CPLJSONObject effort;
  Status answered = Status::done;
  if (opened.season.plan.effort.given)
    answered = effort_of(common, opened.season, opened.sites, opened.flags, effort);
  CPLJSONObject points;
  // Without a plot there is nothing to write; the draw has said so.
  if (drawn.GetInteger("planned") + drawn.GetInteger("spares") > 0)
    (void)points_of(common, opened.season.plan, opened.crs, {}, points);
  else
    say(common, "No plots, so no point files.");
  Status returned = Status::done;
  CPLJSONObject returns, estimates;
  Status estimated = Status::done;
  // Made again as of the day files were last taken in: a rerun makes the same tables on any day.
  const std::string received = last_received(opened.season.plan);
  const bool any_returned = !received.empty();
  if (any_returned) {
    const std::string started = utc_now();
    Judged judged = open_returns(common, today_of(received));
    judge(judged, threads_of(common));
    keep(judged, "returns", started);
    returned = show_returns(common, judged, returns);
    for (const Flag& flag : judged.findings.all()) opened.flags.add(flag);
    estimated = estimate_of(common, opened.season.plan, opened.flags, estimates);
  }
  json.Add("score", scored);
  json.Add("draw", drawn);
  if (opened.season.plan.effort.given) json.Add("effort", effort);
  json.Add("points", points);
  if (any_returned) json.Add("returns", returns);
  if (any_returned) json.Add("estimates", estimates);
  const Flags findings = each_once(checked.flags, opened.flags);
  show_findings(common, findings);
  add_findings(json, findings);
  print_json(common, json);
  for (const Status one : {status, answered, returned, estimated})
    if (one != Status::done) return one;
  return Status::done;
}

}  // namespace

std::function<Status()> setup_run(CLI::App& app) {
  struct Options {
    Common common;
    bool new_strata = false;
  };
  auto options = std::make_shared<Options>();
  add_common(app, options->common);
  add_new_strata(app, options->new_strata);
  add_examples(app, "run plan.toml", "run plan.toml --json --threads 2");
  return [options] { return run_all(options->common, options->new_strata); };
}

}  // namespace swardline::tool
