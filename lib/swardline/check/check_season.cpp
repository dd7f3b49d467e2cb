#include "swardline/check/check_season.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cstdlib>

#include "swardline/base/error.hpp"
#include "swardline/check/check_parts.hpp"
#include "swardline/design/strata.hpp"

namespace swardline {
namespace {

// Runs one pass; an error that ends it becomes a finding, so that the others still run.
template <class Pass>
void guarded(Flags& flags, const char* check, Pass pass) {
  try {
    pass();
  } catch (const Error& error) {
    if (error.status() == Status::defect) throw;
    flags.add(Severity::stop, check, {}, error.what());
  }
}

std::optional<Box> valley_of(const Layers& layers) {
  if (layers.infos().empty()) return {};
  return layers.grid().box(layers.extent());
}

// Everything the plan names and the sheets or strata need.
std::vector<std::string> layers_to_check(const Season& season) {
  std::vector<std::string> names;
  for (const LayerSpec& layer : season.plan.layers) names.push_back(layer.name);
  const bool has_elevation = season.plan.layer("elevation") != nullptr;
  for (const std::string& name : layers_for_draw(season)) {
    const bool derived = name == "slope" || name == "aspect" || name == "heat";
    const bool there = season.plan.layer(name) != nullptr || (derived && has_elevation);
    if (there && std::find(names.begin(), names.end(), name) == names.end()) names.push_back(name);
  }
  return names;
}

void check_out(const Plan& plan, Flags& flags) {
  std::filesystem::path folder = std::filesystem::absolute(plan.out);
  while (!std::filesystem::exists(folder) && folder.has_relative_path()) folder = folder.parent_path();
  // Permissions do not tell all (a system folder, a full or read-only disk): a folder made and taken away
  // does.
  std::string probe = (folder / ".swardline-XXXXXX").string();
  if (::mkdtemp(probe.data()) != nullptr) {
    ::rmdir(probe.c_str());
    return;
  }
  flags.add(Severity::stop, "output cannot be written", {plan.file.string(), 0, {}},
            fmt::format("the folder {} cannot be written.", folder.string()),
            "Change its permissions, or out in the plan.");
}

}  // namespace

CheckResult check_season(const std::filesystem::path& plan_file, const CheckOptions& options) {
  CheckResult result;
  const Season season = read_season(plan_file, result.flags);
  const Plan& plan = season.plan;
  for (const Sheet& sheet : season.sheets)
    guarded(result.flags, "sheet", [&] { result.sheets.push_back(in_sentences(sheet, plan)); });
  check_out(plan, result.flags);
  guarded(result.flags, "coordinate system", [&] {
    const Crs crs = Crs::from_text(plan.crs, plan.crs_place);
    Sites sites;
    guarded(result.flags, "sites", [&] {
      sites = read_sites(plan, crs, result.flags);
      (void)read_access(plan, crs, sites, result.flags);
      for (const Site& site : sites.sites) result.sites.push_back(in_words(site));
    });
    Layers layers;
    bool opened = false;
    guarded(result.flags, "layers", [&] {
      layers = Layers::open(plan, crs, layers_to_check(season), result.flags);
      opened = true;
      for (const LayerInfo& info : layers.infos()) result.layers.push_back(info.name + ": " + info.how);
    });
    const bool readable = opened && !layers.infos().empty();
    guarded(result.flags, "positions", [&] {
      check_parts::check_positions(plan, crs, sites, readable ? valley_of(layers) : std::nullopt,
                                   result.routes, result.flags);
    });
    if (readable)
      guarded(result.flags, "rasters", [&] {
        check_parts::check_rasters(season, layers, sites, std::max(1, options.threads), options.progress,
                                   result.flags);
      });
  });
  result.verdict = result.flags.stopped()                  ? "not usable"
                   : result.flags.count(Severity::ask) > 0 ? "usable with a warning"
                                                           : "ready";
  return result;
}

}  // namespace swardline
