// The verbs of the tool: one table, one file each.
#pragma once

#include <filesystem>
#include <functional>
#include <string>
#include <vector>

#include "swardline/base/error.hpp"

namespace CLI {
class App;
}

namespace swardline::tool {

/// What every command takes.
struct Common {
  std::filesystem::path plan;
  bool json = false;
  bool quiet = false;
  int threads = 0;  ///< 0: as many as the machine has
};

/// A verb: its setup adds options and examples and returns what runs after parsing.
struct Command {
  const char* name;
  const char* line;
  std::function<Status()> (*setup)(CLI::App& app);
};
[[nodiscard]] const std::vector<Command>& commands();

/// Options of every command; `plan` adds the PLAN argument.
void add_common(CLI::App& app, Common& common, bool plan = true);
/// The two worked examples under --help.
void add_examples(CLI::App& app, const std::string& first, const std::string& second);

std::function<Status()> setup_new(CLI::App& app);
std::function<Status()> setup_check(CLI::App& app);
std::function<Status()> setup_score(CLI::App& app);
std::function<Status()> setup_explain(CLI::App& app);
std::function<Status()> setup_effort(CLI::App& app);
std::function<Status()> setup_blocks(CLI::App& app);
std::function<Status()> setup_draw(CLI::App& app);
std::function<Status()> setup_points(CLI::App& app);
std::function<Status()> setup_packet(CLI::App& app);
std::function<Status()> setup_receive(CLI::App& app);
std::function<Status()> setup_correct(CLI::App& app);
std::function<Status()> setup_estimate(CLI::App& app);
std::function<Status()> setup_compare(CLI::App& app);
std::function<Status()> setup_next(CLI::App& app);
std::function<Status()> setup_report(CLI::App& app);
std::function<Status()> setup_run(CLI::App& app);

}  // namespace swardline::tool
