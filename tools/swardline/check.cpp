#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>

#include "commands.hpp"
#include "opened.hpp"
#include "output.hpp"
#include "swardline/check/check_season.hpp"

namespace swardline::tool {
namespace {

void add_lines(CPLJSONObject& json, const char* name, const std::vector<std::string>& lines) {
  CPLJSONArray array;
  for (const std::string& line : lines) array.Add(line);
  json.Add(name, array);
}

void say_part(const Common& common, const char* heading, const std::vector<std::string>& lines) {
  if (lines.empty()) return;
  say(common, heading);
  for (const std::string& line : lines) say(common, "  " + line);
}

}  // namespace

std::function<Status()> setup_check(CLI::App& app) {
  struct Options {
    Common common;
    bool sentences = false;
  };
  auto options = std::make_shared<Options>();
  add_common(app, options->common);
  app.add_flag("--sentences", options->sentences, "Read every species sheet back as sentences");
  add_examples(app, "check plan.toml", "check plan.toml --sentences --json");
  return [options] {
    const Common& common = options->common;
    const CheckResult result = check_season(common.plan, {threads_of(common), progress_line(common)});
    say_part(common, "Routes between coordinate systems:", result.routes);
    say_part(common, "Layers:", result.layers);
    say_part(common, "Sites:", result.sites);
    if (options->sentences) say_part(common, "Rules as read:", result.sheets);
    if (common.quiet) show_findings(common, result.flags);
    for (const Flag& flag : result.flags.all()) say(common, in_words(flag));
    say(common,
        fmt::format("{} STOP, {} ASK, {} NOTE: {}.", result.flags.count(Severity::stop),
                    result.flags.count(Severity::ask), result.flags.count(Severity::note), result.verdict));
    CPLJSONObject json;
    json.Add("verdict", result.verdict);
    add_findings(json, result.flags);
    add_lines(json, "routes", result.routes);
    add_lines(json, "layers", result.layers);
    add_lines(json, "sites", result.sites);
    add_lines(json, "sheets", result.sheets);
    print_json(common, json);
    return result.flags.stopped() ? Status::needs_person : Status::done;
  };
}

}  // namespace swardline::tool
