#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>

#include "commands.hpp"
#include "returned.hpp"
#include "swardline/base/text.hpp"
#include "swardline/returns/form.hpp"
#include "swardline/returns/ledger.hpp"
#include "swardline/returns/progress.hpp"

namespace swardline::tool {
namespace {

struct ReceiveOptions {
  Common common;
  std::vector<std::filesystem::path> files;
  std::filesystem::path form;
  std::string today;
};

void write_blank_form(const ReceiveOptions& options, const Judged& judged, CPLJSONObject& json) {
  if (std::filesystem::exists(options.form) && !is_blank_form(options.form))
    throw InputError({options.form.string(), 0, {}}, "is there already, and is no blank form",
                     "Give the form another name.");
  const FormWritten written = write_form(options.form, judged.season, judged.expected);
  say(options.common,
      fmt::format("{}: {} rows for {} plots. Every box must be filled in: nothing there is 0.",
                  options.form.string(), grouped(std::int64_t(written.rows)),
                  grouped(std::int64_t(written.plots))));
  json.Add("form", options.form.string());
  json.Add("form_rows", GInt64(written.rows));
}

// True where anything was taken that was not there.
bool take_files(const ReceiveOptions& options, Judged& judged, Day today) {
  const Plan& plan = judged.season.plan;
  const TakenIn in =
      take_in(options.files, plan, today, judged.findings, estimated_since_received(plan.store));
  for (const ReceivedFile& file : in.taken)
    say(options.common, fmt::format("Took {} in as {}.", file.original, file.file));
  for (const ReceivedFile& file : in.put_back)
    say(options.common,
        fmt::format("Put {} back in its place: it was received on {}.", file.file, file.received));
  if (!in.taken.empty() && in.taken.front().version > 1)
    say(options.common, fmt::format("Late: version {} of the season's returns. Estimates made so far are of "
                                    "version {}; estimate again.",
                                    in.taken.front().version, in.taken.front().version - 1));
  return !in.taken.empty();
}

CPLJSONObject site_json(const SiteProgress& site) {
  CPLJSONObject object;
  object.Add("site", site.site);
  object.Add("team", site.team);
  object.Add("due", site.due);
  object.Add("counted", site.counted);
  CPLJSONArray outstanding;
  for (const std::string& plot : site.outstanding) outstanding.Add(plot);
  object.Add("outstanding", outstanding);
  return object;
}

// What is outstanding, days left, spares in use, and who needs a second look.
void show_progress(const Common& common, Judged& judged, CPLJSONObject& json) {
  const ObserversReport observers =
      report_of_observers(judged.season, judged.expected, judged.returns, judged.flags,
                          read_name_tests(judged.season, judged.findings));
  const SeasonProgress progress =
      progress_of(judged.season, judged.expected, judged.returns, judged.flags, observers);
  for (const std::string& line : in_words(progress, judged.season)) say(common, line);
  for (const std::string& line : in_words(observers)) say(common, line);
  CPLJSONArray sites;
  for (const SiteProgress& site : progress.sites) sites.Add(site_json(site));
  CPLJSONArray spares;
  for (const SpareInUse& spare : progress.spares) {
    CPLJSONObject object;
    object.Add("plot", spare.plot);
    object.Add("why", spare.why);
    spares.Add(object);
  }
  CPLJSONArray second_look;
  for (const ObserverSummary& observer : progress.second_look) second_look.Add(observer.id);
  json.Add("due", progress.due);
  json.Add("counted", progress.counted);
  json.Add("not_counted", progress.not_counted);
  json.Add("outstanding", progress.outstanding);
  json.Add("sites", sites);
  json.Add("spares_in_use", spares);
  json.Add("second_look", second_look);
}

Status receive(const ReceiveOptions& options) {
  const Common& common = options.common;
  const std::string started = utc_now();
  const Day today = today_of(options.today);
  std::optional<FolderLock> lock;
  Judged judged = open_returns(common, today, &lock);
  const Plan& plan = judged.season.plan;
  CPLJSONObject json;
  if (!options.form.empty()) write_blank_form(options, judged, json);
  Status status = Status::done;
  const bool only_a_form = options.files.empty() && !options.form.empty();
  if (!only_a_form) {
    bool taken = false;
    if (!options.files.empty()) {
      Store(plan.store).check_writable();
      taken = take_files(options, judged, today);
    }
    judge(judged, threads_of(common));
    // Also after a run that was killed between the folder and the store, and where plan, observers or draw
    // have changed what is said of the rows.
    if (taken || out_of_date(judged)) keep(judged, taken ? "receive" : "returns", started);
    if (options.files.empty()) show_progress(common, judged, json);
    status = show_returns(common, judged, json);
    int version = 0;
    for (const ReceivedFile& file : judged.returns.files) version = std::max(version, file.version);
    json.Add("version", version);
  }
  show_findings(common, judged.findings);
  add_findings(json, judged.findings);
  print_json(common, json);
  return status;
}

}  // namespace

std::function<Status()> setup_receive(CLI::App& app) {
  auto options = std::make_shared<ReceiveOptions>();
  add_common(app, options->common);
  app.add_option("FILE", options->files,
                 "Returns: CSV, spreadsheets, other tables, GPX waypoints; none: say how far the season is");
  app.add_option("--form", options->form, "Write a blank form, one row for every plot and likely species");
  app.add_option("--today", options->today, "The day to count from, like 2027-05-28 (default: today)");
  add_examples(app, "receive plan.toml north_team.csv south_team.xlsx", "receive plan.toml --form form.csv");
  return [options] { return receive(*options); };
}

}  // namespace swardline::tool
