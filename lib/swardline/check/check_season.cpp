#include "swardline/check/check_season.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>

#include "swardline/base/error.hpp"
#include "swardline/check/check_parts.hpp"
#include "swardline/design/blocks.hpp"
#include "swardline/design/draw_season.hpp"
#include "swardline/design/edges.hpp"
#include "swardline/design/strata.hpp"
#include "swardline/effort/effort.hpp"
#include "swardline/habitat/score_season.hpp"
#include "swardline/lines/declination.hpp"

namespace swardline {
namespace {

using namespace check_parts;

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

// The same finding on many features of one file is one line.
Flags gathered(const Flags& flags) {
  constexpr std::size_t most_named = 3;
  std::vector<Flag> kept;
  std::vector<std::size_t> times;
  for (const Flag& flag : flags.all()) {
    std::size_t i = 0;
    while (i < kept.size() &&
           !(kept[i].severity == flag.severity && kept[i].check == flag.check &&
             kept[i].place.file == flag.place.file && kept[i].place.line == flag.place.line &&
             kept[i].meaning == flag.meaning && kept[i].remedy == flag.remedy))
      ++i;
    if (i == kept.size()) {
      kept.push_back(flag);
      times.push_back(1);
    } else if (kept[i].place.item != flag.place.item && ++times[i] <= most_named) {
      kept[i].place.item += ", " + flag.place.item;
    }
  }
  Flags result;
  for (std::size_t i = 0; i < kept.size(); ++i) {
    if (times[i] > most_named) kept[i].place.item += fmt::format(" and {} more", times[i] - most_named);
    result.add(kept[i]);
  }
  return result;
}

// What must be settled first comes first; within a severity, in the order of the passes.
Flags by_severity(const Flags& flags) {
  Flags sorted;
  for (const Severity severity : {Severity::stop, Severity::ask, Severity::note})
    for (const Flag& flag : flags.all())
      if (flag.severity == severity) sorted.add(flag);
  return sorted;
}

// Every pass over one season's inputs, each guarded.
class Passes {
 public:
  Passes(const Season& season, const Crs& crs, const CheckOptions& options, CheckResult& result)
      : season_(season), plan_(season.plan), crs_(crs), options_(options), result_(result) {}

  void run() {
    if (!crs_.projected() || !crs_.in_metres()) {
      // Said in one line; every other pass measures in metres.
      guarded(result_.flags, "sites", [&] { (void)read_sites(plan_, crs_, result_.flags); });
      return;
    }
    guarded(result_.flags, "sources", [&] { inputs_ = read_vector_inputs(plan_, crs_, late_); });
    guarded(result_.flags, "sites", [&] { check_sites(); });
    guarded(result_.flags, "layers", [&] {
      layers_ = Layers::open(plan_, crs_, layers_to_check(season_), result_.flags);
      opened_ = !layers_.infos().empty();
    });
    std::optional<Box> valley;
    if (opened_)
      guarded(result_.flags, "alignment",
              [&] { valley = check_alignment(plan_, crs_, layers_, result_.routes, result_.flags); });
    guarded(result_.flags, "positions", [&] {
      for (const Flag& flag : late_.all()) result_.flags.add(flag);
      check_positions(crs_, inputs_, valley, result_.routes, result_.flags);
      check_datum(plan_, crs_, inputs_, sites_, result_.flags);
      check_zones(plan_, crs_, sites_, result_.flags);
      check_attributes(inputs_, result_.flags);
    });
    if (opened_) guarded(result_.flags, "chosen blocks", [&] { check_chosen(); });
    if (opened_) guarded(result_.flags, "rasters", [&] { check_cells(); });
  }

 private:
  void check_sites() {
    auto read = std::make_shared<SitesChecked>();
    const auto known = std::ptrdiff_t(result_.flags.all().size());
    sites_ = read->sites = read_sites(plan_, crs_, result_.flags, std::max(1, options_.threads));
    std::for_each(result_.flags.all().begin() + known, result_.flags.all().end(),
                  [&](const Flag& flag) { read->sites_flags.add(flag); });
    Flags& access = read->access_flags;
    read->access = read_access(plan_, crs_, sites_, access);
    result_.read = read;
    // With a site layer missing, access points of its sites are no finding.
    const bool all_read = std::none_of(inputs_.sites.begin(), inputs_.sites.end(),
                                       [](const VectorInput& input) { return input.layer.features.empty(); });
    for (const Flag& flag : access.all())
      if (all_read || flag.check != "access point of no site") result_.flags.add(flag);
    check_edges(plan_, sites_, result_.flags);
    for (const Site& site : sites_.sites) result_.sites.push_back(in_words(site));
  }

  void check_chosen() {
    Sites kept = sites_;
    keep_chosen_blocks(plan_, crs_, layers_.grid(), kept, result_.flags);
  }

  void check_cells() {
    const int threads = std::max(1, options_.threads);
    const bool every_cell = options_.cells == CellsChecked::all;
    const bool sound = check_size(plan_, layers_, sites_, result_.flags);
    if (!sound && !every_cell) return;
    const SiteGround ground = sound ? SiteGround(sites_, layers_, options_.cells, threads) : SiteGround();
    const Layers by_file = every_cell ? layers_by_file() : layers_;
    const std::vector<LayerFacts> facts =
        read_facts(plan_, by_file, ground, threads, options_.progress, result_.flags);
    bool readable = true;
    for (std::size_t i = 0; i < facts.size(); ++i) {
      check_values(plan_, layers_.infos()[i], facts[i], result_.flags);
      result_.layers.push_back(layer_line(layers_.infos()[i], facts[i]));
      readable = readable && facts[i].readable;
    }
    check_steepness(plan_, by_file, facts, ground, result_.flags);
    if (sound) {
      check_reach(layers_, facts, sites_, ground, threads, result_.flags);
      check_water(season_, layers_, facts, sites_, ground, result_.flags);
    }
    if (!readable) return;
    const Model model = Model::compile(season_, layers_, result_.flags);
    if (!sound) return;
    (void)score_patches(season_, layers_, crs_, result_.flags);
    if (all_opened() && !sites_.sites.empty()) check_strata(season_, sites_, layers_, model, result_.flags);
    if (options_.record) check_record(plan_, plan_.folder / "record", layers_.grid(), result_.flags);
    check_transect_length(plan_, sites_, result_.flags);
    if (all_opened())
      check_scores(season_, layers_, model, sites_, ground, threads, options_.progress, result_.flags);
  }

  // The layers on the grid of the finest file where the plan's is finer (more cells than a file holds tell
  // nothing more about its values) or too coarse to be one.
  [[nodiscard]] Layers layers_by_file() const {
    if (!plan_.grid.cell_m) return layers_;
    Plan plan = plan_;
    plan.grid.cell_m.reset();
    Flags said;
    Layers layers = Layers::open(plan, crs_, layers_to_check(season_), said);
    const double cell = layers_.grid().cell_m;
    const bool other = cell < layers.grid().cell_m * (1 - 1e-9) || cell > widest_cell_m;
    return other && layers.infos().size() == layers_.infos().size() ? layers : layers_;
  }

  [[nodiscard]] bool all_opened() const {
    const std::vector<std::string> needed = layers_for_draw(season_);
    return std::all_of(needed.begin(), needed.end(),
                       [this](const std::string& name) { return layers_.index(name).has_value(); });
  }

  const Season& season_;
  const Plan& plan_;
  const Crs& crs_;
  const CheckOptions& options_;
  CheckResult& result_;
  VectorInputs inputs_;
  Flags late_;  ///< of sources that no other pass reads; said with the positions
  Sites sites_;
  Layers layers_;
  bool opened_ = false;
};

// Days of the year are enough to say that something is older than two years.
double this_year() {
  const auto today = std::chrono::floor<std::chrono::days>(std::chrono::system_clock::now());
  const std::chrono::year_month_day date(today);
  return int(date.year()) + double(unsigned(date.month()) - 1) / 12 + double(unsigned(date.day()) - 1) / 365;
}

}  // namespace

CheckResult check_season(const std::filesystem::path& plan_file, const CheckOptions& options) {
  CheckResult result;
  const Season season = read_season(plan_file, result.flags);
  const Plan& plan = season.plan;
  for (const Sheet& sheet : season.sheets)
    guarded(result.flags, "sheet", [&] { result.sheets.push_back(in_sentences(sheet, plan)); });
  guarded(result.flags, "pilot", [&] {
    const Pilot pilot = read_pilot(season, result.flags);
    if (plan.effort.given && !result.flags.stopped()) (void)expected_spreads(season, pilot, result.flags);
  });
  check_files(plan, result.flags);
  check_declination(plan.declination, this_year(), result.flags);
  guarded(result.flags, "coordinate system", [&] {
    const Crs crs = Crs::from_text(plan.crs, plan.crs_place);
    Passes(season, crs, options, result).run();
  });
  result.flags = by_severity(gathered(result.flags));
  result.verdict = result.flags.stopped()                  ? "not usable"
                   : result.flags.count(Severity::ask) > 0 ? "usable with a warning"
                                                           : "ready";
  return result;
}

}  // namespace swardline
