// Score and held-down maps written in tiles as GeoTIFF. Private to the stage.
#pragma once

#include <cstddef>
#include <filesystem>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "swardline/base/progress.hpp"
#include "swardline/grid/grid.hpp"
#include "swardline/habitat/map_tiles.hpp"
#include "swardline/habitat/model.hpp"

namespace swardline {

struct MapSpec {
  MapKind kind = MapKind::percent;
  std::filesystem::path path;
  Window extent;
  Grid grid;
  std::string wkt;
  std::string description;
  std::vector<double> bands;                              ///< inner edges, for the colours of percents
  std::vector<HeldDown> categories;                       ///< held-down maps
  std::vector<std::pair<std::string, std::string>> tags;  ///< season, species, fingerprint, version
};

/// One map, written beside its final name. GDAL makes the file with all that it says of itself and no tiles;
/// MapTiles puts these in.
class MapFile {
 public:
  explicit MapFile(MapSpec spec);
  ~MapFile();
  MapFile(const MapFile&) = delete;

  /// From any thread, windows in any order under running numbers from 0 without gaps. False when abandon()
  /// was called meanwhile. Throws IoError.
  bool write(std::size_t turn, const Window& window, const void* cells);
  /// Lets every waiting write() return.
  void abandon();
  /// Statistics and colours; then looks whether the file is whole. Throws IoError.
  /// Overviews are for looking: averages of the scored cells in score maps, the north-western cell in
  /// held-down maps.
  void finish(bool cog);
  void publish();
  /// True where a run was killed between the map at `path` and the side file with its category names.
  [[nodiscard]] static bool half_published(const std::filesystem::path& path);
  [[nodiscard]] const std::filesystem::path& path() const { return spec_.path; }

 private:
  void make();
  void discard() noexcept;
  void close(const char* doing);
  void decorate();
  void to_cog();
  void look_whole() const;
  void read_back(int step) const;
  [[noreturn]] void fail(const char* doing, const std::string& reason) const;

  MapSpec spec_;
  std::filesystem::path part_;
  void* dataset_ = nullptr;  // GDALDatasetH
  std::unique_ptr<MapTiles> tiles_;
  bool published_ = false;
};

/// The maps of one run: all are published, or none.
class ScoreMaps {
 public:
  struct Common {
    std::filesystem::path folder;
    Window extent;
    Grid grid;
    std::string wkt;
    bool as_float = false;
    std::vector<double> bands;
    std::vector<std::pair<std::string, std::string>> tags;
  };
  struct Species {
    std::size_t index = 0;  ///< among the model's
    ScoredSpecies species;
    std::string name;         ///< "Penstemon cobaea"
    std::string fingerprint;  ///< of all that its maps follow from
  };
  /// Whether both maps of a species are there as they would be written. Files that cannot be read are not.
  [[nodiscard]] static bool stand(const Common& common, const Species& species);
  [[nodiscard]] static std::filesystem::path score_path(const Common& common, const Species& species);
  [[nodiscard]] static std::filesystem::path held_down_path(const Common& common, const Species& species);

  /// Throws IoError when the folder cannot be written.
  ScoreMaps(const Common& common, std::vector<Species> species);
  bool write(std::size_t turn, const ScoreTile& tile);
  void abandon();
  void finish(bool cog, int threads, const Progress& progress);
  void publish();

 private:
  std::vector<Species> species_;
  std::vector<std::unique_ptr<MapFile>> files_;  ///< by species_: score, held-down
  bool as_float_;
};

}  // namespace swardline
