#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <cmath>
#include <memory>

#include "commands.hpp"
#include "opened.hpp"
#include "output.hpp"
#include "swardline/base/text.hpp"

namespace swardline::tool {
namespace {

std::string table_line(const SiteSpeciesScores& row, const std::vector<double>& bands) {
  std::string line = fmt::format("  {:<4} {:<5} {:>6}", row.site, row.species,
                                 std::isnan(row.mean) ? "-" : fmt::format("{:.2f}", row.mean));
  for (std::size_t i = 0; i <= bands.size(); ++i) line += fmt::format(" {:>10.2f}", row.band_m2[i] * 1e-4);
  return line + fmt::format(" {:>9.2f} {:>9.2f}", row.excluded_m2 * 1e-4, row.no_score_m2 * 1e-4);
}

// The layer of the factor that holds a patch's score down; empty where nothing does.
std::string held_down(const PatchScore& patch, const std::vector<Sheet>& sheets) {
  if (!patch.cell.held_down_by) return {};
  for (const Sheet& sheet : sheets)
    if (sheet.code == patch.species) return sheet.factors.at(*patch.cell.held_down_by).layer;
  return {};
}

void say_patches(const Common& common, const std::vector<PatchScore>& patches,
                 const std::vector<Sheet>& sheets) {
  if (patches.empty()) return;
  say(common, "Known patches, by species, highest score first:");
  for (const PatchScore& patch : patches) {
    std::string line = fmt::format("  {:<5} {:>2}  {:<12} {}  ", patch.species, patch.rank, patch.patch,
                                   patch.here ? "known here    " : "known not here");
    if (patch.cell.outcome == Outcome::scored)
      line +=
          fmt::format("{:.2f}{}", patch.cell.score,
                      held_down(patch, sheets).empty() ? "" : "  held down by " + held_down(patch, sheets));
    else
      line += patch.cell.outcome == Outcome::excluded ? "excluded: " + patch.cell.reason
                                                      : "no score: " + patch.cell.reason;
    say(common, line);
  }
}

}  // namespace

Status score_opened(const Common& common, Opened& opened, const ScoreOptions& asked, CPLJSONObject& json) {
  const std::string started = utc_now();
  const Plan& plan = opened.season.plan;
  ScoreOptions options = asked;
  options.threads = threads_of(common);
  options.out = plan.out;
  options.bands = plan.strata.bands;
  options.progress = progress_line(common);
  Store store(plan.store);
  store.check_writable();
  const ScoreResult result = score_season(opened.season, opened.layers, opened.model,
                                          survey_areas(opened.sites), options, opened.flags);
  std::vector<PatchScore> patches;
  if (plan.known) patches = score_patches(opened.season, opened.layers, opened.crs, opened.flags);
  opened.flags.throw_if_stopped();
  store.write_scores(opened.crs, opened.sites, result, plan.strata.bands,
                     run_record("score", plan, result.fingerprint, started));
  (void)write_styles(plan.out / "styles", plan.strata.bands);

  std::string heading = fmt::format("  {:<4} {:<5} {:>6}", "site", "code", "mean");
  for (std::size_t i = 0; i <= plan.strata.bands.size(); ++i)
    heading += fmt::format(" {:>10}", band_id(plan.strata.bands, i));
  say(common, "Hectares per score band (percent of full marks):");
  say(common, heading + fmt::format(" {:>9} {:>9}", "excluded", "no score"));
  CPLJSONArray rows;
  for (const SiteSpeciesScores& row : result.table) {
    say(common, table_line(row, plan.strata.bands));
    CPLJSONObject object;
    object.Add("site", row.site);
    object.Add("species", row.species);
    if (!std::isnan(row.mean)) object.Add("mean", row.mean);
    CPLJSONArray hectares_per_band;
    for (const double m2 : row.band_m2) hectares_per_band.Add(m2 * 1e-4);
    object.Add("hectares_per_band", hectares_per_band);
    object.Add("hectares_excluded", row.excluded_m2 * 1e-4);
    object.Add("hectares_no_score", row.no_score_m2 * 1e-4);
    object.Add("reweighted_share", row.reweighted_share);
    rows.Add(object);
  }
  json.Add("table", rows);
  say_patches(common, patches, opened.season.sheets);
  CPLJSONArray known;
  for (const PatchScore& patch : patches) {
    CPLJSONObject object;
    object.Add("species", patch.species);
    object.Add("patch", patch.patch);
    object.Add("here", patch.here);
    object.Add("rank", patch.rank);
    if (patch.cell.outcome == Outcome::scored) object.Add("score", patch.cell.score);
    object.Add("held_down_by", held_down(patch, opened.season.sheets));
    object.Add("reason", patch.cell.reason);
    known.Add(object);
  }
  json.Add("known_patches", known);
  CPLJSONArray files;
  for (const std::filesystem::path& file : result.files) files.Add(file.string());
  json.Add("files", files);
  CPLJSONArray kept;
  for (const std::string& code : result.kept) kept.Add(code);
  json.Add("maps_kept", kept);
  if (!result.files.empty())
    say(common, fmt::format("{} maps in {} and {}.", result.files.size(), (plan.out / "score").string(),
                            (plan.out / "held-down").string()));
  if (!result.kept.empty())
    say(common, fmt::format("Maps of {} are as they were: layers, sheets and grid have not changed.",
                            swardline::in_words(result.kept)));
  return Status::done;
}

std::function<Status()> setup_score(CLI::App& app) {
  struct Options {
    Common common;
    ScoreOptions score;
    bool tables_only = false;
  };
  auto options = std::make_shared<Options>();
  add_common(app, options->common);
  app.add_flag("--tables-only", options->tables_only, "Write no maps, only the site table");
  app.add_flag("--float", options->score.as_float, "Score maps as Float32 instead of whole percents");
  app.add_flag("--force", options->score.force,
               "Write every map anew; else those stay whose layers, sheet and grid are as they were");
  app.add_flag("--cog", options->score.cog, "Maps in the cloud-optimised layout");
  add_examples(app, "score plan.toml", "score plan.toml --tables-only --json");
  return [options] {
    const CheckResult checked = check_first(options->common, CellsChecked::at_sites, false);
    Opened opened = open_season(options->common, &checked);
    const FolderLock lock(opened.season.plan.folder);
    options->score.maps = !options->tables_only;
    CPLJSONObject json;
    const Status status = score_opened(options->common, opened, options->score, json);
    const Flags findings = each_once(checked.flags, opened.flags);
    show_findings(options->common, findings);
    add_findings(json, findings);
    print_json(options->common, json);
    return status;
  };
}

}  // namespace swardline::tool
