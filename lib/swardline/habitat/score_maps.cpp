#include "swardline/habitat/score_maps.hpp"

#include <atomic>

#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/base/workers.hpp"

namespace swardline {

ScoreMaps::ScoreMaps(const Common& common, const std::vector<ScoredSpecies>& species,
                     const std::vector<std::string>& names)
    : as_float_(common.as_float) {
  make_folder(common.folder / "score");
  make_folder(common.folder / "held-down");
  for (std::size_t s = 0; s < species.size(); ++s) {
    const std::string file = safe_file_name(species[s].code) + ".tif";
    MapSpec spec;
    spec.kind = as_float_ ? MapSpec::Kind::score : MapSpec::Kind::percent;
    spec.path = common.folder / "score" / file;
    spec.extent = common.extent;
    spec.grid = common.grid;
    spec.wkt = common.wkt;
    spec.description = "Habitat suitability score of " + species[s].code + " " + names[s];
    spec.bands = common.bands;
    spec.tags = common.tags;
    spec.tags.emplace_back("SPECIES", species[s].code + " " + names[s]);
    files_.push_back(std::make_unique<MapFile>(spec));
    spec.kind = MapSpec::Kind::held_down;
    spec.path = common.folder / "held-down" / file;
    spec.description =
        "What holds the score of " + species[s].code + " " + names[s] + " down, or why there is none";
    spec.categories = species[s].categories;
    files_.push_back(std::make_unique<MapFile>(spec));
  }
}

bool ScoreMaps::write(std::size_t turn, const ScoreTile& tile) {
  for (std::size_t s = 0; s < tile.species.size(); ++s) {
    const SpeciesTile& species = tile.species[s];
    const void* score = as_float_ ? static_cast<const void*>(species.score.data()) : species.percent.data();
    if (!files_[2 * s]->write(turn, tile.window, score)) return false;
    if (!files_[2 * s + 1]->write(turn, tile.window, species.held_down.data())) return false;
  }
  return true;
}

void ScoreMaps::abandon() {
  for (const auto& file : files_) file->abandon();
}

void ScoreMaps::finish(bool cog, int threads, const Progress& progress) {
  std::atomic<std::int64_t> done{0};
  in_runs(files_.size(), threads, [&](int, std::size_t begin, std::size_t end) {
    for (std::size_t f = begin; f < end; ++f) {
      files_[f]->finish(cog);
      const std::int64_t finished = ++done;
      if (progress) progress("finish maps", finished, std::int64_t(files_.size()));
    }
  });
}

std::vector<std::filesystem::path> ScoreMaps::publish() {
  std::vector<std::filesystem::path> paths;
  for (const auto& file : files_) {
    file->publish();
    paths.push_back(file->path());
  }
  return paths;
}

}  // namespace swardline
