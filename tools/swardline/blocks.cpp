#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>
#include <memory>
#include <optional>

#include "commands.hpp"
#include "opened.hpp"
#include "output.hpp"
#include "swardline/base/text.hpp"
#include "swardline/design/blocks.hpp"
#include "swardline/report/block_files.hpp"

namespace swardline::tool {
namespace {

struct BlocksOptions {
  Common common;
  std::string species;
  std::optional<double> side_m;
  std::optional<int> top;
};

std::string from_start(const SiteBlock& block) {
  if (!block.metres) return block.reached ? "-" : "no way";
  return fmt::format("{:.0f} m{}", *block.metres, block.way == "straight" ? "" : ", past a barrier");
}

std::string slope(const SiteBlock& block) {
  if (!block.slope_mean_deg) return "-";
  return fmt::format("{:.0f}-{:.0f}°", *block.slope_mean_deg, *block.slope_steepest_deg);
}

std::string reason(const BlockSpecies& row) {
  if (row.held_down_by.empty()) return "nothing";
  return fmt::format("{} on {:.0f} %", row.held_down_by, 100 * row.held_down_share);
}

std::string block_line(const SiteBlock& block, const BlockSpecies& row) {
  return fmt::format("  {:>3}  {:<15} {:>5.2f} {:>7.0f} % {:>7.0f} % {:>8.2f}  {:<24} {:<22} {:<8} {}{}",
                     row.rank, block.name, row.mean, 100 * row.scored_m2 / block.ground_m2,
                     100 * row.excluded_m2 / block.ground_m2, block.ground_m2 * 1e-4, reason(row),
                     from_start(block), slope(block), block.chosen ? "chosen  " : "", block.caution);
}

void say_species(const BlocksOptions& options, const Opened& opened, const SeasonBlocks& blocks,
                 std::size_t which) {
  const std::string& code = opened.model.species()[which].code;
  const int top = options.top.value_or(options.species.empty() ? 1 : 3);
  say(options.common,
      fmt::format("{}: blocks of {} m, best first by mean score times scored ground ({} of each site)", code,
                  shortest(blocks.side_m), top));
  say(options.common,
      fmt::format("  {:>3}  {:<15} {:>5} {:>9} {:>9} {:>8}  {:<24} {:<22} {:<8}", "", "block", "mean",
                  "scored", "excluded", "hectares", "held down most by", "from parking", "slope"));
  for (const Site& site : opened.sites.sites) {
    const std::vector<std::size_t> best = best_blocks(blocks, site.code, which);
    if (!best.empty() && blocks.blocks[best[0]].species[which].mean <= 0) {
      say(options.common, fmt::format("       {:<15}  0.00  every block: held down by {}", site.code,
                                      blocks.blocks[best[0]].species[which].held_down_by));
      continue;
    }
    for (std::size_t k = 0; k < std::min(best.size(), std::size_t(top)); ++k)
      say(options.common, block_line(blocks.blocks[best[k]], blocks.blocks[best[k]].species[which]));
    if (best.empty()) say(options.common, fmt::format("       {:<15} no ground with a score", site.code));
  }
}

CPLJSONObject species_json(const BlockSpecies& row) {
  CPLJSONObject object;
  object.Add("species", row.species);
  if (row.rank > 0) {
    object.Add("rank", row.rank);
    object.Add("mean_score", row.mean);
  }
  object.Add("scored_m2", row.scored_m2);
  object.Add("excluded_m2", row.excluded_m2);
  object.Add("no_score_m2", row.no_score_m2);
  if (!row.held_down_by.empty()) object.Add("held_down_by", row.held_down_by);
  if (row.rank > 0) object.Add("held_down_share", row.held_down_share);
  return object;
}

CPLJSONObject block_json(const SiteBlock& block, const std::string& species) {
  CPLJSONObject object;
  object.Add("block", block.name);
  object.Add("site", block.site);
  object.Add("ground_m2", block.ground_m2);
  if (block.metres) object.Add("metres_from_start", *block.metres);
  object.Add("way", block.way);
  if (block.slope_mean_deg) {
    object.Add("slope_mean_deg", *block.slope_mean_deg);
    object.Add("slope_steepest_deg", *block.slope_steepest_deg);
  }
  if (!block.caution.empty()) object.Add("caution", block.caution);
  object.Add("chosen", block.chosen);
  CPLJSONArray rows;
  for (const BlockSpecies& row : block.species)
    if (species.empty() || row.species == species) rows.Add(species_json(row));
  object.Add("species", rows);
  return object;
}

void check_species(const BlocksOptions& options, const Opened& opened) {
  if (options.species.empty()) return;
  std::vector<std::string> codes;
  for (const ScoredSpecies& species : opened.model.species()) codes.push_back(species.code);
  if (std::find(codes.begin(), codes.end(), options.species) != codes.end()) return;
  throw InputError({opened.season.plan.file.filename().string(), 0, {}},
                   fmt::format("has no scored species '{}'", options.species),
                   "Scored: " + swardline::in_words(codes) + ".");
}

Status rank_and_write(const BlocksOptions& options) {
  const Common& common = options.common;
  const CheckResult checked = check_first(common, CellsChecked::at_sites, false);
  Opened opened = open_season(common, &checked, layers_for_blocks);
  const Plan& plan = opened.season.plan;
  check_species(options, opened);
  const FolderLock lock(plan.folder);
  const SeasonBlocks blocks =
      rank_blocks(opened.season, opened.sites, opened.layers, opened.model, opened.access,
                  options.side_m.value_or(plan.blocks.side_m), threads_of(common), progress_line(common));
  make_folder(plan.out);
  write_blocks_csv(blocks, options.species, plan.out / "blocks.csv");
  write_blocks_gpkg(blocks, options.species, opened.crs, plan.out / "blocks.gpkg");

  for (std::size_t s = 0; s < opened.model.species().size(); ++s)
    if (options.species.empty() || opened.model.species()[s].code == options.species)
      say_species(options, opened, blocks, s);
  say(common, fmt::format("{} blocks, all of them in {} and {}.", blocks.blocks.size(),
                          (plan.out / "blocks.csv").string(), (plan.out / "blocks.gpkg").string()));
  say(common,
      "A block may be chosen ([blocks] chosen in the plan); where plots start in it stays random, and "
      "estimates "
      "then speak for the chosen ground alone.");
  say(common,
      "Slopes are the elevation layer's, mean and steepest cell. Look at steep or distant ground before "
      "anyone "
      "goes; local rules, landowners and licensed practice come first.");
  CPLJSONObject json;
  json.Add("side_m", blocks.side_m);
  CPLJSONArray list;
  for (const SiteBlock& block : blocks.blocks) list.Add(block_json(block, options.species));
  json.Add("blocks", list);
  const Flags findings = each_once(checked.flags, opened.flags);
  show_findings(common, findings);
  add_findings(json, findings);
  print_json(common, json);
  return Status::done;
}

}  // namespace

std::function<Status()> setup_blocks(CLI::App& app) {
  auto options = std::make_shared<BlocksOptions>();
  add_common(app, options->common);
  app.add_option("--species", options->species, "Only this species");
  app.add_option("--side", options->side_m, "Side of a block in metres (default: the plan's, 100)")
      ->check(CLI::Range(0.001, 10000.0));
  app.add_option("--top", options->top, "Blocks shown of each site (default 1; 3 with --species)")
      ->check(CLI::Range(1, 1000000));
  add_examples(app, "blocks plan.toml", "blocks plan.toml --species PTUB --side 50 --top 5");
  return [options] { return rank_and_write(*options); };
}

}  // namespace swardline::tool
