#include "opened.hpp"

#include <fmt/chrono.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <chrono>

#include "swardline/base/workers.hpp"
#include "swardline/design/strata.hpp"

namespace swardline::tool {

CheckResult check_first(const Common& common, CellsChecked cells, bool record) {
  CheckResult checked = check_season(common.plan, {threads_of(common), progress_line(common), cells, record});
  const std::vector<Flag>& all = checked.flags.all();
  const auto is_stop = [](const Flag& flag) { return flag.severity == Severity::stop; };
  const auto first = std::find_if(all.begin(), all.end(), is_stop);
  if (first == all.end()) return checked;
  Flags further;
  std::for_each(first + 1, all.end(), [&](const Flag& flag) {
    if (is_stop(flag)) further.add(flag);
  });
  show_findings(common, further);
  CPLJSONObject json;
  json.Add("verdict", checked.verdict);
  add_findings(json, checked.flags);
  print_json(common, json);
  std::string remedy = first->remedy;
  if (const std::size_t more = further.all().size(); more > 0)
    remedy +=
        fmt::format("{}({} more STOP {}: swardline check {} shows everything.)", remedy.empty() ? "" : " ",
                    more, more == 1 ? "finding" : "findings", common.plan.string());
  // A folder that cannot be written is no fault of the inputs.
  const Status status = first->check == "output cannot be written" ? Status::io : Status::input;
  throw Error(status, first->place, first->meaning, remedy);
}

Flags each_once(const Flags& checked, const Flags& later) {
  // The check says the same of many features of a file in one finding, so the feature tells nothing apart.
  const auto same = [](const Flag& a, const Flag& b) {
    return a.severity == b.severity && a.check == b.check && a.place.file == b.place.file &&
           a.place.line == b.place.line && a.meaning == b.meaning && a.remedy == b.remedy;
  };
  Flags result = checked;
  for (const Flag& flag : later.all())
    if (std::none_of(checked.all().begin(), checked.all().end(),
                     [&](const Flag& known) { return same(known, flag); }))
      result.add(flag);
  return result;
}

Opened open_season(const Common& common, const CheckResult* checked,
                   std::vector<std::string> (*needed)(const Season&)) {
  Opened opened;
  opened.season = read_season(common.plan, opened.flags);
  opened.flags.throw_if_stopped();
  const Plan& plan = opened.season.plan;
  opened.crs = Crs::from_text(plan.crs, plan.crs_place);
  if (checked != nullptr && checked->read) {
    opened.sites = checked->read->sites;
    opened.access = checked->read->access;
    for (const Flag& flag : checked->read->sites_flags.all()) opened.flags.add(flag);
    for (const Flag& flag : checked->read->access_flags.all()) opened.flags.add(flag);
  } else {
    opened.sites = read_sites(plan, opened.crs, opened.flags, threads_of(common));
    opened.access = read_access(plan, opened.crs, opened.sites, opened.flags);
  }
  opened.layers = Layers::open(plan, opened.crs, needed(opened.season), opened.flags);
  opened.flags.throw_if_stopped();
  opened.model = Model::compile(opened.season, opened.layers, opened.flags);
  opened.flags.throw_if_stopped();
  return opened;
}

int threads_of(const Common& common) { return common.threads > 0 ? common.threads : default_threads(); }

void add_new_strata(CLI::App& app, bool& new_strata) {
  app.add_flag("--new-strata", new_strata,
               "Make strata anew instead of keeping those of record; says what changes in hectares");
}

std::string utc_now() {
  const std::time_t now = std::chrono::system_clock::to_time_t(std::chrono::system_clock::now());
  return fmt::format("{:%Y-%m-%dT%H:%M:%SZ}", fmt::gmtime(now));
}

RunRecord run_record(const std::string& command, const Plan& plan, const std::string& inputs,
                     const std::string& started) {
  return {command, SWARDLINE_VERSION, inputs, started, utc_now(), plan.seed};
}

}  // namespace swardline::tool
