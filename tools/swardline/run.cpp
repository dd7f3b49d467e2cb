#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>

#include "commands.hpp"
#include "opened.hpp"
#include "output.hpp"
#include "swardline/check/check_season.hpp"

namespace swardline::tool {
namespace {

Status run_all(const Common& common) {
  const CheckResult checked = check_season(common.plan, {threads_of(common), progress_line(common)});
  for (const Flag& flag : checked.flags.all())
    if (flag.severity != Severity::note) say(common, in_words(flag));
  say(common, fmt::format("Inputs: {}.", checked.verdict));
  CPLJSONObject json;
  json.Add("verdict", checked.verdict);
  if (checked.flags.stopped()) {
    print_json(common, json);
    return Status::needs_person;
  }
  Opened opened = open_season(common);
  const FolderLock lock(opened.season.plan.folder);
  CPLJSONObject scored;
  (void)score_opened(common, opened, {}, scored);
  CPLJSONObject drawn;
  const Status status = draw_opened(common, opened, drawn);
  CPLJSONObject points;
  (void)points_of(common, opened.season.plan, opened.crs, {}, points);
  json.Add("score", scored);
  json.Add("draw", drawn);
  json.Add("points", points);
  print_json(common, json);
  return status;
}

}  // namespace

std::function<Status()> setup_run(CLI::App& app) {
  auto common = std::make_shared<Common>();
  add_common(app, *common);
  add_examples(app, "run plan.toml", "run plan.toml --json --threads 2");
  return [common] { return run_all(*common); };
}

}  // namespace swardline::tool
