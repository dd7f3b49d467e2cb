#include <CLI/CLI.hpp>
#include <memory>

#include "commands.hpp"
#include "output.hpp"
#include "swardline/season/season.hpp"

namespace swardline::tool {

std::function<Status()> setup_new(CLI::App& app) {
  struct Options {
    Common common;
    std::filesystem::path folder;
  };
  auto options = std::make_shared<Options>();
  app.add_option("DIR", options->folder, "Folder to make; it must be new or empty")->required();
  add_common(app, options->common, false);
  add_examples(app, "new my-season-2027", "new my-season-2027 && $EDITOR my-season-2027/plan.toml");
  return [options] {
    start_season(options->folder);
    say(options->common,
        "Made " + options->folder.string() +
            ": a commented plan, two species sheets, and a place for the layers.\n"
            "Next: put your rasters and polygons in, edit plan.toml, then run: swardline check " +
            (options->folder / "plan.toml").string());
    CPLJSONObject json;
    json.Add("folder", options->folder.string());
    print_json(options->common, json);
    return Status::done;
  };
}

}  // namespace swardline::tool
