#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>

#include "commands.hpp"
#include "returned.hpp"
#include "swardline/returns/corrections.hpp"

namespace swardline::tool {
namespace {

struct CorrectOptions {
  Common common;
  std::filesystem::path file;
  std::string today;
};

Status correct(const CorrectOptions& options) {
  const Common& common = options.common;
  const std::string started = utc_now();
  const Day today = today_of(options.today);
  Judged judged = open_returns(common, today);
  const Plan& plan = judged.season.plan;
  const FolderLock lock(plan.folder);
  Store(plan.store).check_writable();
  const std::vector<Correction> added = append_corrections(options.file, plan, today);
  judge(judged, threads_of(common));
  keep(judged, "correct", started);
  const auto confirmed =
      std::count_if(added.begin(), added.end(), [](const Correction& c) { return c.confirms(); });
  say(common,
      fmt::format("{} {} added to {}, {} of them say that a value stands. What came stays as it came.",
                  added.size(), added.size() == 1 ? "correction" : "corrections",
                  corrections_file(plan).string(), confirmed));
  CPLJSONObject json;
  json.Add("corrections", GInt64(added.size()));
  json.Add("confirmed", GInt64(confirmed));
  const Status status = show_returns(common, judged, json);
  show_findings(common, judged.findings);
  add_findings(json, judged.findings);
  print_json(common, json);
  return status;
}

}  // namespace

std::function<Status()> setup_correct(CLI::App& app) {
  auto options = std::make_shared<CorrectOptions>();
  add_common(app, options->common);
  app.add_option("FILE", options->file,
                 "A table of corrections: file, row, column, old, new, who, when, why, evidence")
      ->required();
  app.add_option("--today", options->today, "The day to count from, like 2027-05-28 (default: today)");
  add_examples(app, "correct plan.toml answers.csv", "correct plan.toml answers.csv --json");
  return [options] { return correct(*options); };
}

}  // namespace swardline::tool
