// swardline: the command line. Everything it does is in the library; here are the words,
// the exit statuses and nothing else.
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <new>

#include "commands.hpp"
#include "output.hpp"
#include "swardline/base/text.hpp"
#include "swardline/grid/layers.hpp"

namespace {

using namespace swardline;

int fail(Status status, const std::string& message) {
  fmt::print(stderr, "swardline: {}\n", tool::printable(message));
  return int(status);
}

// The parser would only say that a command is missing.
void refuse_unknown(const std::string& word) {
  std::vector<std::string> names;
  for (const tool::Command& command : tool::commands()) names.emplace_back(command.name);
  if (std::find(names.begin(), names.end(), word) != names.end()) return;
  const std::string nearest = nearest_word(word, names);
  throw Error(Status::command_line, {}, fmt::format("'{}' is no command", word),
              fmt::format("{}Commands: {}.", nearest.empty() ? "" : "Did you mean " + nearest + "? ",
                          fmt::join(names, ", ")));
}

int run(int argc, char** argv) {
  CLI::App app("Plan a season of plant monitoring: habitat scores, random plots, files for GPS units.",
               "swardline");
  app.set_version_flag("--version", "swardline " SWARDLINE_VERSION);
  app.require_subcommand(1);
  app.footer("swardline COMMAND --help shows examples. Start with: swardline new DIR");
  std::function<Status()> work;
  for (const tool::Command& command : tool::commands()) {
    CLI::App* sub = app.add_subcommand(command.name, command.line);
    sub->final_callback([&work, todo = command.setup(*sub)] { work = todo; });
  }
  if (argc > 1 && argv[1][0] != '-') refuse_unknown(argv[1]);
  try {
    app.parse(argc, argv);
  } catch (const CLI::Success& help) {
    return app.exit(help);
  } catch (const CLI::ParseError& error) {
    (void)app.exit(error);
    return int(Status::command_line);
  }
  set_up_gdal();
  return int(work());
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run(argc, argv);
  } catch (const Error& error) {
    return fail(error.status(), error.what());
  } catch (const std::bad_alloc&) {
    return fail(Status::io, "not enough memory. Use fewer --threads.");
  } catch (const std::exception& error) {
    return fail(Status::defect,
                fmt::format("{} This is a fault of swardline: please report it.", error.what()));
  }
}
