#include "swardline/habitat/score_maps.hpp"

#include <gdal.h>

#include <atomic>
#include <system_error>

#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/base/workers.hpp"
#include "swardline/geo/gdal_errors.hpp"

namespace swardline {

namespace {

constexpr const char* print_tag = "FINGERPRINT";

bool stands(const std::filesystem::path& path, const Window& extent, const std::string& fingerprint) {
  std::error_code failed;
  if (!std::filesystem::is_regular_file(path, failed) || MapFile::half_published(path)) return false;
  const GdalErrors errors;  // a damaged file is written anew
  GDALDatasetH dataset = GDALOpen(path.c_str(), GA_ReadOnly);
  if (dataset == nullptr) return false;
  const char* tag = GDALGetMetadataItem(dataset, print_tag, nullptr);
  const bool same = GDALGetRasterXSize(dataset) == extent.cols &&
                    GDALGetRasterYSize(dataset) == extent.rows && tag != nullptr && fingerprint == tag;
  GDALClose(dataset);
  return same && errors.errors().empty();
}

}  // namespace

std::filesystem::path ScoreMaps::score_path(const Common& common, const Species& species) {
  return common.folder / "score" / (safe_file_name(species.species.code) + ".tif");
}

std::filesystem::path ScoreMaps::held_down_path(const Common& common, const Species& species) {
  return common.folder / "held-down" / (safe_file_name(species.species.code) + ".tif");
}

bool ScoreMaps::stand(const Common& common, const Species& species) {
  return stands(score_path(common, species), common.extent, species.fingerprint) &&
         stands(held_down_path(common, species), common.extent, species.fingerprint);
}

ScoreMaps::ScoreMaps(const Common& common, std::vector<Species> species)
    : species_(std::move(species)), as_float_(common.as_float) {
  make_folder(common.folder / "score");
  make_folder(common.folder / "held-down");
  for (const Species& of : species_) {
    MapSpec spec;
    spec.kind = as_float_ ? MapKind::score : MapKind::percent;
    spec.path = score_path(common, of);
    spec.extent = common.extent;
    spec.grid = common.grid;
    spec.wkt = common.wkt;
    spec.description = "Habitat suitability score of " + of.species.code + " " + of.name;
    spec.bands = common.bands;
    spec.tags = common.tags;
    spec.tags.emplace_back(print_tag, of.fingerprint);
    spec.tags.emplace_back("SPECIES", of.species.code + " " + of.name);
    files_.push_back(std::make_unique<MapFile>(spec));
    spec.kind = MapKind::held_down;
    spec.path = held_down_path(common, of);
    spec.description =
        "What holds the score of " + of.species.code + " " + of.name + " down, or why there is none";
    spec.categories = of.species.categories;
    files_.push_back(std::make_unique<MapFile>(spec));
  }
}

bool ScoreMaps::write(std::size_t turn, const ScoreTile& tile) {
  for (std::size_t s = 0; s < species_.size(); ++s) {
    const SpeciesTile& species = tile.species[species_[s].index];
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

void ScoreMaps::publish() {
  for (const auto& file : files_) file->publish();
}

}  // namespace swardline
