#include "swardline/habitat/score_season.hpp"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <map>
#include <memory>
#include <mutex>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/base/workers.hpp"
#include "swardline/geo/crs.hpp"
#include "swardline/habitat/rule_text.hpp"
#include "swardline/habitat/score_maps.hpp"
#include "swardline/habitat/tally.hpp"

namespace swardline {
namespace {

struct Task {
  Window window;
  bool on_map = false;
};

/// What is left of `a` without `b`, in at most four windows.
std::vector<Window> without(const Window& a, const Window& b) {
  const Window shared = intersect(a, b);
  if (shared.empty()) return {a};
  std::vector<Window> parts;
  const auto add = [&parts](std::int64_t col0, std::int64_t row0, std::int64_t col1, std::int64_t row1) {
    if (col1 > col0 && row1 > row0) parts.push_back({col0, row0, int(col1 - col0), int(row1 - row0)});
  };
  const std::int64_t right = a.col + a.cols, bottom = a.row + a.rows;
  const std::int64_t shared_right = shared.col + shared.cols, shared_bottom = shared.row + shared.rows;
  add(a.col, a.row, right, shared.row);
  add(a.col, shared.row, shared.col, shared_bottom);
  add(shared_right, shared.row, right, shared_bottom);
  add(a.col, shared_bottom, right, bottom);
  return parts;
}

/// Interleaves the bits of both, so that numbers in order run through squares within squares.
std::uint64_t in_squares(std::uint64_t across, std::uint64_t down) {
  std::uint64_t number = 0;
  for (int bit = 0; bit < 32; ++bit)
    number |= (across >> bit & 1) << (2 * bit) | (down >> bit & 1) << (2 * bit + 1);
  return number;
}

/// Maps hold in memory what is begun of their overviews: little where windows come in squares, a row of tiles
/// of every level where they come in rows.
void order_for_maps(std::vector<Window>& windows, const Window& extent) {
  const auto number = [&extent](const Window& window) {
    return in_squares(std::uint64_t(window.col - extent.col) / block_cells,
                      std::uint64_t(window.row - extent.row) / block_cells);
  };
  std::stable_sort(windows.begin(), windows.end(),
                   [&](const Window& a, const Window& b) { return number(a) < number(b); });
}

/// Windows to read: all of the extent for maps, else those that meet a site; and the ground
/// of sites beyond the extent, so that a site's areas add up.
std::vector<Task> tasks_for(const Layers& layers, const SiteCover& cover, bool maps) {
  std::vector<Task> tasks;
  const Window extent = layers.extent();
  std::vector<Window> windows = layers.reading_windows(extent);
  if (maps) order_for_maps(windows, extent);
  for (const Window& window : windows)
    if (maps || cover.meets(window)) tasks.push_back({window, maps});
  for (const auto& [block, pieces] : cover.blocks())
    for (const Window& part : without(block.window(), extent)) tasks.push_back({part, false});
  return tasks;
}

using UnknownCounts = std::map<std::pair<std::string, long long>, std::int64_t>;

[[noreturn]] void refuse_unknown(const UnknownCounts& counts, const Layers& layers) {
  std::map<std::string, std::vector<std::string>> by_layer;
  for (const auto& [key, cells] : counts)
    by_layer[key.first].push_back(std::to_string(key.second) + " (" + grouped(cells) +
                                  (cells == 1 ? " cell)" : " cells)"));
  std::string problem;
  for (const auto& [layer, values] : by_layer) {
    if (!problem.empty()) problem += "; ";
    problem += layer + (values.size() == 1 ? " value " : " values ") + in_words(values) +
               (values.size() == 1 ? " is in no legend" : " are in no legend");
  }
  const std::string& first = by_layer.begin()->first;
  throw InputError(layers.infos()[*layers.index(first)].place, problem + ".",
                   "Name every value under classes in [layers." + first +
                       "], or make it no data in the raster. No map was written.");
}

/// Work of all threads on one season.
class Run {
 public:
  /// `wanted`: by species, whether it is one of `maps`; null where none are written.
  Run(const Layers& layers, const Model& model, const SiteCover& cover, const ScoreOptions& options,
      ScoreMaps* maps, const std::vector<bool>& wanted)
      : layers_(layers),
        model_(model),
        cover_(cover),
        options_(options),
        maps_(maps),
        wanted_(wanted),
        tasks_(tasks_for(layers, cover, maps != nullptr)),
        total_(cover, model) {
    for (const Task& task : tasks_) all_cells_ += std::int64_t(task.window.cells());
  }

  void work() {
    if (maps_ == nullptr && !all_bytes()) return work_in_bands();
    const std::size_t workers = std::size_t(std::max(options_.threads, 1));
    in_runs(workers, options_.threads, [this](int, std::size_t begin, std::size_t end) {
      for (std::size_t worker = begin; worker < end; ++worker) work_alone(next_, tasks_.size());
    });
  }
  [[nodiscard]] const Tally& total() const { return total_; }
  [[nodiscard]] const UnknownCounts& unknown() const { return unknown_; }

 private:
  [[nodiscard]] bool all_bytes() const {
    const std::vector<LayerInfo>& infos = model_.inside().infos;
    return std::all_of(infos.begin(), infos.end(), [](const LayerInfo& info) { return info.bytes; });
  }

  // Windows of measures reach over the blocks of files, and slopes over their edges: a band of windows to
  // each worker, so that no two decode the same blocks.
  void work_in_bands() {
    const std::size_t workers = std::size_t(std::max(options_.threads, 1));
    std::vector<std::size_t> first = {0};  // of each worker's tasks: so that all have as many cells to do
    std::int64_t cells = 0;
    for (std::size_t i = 0; i < tasks_.size(); ++i) {
      if (first.size() < workers && cells * std::int64_t(workers) >= all_cells_ * std::int64_t(first.size()))
        first.push_back(i);
      cells += std::int64_t(tasks_[i].window.cells());
    }
    first.resize(workers + 1, tasks_.size());
    in_runs(workers, options_.threads, [&](int, std::size_t begin, std::size_t end) {
      for (std::size_t worker = begin; worker < end; ++worker) {
        std::atomic<std::size_t> next{first[worker]};
        work_alone(next, first[worker + 1]);
      }
    });
  }

  // Windows are taken in order by whoever is free; no more than one per thread is in memory, and of maps
  // what is compressed and waits for its turn.
  void work_alone(std::atomic<std::size_t>& next, std::size_t end) {
    try {
      LayerReader reader(layers_, model_.layers_needed());
      Scorer scorer(model_, maps_ != nullptr && options_.as_float, wanted_);
      Tally tally(cover_, model_);
      Tile tile;
      ScoreTile scores;
      for (std::size_t turn = next++; turn < end && !stopped_; turn = next++) {
        const Task& task = tasks_[turn];
        reader.read(task.window, tile);
        if (task.on_map)
          scorer.score(tile, scores);
        else
          scorer.score_untabled(tile, scores);
        tally.add(tile, scores);
        if (task.on_map && !maps_->write(turn, scores)) return;
        const std::int64_t done = cells_ += std::int64_t(task.window.cells());
        if (options_.progress) options_.progress("score", done, all_cells_);
      }
      const std::lock_guard lock(mutex_);
      total_.add(tally);
      for (const Scorer::UnknownClass& met : scorer.unknown_classes())
        unknown_[{met.layer, met.value}] += met.cells;
    } catch (...) {
      stopped_ = true;
      if (maps_) maps_->abandon();
      throw;
    }
  }

  const Layers& layers_;
  const Model& model_;
  const SiteCover& cover_;
  const ScoreOptions& options_;
  ScoreMaps* maps_;
  const std::vector<bool>& wanted_;
  std::vector<Task> tasks_;
  std::int64_t all_cells_ = 0;
  std::atomic<std::size_t> next_{0};
  std::atomic<bool> stopped_{false};
  std::atomic<std::int64_t> cells_{0};
  std::mutex mutex_;
  Tally total_;
  UnknownCounts unknown_;
};

std::string season_fingerprint(const Season& season, const Layers& layers) {
  std::string text = layers.fingerprint() + "\n";
  for (const Sheet& sheet : season.sheets)
    if (sheet.scored) text += rule_text(sheet);
  return text_fingerprint(text);
}

/// Where the maps go and how they look.
ScoreMaps::Common maps_of(const Season& season, const Layers& layers, const ScoreOptions& options) {
  ScoreMaps::Common common;
  common.folder = options.out;
  common.extent = layers.extent();
  common.grid = layers.grid();
  common.wkt = Crs::from_text(season.plan.crs, season.plan.crs_place).wkt();
  common.as_float = options.as_float;
  common.bands = options.bands;
  common.tags = {{"SEASON", season.plan.name}, {"TIFFTAG_SOFTWARE", "swardline " SWARDLINE_VERSION}};
  return common;
}

/// Of the layers a sheet names, of its rule, and of how its maps look.
std::string map_fingerprint(const Sheet& sheet, const Layers& layers, const ScoreMaps::Common& common,
                            const ScoredSpecies& species, bool cog) {
  std::vector<std::size_t> which;
  const auto add = [&](const std::string& layer) {
    if (const auto index = layers.index(layer)) which.push_back(*index);
  };
  for (const Factor& factor : sheet.factors) add(factor.layer);
  for (const Mask& mask : sheet.masks) add(mask.layer);
  std::string text = layers.fingerprint(which) + "\n" + rule_text(sheet) + "\n" + sheet.name;
  for (const HeldDown& category : species.categories) text += "\n" + category.text;
  for (const double band : common.bands) text += "\n" + std::to_string(band);
  for (const auto& [key, value] : common.tags) {
    text += "\n";
    text += key;
    text += " ";
    text += value;
  }
  text += common.as_float ? "\nfloat" : "\nwhole percents";
  return text_fingerprint(text + (cog ? "\ncog" : ""));
}

std::vector<ScoreMaps::Species> mapped_species(const Season& season, const Layers& layers, const Model& model,
                                               const ScoreMaps::Common& common, bool cog) {
  std::vector<ScoreMaps::Species> all;
  for (std::size_t s = 0; s < model.species().size(); ++s) {
    const ScoredSpecies& species = model.species()[s];
    const auto sheet = std::find_if(season.sheets.begin(), season.sheets.end(),
                                    [&](const Sheet& each) { return each.code == species.code; });
    all.push_back({s, species, sheet->name, map_fingerprint(*sheet, layers, common, species, cog)});
  }
  return all;
}

/// A mean over half a site should not be read as the site's: one flag per site.
void flag_missing_ground(const std::vector<SiteSpeciesScores>& table, Flags& flags) {
  constexpr double much = 0.2;
  for (std::size_t first = 0, end = 0; first < table.size(); first = end) {
    std::vector<std::string> species;
    double most = 0, share = 0;
    for (end = first; end < table.size() && table[end].site == table[first].site; ++end) {
      const SiteSpeciesScores& row = table[end];
      double all = row.excluded_m2 + row.no_score_m2;
      for (const double m2 : row.band_m2) all += m2;
      if (!(row.no_score_m2 > much * all)) continue;
      species.push_back(row.species);
      most = std::max(most, row.no_score_m2);
      share = std::max(share, row.no_score_m2 / all);
    }
    if (species.empty() || table[first].site == "all") continue;
    flags.add(Severity::ask, "much ground without a score", {{}, 0, table[first].site},
              "up to " + std::to_string(std::lround(100.0 * share)) + " % of the site (" + hectares(most) +
                  ") has no score for " + in_words(species) + ": its mean speaks of the rest.",
              "See on the held-down map which layer is missing there.");
  }
}

}  // namespace

ScoreResult score_season(const Season& season, const Layers& layers, const Model& model,
                         const std::vector<NamedArea>& sites, const ScoreOptions& options, Flags& flags) {
  ScoreResult result;
  result.fingerprint = season_fingerprint(season, layers);
  if (model.species().empty()) {
    flags.add(Severity::note, "nothing to score", {season.plan.file.string(), 0, {}},
              "No species of this season is scored: there are no maps and no table.");
    return result;
  }
  const SiteCover cover(sites, layers.grid(), options.threads);
  std::unique_ptr<ScoreMaps> maps;
  std::vector<bool> wanted(model.species().size(), false);
  if (options.maps && !layers.extent().empty()) {
    const ScoreMaps::Common common = maps_of(season, layers, options);
    std::vector<ScoreMaps::Species> to_write;
    for (ScoreMaps::Species& species : mapped_species(season, layers, model, common, options.cog)) {
      result.files.push_back(ScoreMaps::score_path(common, species));
      result.files.push_back(ScoreMaps::held_down_path(common, species));
      result.map_fingerprints[species.species.code] = species.fingerprint;
      if (!options.force && ScoreMaps::stand(common, species)) {
        result.kept.push_back(species.species.code);
        continue;
      }
      wanted[species.index] = true;
      to_write.push_back(std::move(species));
    }
    if (!to_write.empty()) maps = std::make_unique<ScoreMaps>(common, std::move(to_write));
  }
  Run run(layers, model, cover, options, maps.get(), wanted);
  run.work();
  if (!run.unknown().empty()) refuse_unknown(run.unknown(), layers);
  result.table = run.total().table(options.bands);
  flag_missing_ground(result.table, flags);
  if (maps) {
    maps->finish(options.cog, options.threads, options.progress);
    maps->publish();
  }
  return result;
}

}  // namespace swardline
