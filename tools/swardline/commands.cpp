#include "commands.hpp"

#include <CLI/CLI.hpp>

namespace swardline::tool {

const std::vector<Command>& commands() {
  static const std::vector<Command> all = {
      {"new", "Start a season folder", setup_new},
      {"check", "Find everything wrong or doubtful with the inputs, before any work", setup_check},
      {"score", "Score the habitat of every species: maps and hectares per band", setup_score},
      {"explain", "Say why a place scores as it does", setup_explain},
      {"effort", "Say how many plots the season's questions need and what the hours there are can answer",
       setup_effort},
      {"blocks", "Rank blocks within sites by species: where to lay plots and transects", setup_blocks},
      {"draw", "Draw plots at random, by strata, with their chances", setup_draw},
      {"points", "Write the drawn plots as files for GPS units and maps", setup_points},
      {"packet", "Make the one-page sheets that teams carry, the table of visits, and identification cards",
       setup_packet},
      {"receive", "Take in what was counted and say what is doubtful; without a file, how far the season is",
       setup_receive},
      {"correct", "Put right what was received, with who, when and why; what came stays as it came",
       setup_correct},
      {"estimate", "Estimate density and totals from what was counted, with limits", setup_estimate},
      {"compare",
       "Hold counts against scores: where a rule is wrong, by which factor, and what an edit would do",
       setup_compare},
      {"next", "Plan next season from this one: spreads, refusals, who is due, plots by stratum", setup_next},
      {"report", "Make the season's page: where, how much, what was found, what is doubtful", setup_report},
      {"run", "Do all that is due, in order: check, score, draw, effort, points, returns, estimates",
       setup_run},
  };
  return all;
}

void add_common(CLI::App& app, Common& common, bool plan) {
  if (plan) app.add_option("PLAN", common.plan, "The season's plan, for example plan.toml")->required();
  app.add_flag("--json", common.json, "Print a machine-readable summary instead of words");
  app.add_flag("--quiet", common.quiet, "Print nothing but errors and findings that need a person");
  app.add_option("--threads", common.threads, "Threads to use; results do not depend on it (default: all)")
      ->check(CLI::Range(1, 1024));
}

void add_examples(CLI::App& app, const std::string& first, const std::string& second) {
  app.footer("Examples:\n  swardline " + first + "\n  swardline " + second +
             "\n\nExit status: 0 done; 1 done, but something needs a person; 2 command line;\n"
             "3 plan, sheet or input; 4 reading or writing failed; 70 a fault of ours.");
}

}  // namespace swardline::tool
