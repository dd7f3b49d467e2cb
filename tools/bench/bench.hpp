// The parts of the benchmark that are compiled.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

namespace swardline::bench {

struct SitesJob {
  std::filesystem::path out;
  std::string crs = "EPSG:26914";
  std::uint64_t seed = 1;
  double west = 0, north = 0, width_m = 0, height_m = 0;  ///< the landscape's
  int count = 300;
  double share = 0.005;  ///< of the landscape that all sites cover together; 1: all but the strips between
};

/// Wavy outlines, one to each cell of a coarse grid over the landscape, as one GeoPackage; with a share of 1
/// they fill their cells, as the compartments of a forest do. Returns their square metres.
double make_sites(const SitesJob& job);

struct TilesRead {
  std::int64_t tiles = 0, cells = 0;
  std::uint64_t sum = 0;  ///< of all values, so that reading is not for nothing
  double seconds = 0;
};

/// Reads every block of the rasters that meets a site, once, with GDAL's block reads and nothing else.
[[nodiscard]] TilesRead read_tiles(const std::filesystem::path& sites,
                                   const std::vector<std::filesystem::path>& rasters, int threads);

/// What the same blocks take in their files, in bytes, as far as the driver tells.
[[nodiscard]] std::int64_t packed_bytes(const std::filesystem::path& sites,
                                        const std::vector<std::filesystem::path>& rasters);

struct WriteJob {
  std::vector<std::filesystem::path> rasters;  ///< two Byte rasters on one grid, in blocks of 256
  std::filesystem::path
      cells;  ///< the maps' cells: for each map 65,536 bytes, by first byte × 256 + second byte
  std::filesystem::path out;  ///< folder, there already
  int averaged = 0;           ///< so many of the first maps have averaged overviews, the others picked cells
  int threads = 1;
};

struct MapsWritten {
  int maps = 0, overviews = 0;
  std::int64_t cells = 0;
  double seconds = 0;
};

/// The floor of writing maps: reads the rasters once with block reads, looks every map's cell up by its two
/// bytes, and writes the maps as Byte GeoTIFF in tiles of 256, DEFLATE level 1, with overviews made on the
/// way. No rules, no tallies, no statistics, no reading back. As the looked-up cells are those of the real
/// maps, so is what they pack to.
[[nodiscard]] MapsWritten write_maps(const WriteJob& job);

struct Thinning {
  double seconds_20k = 0, seconds_200k = 0;  ///< medians, one thread, one in twenty kept
  double plain_seconds_20k = 0;
  int draws = 0;  ///< of each kind, compared at 20,000 points
  double balance = 0, balance_plain = 0;
  double difference_in_errors = 0;  ///< of the balances, in standard errors of the difference
  double kolmogorov = 0;            ///< largest difference of the two distributions of balance
  double kolmogorov_limit = 0;      ///< at 1 % (Smirnov 1948, two samples)
};

/// Local pivotal thinning of 200,000 candidates to 10,000 and of 20,000 to 1,000, and a plain version that
/// looks at every pair, in time and in the spread of what it draws.
[[nodiscard]] Thinning time_thinning(int repeats, int draws);

struct LooksJob {
  int plants = 40, characters = 30;
  int tables = 40;  ///< of each kind
  std::uint64_t seed = 1;
};

struct LooksTimed {
  std::string kind;
  int tables = 0;
  double median = 0, slowest = 0;                         ///< set and order of one table, seconds
  double slowest_set = 0, slowest_order = 0;              ///< each for itself
  int sets_exact = 0, orders_exact = 0, trees_whole = 0;  ///< tables
};

/// The shortest set and the best order of looks of random tables, of every kind, at their standing limits.
[[nodiscard]] std::vector<LooksTimed> time_looks(const LooksJob& job);

}  // namespace swardline::bench
