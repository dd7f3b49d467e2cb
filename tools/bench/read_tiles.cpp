#include <gdal_priv.h>

#include <algorithm>
#include <chrono>
#include <memory>

#include "bench.hpp"
#include "rasters.hpp"
#include "swardline/base/error.hpp"
#include "swardline/base/workers.hpp"
#include "swardline/geo/vectors.hpp"

namespace swardline::bench {
namespace {

struct Tile {
  std::size_t raster = 0;
  int x = 0, y = 0;
};

/// Blocks of one raster that meet a site, in the file's order.
void add_tiles(const std::filesystem::path& raster, std::size_t number, const std::vector<Feature>& sites,
               std::vector<Tile>& tiles) {
  const auto dataset = open_raster(raster);
  double g[6];
  dataset->GetGeoTransform(g);
  int width = 0, height = 0;
  dataset->GetRasterBand(1)->GetBlockSize(&width, &height);
  std::vector<Tile> found;
  for (const Feature& site : sites) {
    const Box box = site.geometry.box();
    const auto first = [](double offset, int size) { return std::max(0, int(offset / size)); };
    const int x0 = first((box.x0 - g[0]) / g[1], width), x1 = int((box.x1 - g[0]) / g[1] / width);
    const int y0 = first((g[3] - box.y1) / -g[5], height), y1 = int((g[3] - box.y0) / -g[5] / height);
    for (int y = y0; y <= y1; ++y) {
      for (int x = x0; x <= x1; ++x) {
        const Box block{g[0] + g[1] * width * x, g[3] + g[5] * height * (y + 1),
                        g[0] + g[1] * width * (x + 1), g[3] + g[5] * height * y};
        if (intersects(site.geometry, box_polygon(block))) found.push_back({number, x, y});
      }
    }
  }
  const auto order = [](const Tile& a, const Tile& b) { return std::tie(a.y, a.x) < std::tie(b.y, b.x); };
  const auto same = [](const Tile& a, const Tile& b) { return a.x == b.x && a.y == b.y; };
  std::sort(found.begin(), found.end(), order);
  found.erase(std::unique(found.begin(), found.end(), same), found.end());
  tiles.insert(tiles.end(), found.begin(), found.end());
}

/// Every raster's tiles that meet the sites.
std::vector<std::vector<Tile>> tiles_at(const std::filesystem::path& sites,
                                        const std::vector<std::filesystem::path>& rasters) {
  std::vector<std::vector<Tile>> tiles(rasters.size());
  std::string crs;
  VectorLayer layer;
  for (std::size_t i = 0; i < rasters.size(); ++i) {
    Flags flags;
    const std::string here = open_raster(rasters[i])->GetProjectionRef();
    if (here != crs) layer = read_vectors({sites, {}, {}, {}, {}}, Crs::from_text(here), flags);
    crs = here;
    add_tiles(rasters[i], i, layer.features, tiles[i]);
  }
  return tiles;
}

/// What the tiles take in their files, as far as the driver tells.
std::int64_t bytes_of(const std::vector<std::filesystem::path>& rasters, const std::vector<Tile>& tiles) {
  std::int64_t bytes = 0;
  std::unique_ptr<GDALDataset> dataset;
  std::size_t open = rasters.size();
  for (const Tile& tile : tiles) {
    if (open != tile.raster) dataset = open_raster(rasters[open = tile.raster]);
    const std::string item = "BLOCK_SIZE_" + std::to_string(tile.x) + "_" + std::to_string(tile.y);
    const char* size = dataset->GetRasterBand(1)->GetMetadataItem(item.c_str(), "TIFF");
    if (size != nullptr) bytes += std::stoll(size);
  }
  return bytes;
}

/// One worker's run of tiles.
TilesRead read_run(const std::vector<std::filesystem::path>& rasters, const Tile* begin, const Tile* end) {
  TilesRead read;
  std::unique_ptr<GDALDataset> dataset;
  std::size_t open = rasters.size();
  std::vector<unsigned char> bytes;
  for (const Tile* tile = begin; tile != end; ++tile) {
    if (open != tile->raster) {
      dataset = open_raster(rasters[tile->raster]);
      open = tile->raster;
    }
    GDALRasterBand* band = dataset->GetRasterBand(1);
    int width = 0, height = 0;
    band->GetBlockSize(&width, &height);
    const auto cells = std::size_t(width) * std::size_t(height);
    bytes.resize(cells * std::size_t(GDALGetDataTypeSizeBytes(band->GetRasterDataType())));
    if (band->ReadBlock(tile->x, tile->y, bytes.data()) != CE_None)
      throw IoError(Place{rasters[open].string(), 0, {}}, "cannot be read.", "Make the landscape again.");
    for (const unsigned char byte : bytes) read.sum += byte;
    ++read.tiles;
    read.cells += std::int64_t(cells);
  }
  return read;
}

}  // namespace

TilesRead read_tiles(const std::filesystem::path& sites, const std::vector<std::filesystem::path>& rasters,
                     int threads) {
  const std::vector<std::vector<Tile>> tiles = tiles_at(sites, rasters);
  const auto start = std::chrono::steady_clock::now();
  // Each worker has a share of every raster: one is cheaper to decode than another.
  const auto workers = std::size_t(std::max(1, threads));
  std::vector<TilesRead> parts(workers * rasters.size());
  in_runs(workers, threads, [&](int, std::size_t begin, std::size_t end) {
    for (std::size_t worker = begin; worker < end; ++worker) {
      for (std::size_t i = 0; i < rasters.size(); ++i) {
        const std::size_t count = tiles[i].size();
        parts[worker * rasters.size() + i] = read_run(rasters, tiles[i].data() + count * worker / workers,
                                                      tiles[i].data() + count * (worker + 1) / workers);
      }
    }
  });
  TilesRead all;
  for (const TilesRead& part : parts) {
    all.tiles += part.tiles;
    all.cells += part.cells;
    all.sum += part.sum;
  }
  all.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  return all;
}

std::int64_t packed_bytes(const std::filesystem::path& sites,
                          const std::vector<std::filesystem::path>& rasters) {
  std::int64_t bytes = 0;
  for (const std::vector<Tile>& tiles : tiles_at(sites, rasters)) bytes += bytes_of(rasters, tiles);
  return bytes;
}

}  // namespace swardline::bench
