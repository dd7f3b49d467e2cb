// Score and held-down maps written in tiles as GeoTIFF. Private to the stage.
#pragma once

#include <array>
#include <condition_variable>
#include <cstdint>
#include <filesystem>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <utility>
#include <vector>

#include "swardline/base/progress.hpp"
#include "swardline/grid/grid.hpp"
#include "swardline/habitat/model.hpp"

namespace swardline {

struct MapSpec {
  enum class Kind { percent, score, held_down } kind = Kind::percent;
  std::filesystem::path path;
  Window extent;
  Grid grid;
  std::string wkt;
  std::string description;
  std::vector<double> bands;                              ///< inner edges, for the colours of percents
  std::vector<HeldDown> categories;                       ///< held-down maps
  std::vector<std::pair<std::string, std::string>> tags;  ///< season, species, fingerprint, version
};

/// One map, written beside its final name. Workers hand in their windows under a running
/// number; a window is written when all before it have been, so that the file's layout
/// does not depend on the threads. Blocks go to the file without GDAL's block cache,
/// which would let another thread write them.
class MapFile {
 public:
  explicit MapFile(MapSpec spec);
  ~MapFile();
  MapFile(const MapFile&) = delete;

  /// Waits for its turn. False when abandon() was called meanwhile. Throws IoError.
  bool write(std::size_t turn, const Window& window, const void* cells);
  /// Lets every waiting write() return.
  void abandon();
  /// Overviews, statistics, colours; then reads the file back whole. Throws IoError.
  /// Overviews are for looking: averages of the scored cells in score maps, the nearest cell in held-down
  /// maps.
  void finish(bool cog);
  void publish();
  [[nodiscard]] const std::filesystem::path& path() const { return spec_.path; }

 private:
  struct OpenTile {
    std::vector<std::uint8_t> bytes;
    int filled = 0;
  };
  [[nodiscard]] std::size_t cell_bytes() const { return spec_.kind == MapSpec::Kind::score ? 4 : 1; }
  [[nodiscard]] OpenTile& open_tile(int tx, int ty);
  void copy_into_tiles(const Window& window, const std::uint8_t* cells);
  void add_to_statistics(const Window& window, const void* cells);
  void close(const char* doing);
  void decorate();
  void to_cog();
  void read_back() const;
  [[noreturn]] void fail(const char* doing, const std::string& reason) const;

  MapSpec spec_;
  std::filesystem::path part_;
  void* dataset_ = nullptr;  // GDALDatasetH
  std::mutex mutex_;
  std::condition_variable turned_;
  std::size_t next_ = 0;
  bool abandoned_ = false;
  bool published_ = false;
  std::map<std::pair<int, int>, OpenTile> tiles_;
  std::vector<std::vector<std::uint8_t>> spare_;  // buffers of tiles already written
  std::array<std::int64_t, 256> histogram_{};
  std::int64_t scored_ = 0;
  double sum_ = 0, squares_ = 0, least_ = 0, most_ = 0;
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
