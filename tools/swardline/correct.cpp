#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>

#include "commands.hpp"
#include "returned.hpp"
#include "swardline/returns/corrections.hpp"
#include "swardline/returns/ledger.hpp"

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
  std::optional<FolderLock> lock;
  Judged judged = open_returns(common, today, &lock);
  const Plan& plan = judged.season.plan;
  Store(plan.store).check_writable();
  // Nothing is added to a folder that cannot be read, and a store that a killed run left behind is brought up
  // to what the folder holds first.
  judge(judged, threads_of(common));
  if (out_of_date(judged)) keep(judged, "returns", started);
  const CheckedCorrections checked = check_corrections(options.file, plan, today);
  const std::vector<Correction>& added = checked.added;
  write_corrections_list(checked, plan);
  judge(judged, threads_of(common));
  keep(judged, "correct", started);
  const auto confirmed =
      std::count_if(added.begin(), added.end(), [](const Correction& c) { return c.confirms(); });
  say(common,
      fmt::format("{} {} added to {}, {} of them say that a value stands. What came stays as it came.",
                  added.size(), added.size() == 1 ? "correction" : "corrections",
                  shown_in(plan, corrections_file(plan)), confirmed));
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
