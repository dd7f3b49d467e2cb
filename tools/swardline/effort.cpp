#include "swardline/effort/effort.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>

#include "commands.hpp"
#include "opened.hpp"
#include "output.hpp"

namespace swardline::tool {
namespace {

struct EffortOptions {
  Common common;
  double hours = 0;
  int plots = 0;
};

const char* word(Question question) {
  switch (question) {
    case Question::limits:
      return "limits";
    case Question::change:
      return "change";
    case Question::occupied:
      return "occupied";
    case Question::occupied_change:
      return "occupied_change";
    case Question::find_one:
      return "find_one";
  }
  return "";
}

CPLJSONObject json_of(const Answer& answer) {
  CPLJSONObject object;
  object.Add("question", word(answer.question));
  if (!answer.need) {
    object.Add("unanswered", answer.unanswered);
    return object;
  }
  object.Add("by_formula", answer.need->by_formula);
  object.Add("by_test", answer.need->by_test);
  object.Add("counted", answer.need->counted);
  object.Add("planned", answer.need->planned);
  object.Add("person_hours", answer.need->hours);
  if (answer.on_separate_plots) object.Add("by_formula_on_separate_plots", *answer.on_separate_plots);
  return object;
}

CPLJSONObject json_of(const Reach& reach) {
  CPLJSONObject object;
  if (reach.limits) object.Add("limits", *reach.limits);
  if (reach.variation) object.Add("coefficient_of_variation", *reach.variation);
  if (reach.change) object.Add("change", *reach.change);
  if (reach.occupied) object.Add("occupied_limits", *reach.occupied);
  if (reach.occupied_change) object.Add("occupied_change", *reach.occupied_change);
  if (reach.find_one) object.Add("find_one", *reach.find_one);
  return object;
}

CPLJSONObject json_of(const Effort& effort, const SpeciesEffort& species) {
  CPLJSONObject object;
  const ExpectedSpread& spread = species.spread;
  object.Add("species", spread.code);
  if (spread.unanswered.empty()) {
    object.Add("mean", spread.mean);
    object.Add("sd", spread.sd);
    object.Add("basis", spread.basis);
    if (spread.sd_of_differences) object.Add("sd_of_differences", *spread.sd_of_differences);
  }
  if (spread.occupied) object.Add("occupied", *spread.occupied);
  if (!spread.advice.empty()) object.Add("advice", spread.advice);
  CPLJSONArray answers;
  for (const Answer& answer : species.answers) answers.Add(json_of(answer));
  object.Add("answers", answers);
  if (effort.available())
    if (const Reach* reach = effort.reach_at(species, *effort.available())) {
      object.Add("given", json_of(*reach));
      object.Add("given_with_more_hours", json_of(species.with_more));
    }
  return object;
}

CPLJSONArray failing_json(const Effort& effort) {
  CPLJSONArray failing;
  for (const Failing& one : effort.failing) {
    CPLJSONObject object;
    object.Add("species", one.species);
    object.Add("question", word(one.question));
    object.Add("needed", one.needed);
    failing.Add(object);
  }
  return failing;
}

void write_files(const Common& common, const Plan& plan, const Effort& effort, CPLJSONObject& json) {
  make_folder(plan.out);
  const std::filesystem::path table = plan.out / "effort.csv";
  const std::filesystem::path chart = plan.out / "effort.svg";
  write_whole(table, effort_csv(effort));
  const std::string svg = effort_chart(effort, plan.effort, plan.name);
  CPLJSONArray files;
  files.Add(table.string());
  if (svg.empty()) {
    std::error_code ignored;
    std::filesystem::remove(chart, ignored);  // of another plan
    say(common, fmt::format("Table: {}. No species has limits to draw.", table.string()));
  } else {
    write_whole(chart, svg);
    files.Add(chart.string());
    say(common, fmt::format("Table and chart: {}, {}.", table.string(), chart.string()));
  }
  json.Add("files", files);
}

Status run_effort(const EffortOptions& options) {
  const Common& common = options.common;
  Flags flags;
  Season season = read_season(common.plan, flags);
  flags.throw_if_stopped();
  EffortSpec& spec = season.plan.effort;
  if (!spec.given)
    throw InputError({common.plan.filename().string(), 0, {}},
                     "has no [effort], so there is nothing to plan for: how big a change matters?",
                     "Add [effort] with change = 0.20, or say how wide the limits may be: precision = 0.25.");
  if (options.hours > 0) spec.hours = options.hours;
  if (options.plots > 0) {
    season.plan.sample.total = options.plots;
    season.plan.sample.total_from = TotalFrom::number;
  }
  const Crs crs = Crs::from_text(season.plan.crs, season.plan.crs_place);
  const Sites sites = read_sites(season.plan, crs, flags);
  flags.throw_if_stopped();
  const FolderLock lock(season.plan.folder);
  CPLJSONObject json;
  const Status status = effort_of(common, season, sites, flags, json);
  show_findings(common, flags);
  add_findings(json, flags);
  print_json(common, json);
  return status;
}

}  // namespace

Status effort_of(const Common& common, Season& season, const Sites& sites, Flags& flags,
                 CPLJSONObject& json) {
  const Store store(season.plan.store);
  const Pilot pilot = read_pilot(season, flags);
  flags.throw_if_stopped();
  const std::vector<ExpectedSpread> spreads = expected_spreads(season, pilot, flags);
  Flags said_already;
  const std::string total = settle_total(season, sites, said_already);
  const Plan& plan = season.plan;
  const Effort effort = work_out_effort(season, spreads, ground_of(plan, sites, store.read_plots()),
                                        plots_asked(plan, store.read_planned()));
  say(common, swardline::in_words(effort, plan));
  if (!total.empty()) say(common, total);
  json.Add("possible_plots", effort.possible_plots);
  if (effort.planned) json.Add("planned", *effort.planned);
  if (effort.planned) json.Add("planned_person_hours", effort.planned_hours);
  if (effort.affordable) json.Add("affordable", *effort.affordable);
  if (effort.more_plots > 0) json.Add("plots_with_more_hours", effort.more_plots);
  CPLJSONArray species;
  for (const SpeciesEffort& one : effort.species) species.Add(json_of(effort, one));
  json.Add("species", species);
  json.Add("failing", failing_json(effort));
  write_files(common, plan, effort, json);
  return effort.holds() ? Status::done : Status::needs_person;
}

std::function<Status()> setup_effort(CLI::App& app) {
  auto options = std::make_shared<EffortOptions>();
  add_common(app, options->common);
  app.add_option("--hours", options->hours, "Person-hours there are, in place of the plan's")
      ->check(CLI::PositiveNumber);
  app.add_option("--plots", options->plots, "Planned plots, in place of the plan's")
      ->check(CLI::Range(1, 10000000));
  add_examples(app, "effort plan.toml", "effort plan.toml --hours 120 --plots 60");
  return [options] { return run_effort(*options); };
}

}  // namespace swardline::tool
