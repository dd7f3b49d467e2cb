#include <gdal_priv.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <chrono>
#include <fstream>
#include <map>
#include <memory>
#include <mutex>

#include "bench.hpp"
#include "rasters.hpp"
#include "swardline/base/error.hpp"
#include "swardline/base/workers.hpp"

namespace swardline::bench {
namespace {

constexpr int side = 256;
constexpr std::size_t tile_cells = std::size_t{side} * side;
constexpr std::size_t pairs = 65536;  // of two bytes
constexpr std::uint8_t none = 255;
constexpr int tree_level = 2;  // a worker makes all that lies under one tile of this overview at a time

using MapTile = std::array<std::uint8_t, tile_cells>;
using MapTiles = std::vector<MapTile>;  // one to each map

[[noreturn]] void fail(const std::filesystem::path& path, const char* what) {
  throw IoError(Place{path.string(), 0, {}}, what, "Check that the disk has room and run again.");
}

/// The maps' cells by the inputs' two bytes, with pairs of bytes alike in all maps under one number.
struct CellsOf {
  std::vector<std::uint16_t> number;             // by pair
  std::vector<std::vector<std::uint8_t>> cells;  // by map, then number
};

CellsOf read_cells(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  const std::vector<char> bytes{std::istreambuf_iterator<char>(in), {}};
  if (bytes.empty() || bytes.size() % pairs != 0) fail(path, "is no table of the maps' cells.");
  CellsOf of;
  of.number.resize(pairs);
  of.cells.resize(bytes.size() / pairs);
  std::map<std::string, std::size_t> numbers;
  for (std::size_t pair = 0; pair < pairs; ++pair) {
    std::string met;
    for (std::size_t m = 0; m < of.cells.size(); ++m) met.push_back(bytes[m * pairs + pair]);
    const auto [at, is_new] = numbers.try_emplace(met, numbers.size());
    of.number[pair] = std::uint16_t(at->second);
    if (!is_new) continue;
    for (std::size_t m = 0; m < met.size(); ++m) of.cells[m].push_back(std::uint8_t(met[m]));
  }
  return of;
}

/// One map that is being written, with its overviews.
struct MapOut {
  std::filesystem::path path;
  std::unique_ptr<GDALDataset> dataset;
  std::vector<GDALRasterBand*> levels;  // the map itself, then its overviews
  std::mutex mutex;
  bool averaged = false;
};

void create(MapOut& map, GDALDataset& like, std::vector<int> overviews) {
  char** options = nullptr;
  for (const char* option : {"TILED=YES", "BLOCKXSIZE=256", "BLOCKYSIZE=256", "COMPRESS=DEFLATE", "ZLEVEL=1",
                             "BIGTIFF=IF_SAFER", "SPARSE_OK=TRUE"})
    options = CSLAddString(options, option);
  GDALDriver* driver = GetGDALDriverManager()->GetDriverByName("GTiff");
  map.dataset.reset(
      driver->Create(map.path.c_str(), like.GetRasterXSize(), like.GetRasterYSize(), 1, GDT_Byte, options));
  CSLDestroy(options);
  if (!map.dataset) fail(map.path, "cannot be made.");
  double transform[6];
  like.GetGeoTransform(transform);
  map.dataset->SetGeoTransform(transform);
  map.dataset->SetSpatialRef(like.GetSpatialRef());
  GDALRasterBand* band = map.dataset->GetRasterBand(1);
  band->SetNoDataValue(none);
  // Empty overviews: their tiles are written below, as the map's are.
  if (!overviews.empty() && map.dataset->BuildOverviews("NONE", int(overviews.size()), overviews.data(), 0,
                                                        nullptr, nullptr, nullptr, nullptr) != CE_None)
    fail(map.path, "cannot be given overviews.");
  map.levels.push_back(band);
  for (int i = 0; i < int(overviews.size()); ++i) map.levels.push_back(band->GetOverview(i));
}

/// Mean of two by two bytes without those that are none, by their sum and count.
class Means {
 public:
  Means() {
    for (int count = 1; count <= 4; ++count)
      for (int sum = 0; sum <= 4 * none; ++sum)
        mean_[std::size_t(count)][std::size_t(sum)] = std::uint8_t(std::min((sum + count / 2) / count, 255));
    mean_[0].fill(none);
  }
  [[nodiscard]] std::uint8_t of(int a, int b, int c, int d) const {
    const int n = (a != none) + (b != none) + (c != none) + (d != none);
    return mean_[std::size_t(n)][std::size_t(a + b + c + d - none * (4 - n))];
  }

 private:
  std::array<std::array<std::uint8_t, 4 * none + 1>, 5> mean_{};
};

/// Puts a tile, halved, into its quarter of the tile above it.
void halve(const MapTile& from, bool averaged, int right, int down, MapTile& into) {
  static const Means means;
  constexpr int half = side / 2;
  for (int y = 0; y < half; ++y) {
    const std::uint8_t* upper = from.data() + std::size_t(2 * y) * side;
    const std::uint8_t* lower = upper + side;
    std::uint8_t* to = into.data() + std::size_t(y + down * half) * side + std::size_t(right * half);
    if (averaged) {
      for (int x = 0; x < half; ++x)
        to[x] = means.of(upper[2 * x], upper[2 * x + 1], lower[2 * x], lower[2 * x + 1]);
    } else {
      for (int x = 0; x < half; ++x) to[x] = upper[2 * x];
    }
  }
}

class Worker;

/// The maps, and what of them is made by all workers together.
class Writing {
 public:
  Writing(const WriteJob& job) : job_(job), cells_(read_cells(job.cells)), maps_(cells_.cells.size()) {
    const auto like = open_raster(job.rasters.front());
    cols_ = like->GetRasterXSize();
    rows_ = like->GetRasterYSize();
    std::vector<int> overviews;
    for (int level = 2; std::max(cols_, rows_) > level / 2 * side; level *= 2) overviews.push_back(level);
    top_ = int(overviews.size());
    for (std::size_t m = 0; m < maps_.size(); ++m) {
      maps_[m].path = job.out / ("map-" + std::to_string(m) + ".tif");
      maps_[m].averaged = int(m) < job.averaged;
      create(maps_[m], *like, overviews);
    }
    trees_.resize(std::size_t(across(trees_at())) * std::size_t(down(trees_at())));
  }
  void run();
  [[nodiscard]] MapsWritten written() const {
    return {int(maps_.size()), top_, std::int64_t{cols_} * rows_, 0};
  }

 private:
  friend class Worker;
  [[nodiscard]] int trees_at() const { return std::min(tree_level, top_); }
  [[nodiscard]] int across(int level) const { return (((cols_ - 1) >> level) / side) + 1; }
  [[nodiscard]] int down(int level) const { return (((rows_ - 1) >> level) / side) + 1; }

  const WriteJob& job_;
  CellsOf cells_;
  std::vector<MapOut> maps_;
  int cols_ = 0, rows_ = 0, top_ = 0;
  std::vector<MapTiles> trees_;  // the tiles of overview trees_at(), row by row, once they are made
};

/// One thread's handles and room: a tile of every map for each level.
class Worker {
 public:
  Worker(Writing& writing, std::size_t first) : w_(writing), first_(first) {
    for (const auto& raster : writing.job_.rasters) {
      inputs_.push_back(open_raster(raster));
      int width = 0, height = 0;
      inputs_.back()->GetRasterBand(1)->GetBlockSize(&width, &height);
      if (width != side || height != side ||
          inputs_.back()->GetRasterBand(1)->GetRasterDataType() != GDT_Byte)
        fail(raster, "is not of bytes in blocks of 256.");
    }
    room_.resize(std::size_t(writing.top_) + 1);
  }

  void tree(std::size_t number) {
    const int level = w_.trees_at(), across = w_.across(level);
    w_.trees_[number].resize(w_.maps_.size());
    make(level, int(number) % across, int(number) / across, w_.trees_[number]);
  }
  /// The overviews above the trees.
  void rest() {
    if (w_.top_ == w_.trees_at()) return;
    MapTiles tiles(w_.maps_.size());
    make(w_.top_, 0, 0, tiles, true);
  }

 private:
  void make(int level, int x, int y, MapTiles& into, bool trees_made = false) {
    if (level == 0) {
      base(x, y, into);
    } else {
      for (MapTile& tile : into) tile.fill(none);
      for (int quarter = 0; quarter < 4; ++quarter) {
        const int right = quarter % 2, below = quarter / 2, cx = 2 * x + right, cy = 2 * y + below;
        if (cx >= w_.across(level - 1) || cy >= w_.down(level - 1)) continue;
        MapTiles& child =
            trees_made && level - 1 == w_.trees_at()
                ? w_.trees_[std::size_t(cy) * std::size_t(w_.across(level - 1)) + std::size_t(cx)]
                : room_[std::size_t(level) - 1];
        child.resize(w_.maps_.size());
        if (!(trees_made && level - 1 == w_.trees_at())) make(level - 1, cx, cy, child, trees_made);
        for (std::size_t m = 0; m < into.size(); ++m)
          halve(child[m], w_.maps_[m].averaged, right, below, into[m]);
      }
    }
    write(level, x, y, into);
  }

  void base(int x, int y, MapTiles& into) {
    for (std::size_t i = 0; i < inputs_.size(); ++i)
      if (inputs_[i]->GetRasterBand(1)->ReadBlock(x, y, read_[i].data()) != CE_None)
        fail(w_.job_.rasters[i], "cannot be read.");
    for (std::size_t i = 0; i < tile_cells; ++i)
      number_[i] = w_.cells_.number[std::size_t(read_[0][i]) * 256 + read_[1][i]];
    for (std::size_t m = 0; m < into.size(); ++m) {
      const std::uint8_t* cell = w_.cells_.cells[m].data();
      for (std::size_t i = 0; i < tile_cells; ++i) into[m][i] = cell[number_[i]];
    }
  }

  void write(int level, int x, int y, MapTiles& tiles) {
    // Every worker begins with another map, so that they seldom wait for each other.
    for (std::size_t i = 0; i < tiles.size(); ++i) {
      const std::size_t m = (first_ + i) % tiles.size();
      const std::lock_guard lock(w_.maps_[m].mutex);
      if (w_.maps_[m].levels[std::size_t(level)]->WriteBlock(x, y, tiles[m].data()) != CE_None)
        fail(w_.maps_[m].path, "cannot be written.");
    }
  }

  Writing& w_;
  std::size_t first_ = 0;
  std::vector<std::unique_ptr<GDALDataset>> inputs_;
  std::array<MapTile, 2> read_{};
  std::array<std::uint16_t, tile_cells> number_{};
  std::vector<MapTiles> room_;  // by level
};

void Writing::run() {
  std::atomic<std::size_t> next{0};
  const auto workers = std::size_t(std::max(1, job_.threads));
  in_runs(workers, job_.threads, [&](int, std::size_t begin, std::size_t end) {
    for (std::size_t n = begin; n < end; ++n) {
      const auto worker = std::make_unique<Worker>(*this, n * maps_.size() / workers);
      for (std::size_t tree = next++; tree < trees_.size(); tree = next++) worker->tree(tree);
    }
  });
  std::make_unique<Worker>(*this, 0)->rest();
  in_runs(maps_.size(), job_.threads, [&](int, std::size_t begin, std::size_t end) {
    for (std::size_t m = begin; m < end; ++m) maps_[m].dataset.reset();
  });
}

}  // namespace

MapsWritten write_maps(const WriteJob& job) {
  if (job.rasters.size() != 2) fail("--rasters", "names not just two rasters.");
  const auto start = std::chrono::steady_clock::now();
  Writing writing(job);
  writing.run();
  MapsWritten written = writing.written();
  written.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  return written;
}

}  // namespace swardline::bench
