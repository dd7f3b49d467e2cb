#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <memory>

#include "commands.hpp"
#include "earlier.hpp"
#include "opened.hpp"
#include "output.hpp"
#include "swardline/base/text.hpp"
#include "swardline/estimate/estimates.hpp"
#include "swardline/store/estimates_table.hpp"
#include "swardline/store/open_questions.hpp"
#include "swardline/store/returned.hpp"

namespace swardline::tool {
namespace {

struct EstimateCommand {
  Common common;
  double confidence_percent = 0;  ///< 0: the plan's
  std::vector<std::string> species;
  bool symmetric = false;
  std::filesystem::path against;
};

CPLJSONObject json_of(const EstimateRow& row) {
  CPLJSONObject object;
  object.Add("where", row.where);
  object.Add("species", row.species);
  object.Add("measure", row.measure);
  object.Add("value", row.value);
  if (row.standard_error) object.Add("standard_error", *row.standard_error);
  if (row.low && row.high) {
    object.Add("limit_low", *row.low);
    object.Add("limit_high", *row.high);
    object.Add("confidence_percent", row.confidence_percent);
    object.Add("limits_kind", row.limits_kind);
  }
  object.Add("plots", row.plots);
  if (row.degrees_freedom) object.Add("degrees_freedom", *row.degrees_freedom);
  object.Add("estimator", row.estimator);
  object.Add("source", row.source);
  return object;
}

/// What holds of whole places; strata are in the files.
void add_summary(CPLJSONObject& json, const Estimates& estimates) {
  json.Add("season", estimates.season);
  json.Add("returns_version", estimates.returns_version);
  CPLJSONArray rows, notes, none;
  for (const EstimateRow& row : estimates.rows)
    if (row.stratum.empty()) rows.Add(json_of(row));
  json.Add("estimates", rows);
  for (const NotEstimated& one : estimates.not_estimated) {
    CPLJSONObject object;
    object.Add("where", one.where);
    object.Add("stratum", one.stratum);
    if (!one.species.empty()) object.Add("species", one.species);
    object.Add("reason", one.reason);
    object.Add("m2", one.m2);
    none.Add(object);
  }
  json.Add("not_estimated", none);
  for (const EstimateNote& note : estimates.notes) {
    CPLJSONObject object;
    object.Add("where", note.where);
    if (!note.species.empty()) object.Add("species", note.species);
    object.Add("text", note.text);
    object.Add("needs_person", note.needs_person);
    notes.Add(object);
  }
  json.Add("notes", notes);
}

void write_files(const Common& common, const Plan& plan, const Estimates& estimates, CPLJSONObject& json) {
  make_folder(plan.out);
  const std::filesystem::path table = plan.out / "estimates.csv", object = plan.out / "estimates.json";
  write_whole(table, estimates_csv(estimates));
  write_whole(object, estimates_json(estimates));
  CPLJSONArray files;
  files.Add(table.string());
  files.Add(object.string());
  json.Add("files", files);
  say(common,
      fmt::format("\nEvery number with its method and source: {}, {}.", table.string(), object.string()));
}

void say_open_questions(const Common& common, const Plan& plan, CPLJSONObject& json) {
  const OpenQuestions open = open_questions(plan.store);
  json.Add("open_questions", open.all());
  if (open.all() == 0) return;
  say(common,
      fmt::format(
          "{} about what came back {} open ({} STOP, {} ASK): their rows are kept out of every figure "
          "below, which is too low where they are finds. They are in {}; answer them with correct.\n",
          open.all() == 1 ? "1 question" : grouped(open.all()) + " questions", open.all() == 1 ? "is" : "are",
          open.stop, open.ask, (plan.out / "flags.csv").string()));
}

Status estimated(const Common& common, const Plan& plan, const EvaluatedSeason& season,
                 const EstimateCommand& command, Flags& flags, CPLJSONObject& json) {
  const std::string started = utc_now();
  EstimateSpec spec = plan.estimate;
  if (command.confidence_percent > 0) spec.confidence = command.confidence_percent / 100;
  // Before anything is said: a wrong name must not come after pages of results.
  std::optional<EvaluatedSeason> against;
  if (!command.against.empty()) against = season_before(season, command.against);
  Estimates estimates =
      estimate_season(season, spec, {command.species, command.symmetric, threads_of(common)});
  say_open_questions(common, plan, json);
  say(common, swardline::in_words(estimates));
  add_earlier(common, plan, {season, against ? &*against : nullptr, spec.confidence, command.species},
              estimates, flags, json);
  if (command.species.empty()) {
    write_estimates(plan.store, estimates,
                    run_record("estimate", plan, inputs_of_returns(plan.store), started));
    write_files(common, plan, estimates, json);
  } else {
    say(common, "\nThe store and the tables keep what was estimated of all species: nothing was written.");
  }
  if (common.json) add_summary(json, estimates);
  const bool headline = std::any_of(estimates.notes.begin(), estimates.notes.end(),
                                    [](const EstimateNote& note) { return note.needs_person; });
  return headline ? Status::needs_person : Status::done;
}

Status run_estimate(const EstimateCommand& command) {
  const Common& common = command.common;
  Flags flags;
  const Season season = read_season(common.plan, flags);
  flags.throw_if_stopped();
  const Plan& plan = season.plan;
  const FolderLock lock(plan.folder);
  const Store store(plan.store);
  store.check_drawn_for(plan, Crs::from_text(plan.crs, plan.crs_place));
  store.check_writable();
  const EvaluatedSeason evaluated = counted_season(common, plan);
  CPLJSONObject json;
  const Status status = estimated(common, plan, evaluated, command, flags, json);
  show_findings(common, flags);
  add_findings(json, flags);
  print_json(common, json);
  return status;
}

}  // namespace

Status estimate_of(const Common& common, const Plan& plan, Flags& flags, CPLJSONObject& json) {
  const EvaluatedSeason evaluated = read_evaluated(plan.store);
  if (!any_counted(evaluated)) {
    say(common, "No count can be used yet, so no estimates.");
    return Status::done;
  }
  return estimated(common, plan, evaluated, {}, flags, json);
}

std::function<Status()> setup_estimate(CLI::App& app) {
  auto command = std::make_shared<EstimateCommand>();
  add_common(app, command->common);
  app.add_option("--confidence", command->confidence_percent,
                 "Of the limits, in percent, in place of the plan's (90)")
      ->check(CLI::Range(50.0, 99.9));
  app.add_option("--species", command->species, "Codes to show alone, and write nothing; all if not given")
      ->delimiter(',');
  app.add_flag("--symmetric", command->symmetric, "Symmetric limits beside the log-based ones");
  app.add_option(
      "--against", command->against,
      "Store of an earlier season: change on the same plots. A trend needs no option: it is told where "
      "[returns] earlier makes four seasons");
  add_examples(app, "estimate plan.toml --against ../2026/season.gpkg",
               "estimate plan.toml --species PTUB,PDIG --confidence 95 --symmetric");
  return [command] { return run_estimate(*command); };
}

}  // namespace swardline::tool
