// swardline: the command line. Everything it does is in the library; here are the words,
// the exit statuses and nothing else.
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <new>

#include "commands.hpp"
#include "output.hpp"
#include "swardline/base/stopped.hpp"
#include "swardline/base/text.hpp"
#include "swardline/grid/layers.hpp"

namespace {

using namespace swardline;

int fail(Status status, const std::string& message) {
  fmt::print(stderr, "swardline: {}\n", tool::printable(message));
  return int(status);
}

// All that is wrong, as far as a screen holds it: who mends one finding a run needs many runs.
int fail_at(const Stopped& stopped) {
  constexpr std::size_t most_shown = 12;
  const std::vector<Flag>& further = stopped.further();
  for (std::size_t i = 0; i < std::min(further.size(), most_shown); ++i)
    fmt::print(stderr, "{}\n", tool::printable(tool::in_words(further[i])));
  if (further.size() > most_shown) fmt::print(stderr, "… and {} more\n", further.size() - most_shown);
  return fail(stopped.status(), stopped.what());
}

// A slip of the command line with what would be right: the command's first example.
int fail_with_example(const CLI::App& app, const CLI::ParseError& error) {
  std::string name = "COMMAND", example = "swardline new my-season";
  for (const CLI::App* sub : app.get_subcommands()) {
    name = sub->get_name();
    const std::string footer = sub->get_footer();
    const std::string_view before = "  swardline ";
    const auto from = footer.find(before);
    if (from != std::string::npos) example = footer.substr(from + 2, footer.find('\n', from) - from - 2);
  }
  return fail(Status::command_line,
              fmt::format("{}. For example: {}. More: swardline {} --help.", error.what(), example, name));
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
    return fail_with_example(app, error);
  }
  set_up_gdal();
  return int(work());
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run(argc, argv);
  } catch (const Stopped& stopped) {
    return fail_at(stopped);
  } catch (const Error& error) {
    return fail(error.status(), error.what());
  } catch (const std::bad_alloc&) {
    return fail(Status::io, "not enough memory. Use fewer --threads.");
  } catch (const std::exception& error) {
    return fail(Status::defect,
                fmt::format("{} This is a fault of swardline: please report it.", error.what()));
  }
}
