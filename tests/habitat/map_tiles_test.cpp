#include <cpl_conv.h>
#include <doctest/doctest.h>
#include <gdal.h>

#include <cmath>
#include <cstring>
#include <fstream>

#include "fixture.hpp"
#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/geo/crs.hpp"
#include "swardline/grid/layers.hpp"
#include "swardline/grid/tiff_tiles.hpp"
#include "swardline/habitat/map_tile.hpp"
#include "swardline/habitat/score_maps.hpp"

namespace map_tiles_test {

using namespace swardline;
using namespace habitat_test;

namespace {

constexpr std::size_t tile_size = std::size_t{map_tile_cells} * map_tile_cells;
using Bytes = std::vector<std::uint8_t>;

MapSpec spec_of(const std::filesystem::path& path, MapKind kind, int cols, int rows) {
  MapSpec spec;
  spec.path = path;
  spec.kind = kind;
  spec.extent = {0, 0, cols, rows};
  spec.wkt = Crs::from_text("EPSG:26914").wkt();
  spec.bands = {0.5};
  return spec;
}

/// Patches of percents with holes and single cells of another kind: what maps are like.
Bytes patchy(int cols, int rows) {
  Numbers numbers(7);
  Bytes cells(std::size_t(cols) * std::size_t(rows));
  for (int y = 0; y < rows; ++y)
    for (int x = 0; x < cols; ++x) {
      const int patch = (x / 37 * 13 + y / 23 * 29) % 103;
      cells[std::size_t(y) * std::size_t(cols) + std::size_t(x)] = numbers.below(9) == 0
                                                                       ? std::uint8_t(numbers.below(101))
                                                                   : patch > 100 ? no_percent
                                                                                 : std::uint8_t(patch);
    }
  return cells;
}

void write_map(const MapSpec& spec, const void* cells) {
  MapFile file(spec);
  REQUIRE(file.write(0, spec.extent, cells));
  file.finish(false);
  file.publish();
}

/// Every overview of a file, as floats.
std::vector<std::vector<float>> overviews_of(GDALDatasetH dataset) {
  GDALRasterBandH band = GDALGetRasterBand(dataset, 1);
  std::vector<std::vector<float>> all;
  for (int level = 0; level < GDALGetOverviewCount(band); ++level) {
    GDALRasterBandH overview = GDALGetOverview(band, level);
    const int cols = GDALGetRasterBandXSize(overview), rows = GDALGetRasterBandYSize(overview);
    all.emplace_back(std::size_t(cols) * std::size_t(rows));
    REQUIRE(GDALRasterIO(overview, GF_Read, 0, 0, cols, rows, all.back().data(), cols, rows, GDT_Float32, 0,
                         0) == CE_None);
  }
  return all;
}

/// GDAL's own overview of the same cells, in memory.
std::vector<float> by_gdal(Bytes cells, int cols, int rows, const char* how) {
  GDALDatasetH copy = GDALCreate(GDALGetDriverByName("MEM"), "", cols, rows, 1, GDT_Byte, nullptr);
  REQUIRE(copy != nullptr);
  GDALRasterBandH band = GDALGetRasterBand(copy, 1);
  GDALSetRasterNoDataValue(band, no_percent);
  REQUIRE(GDALRasterIO(band, GF_Write, 0, 0, cols, rows, cells.data(), cols, rows, GDT_Byte, 0, 0) ==
          CE_None);
  int level = 2;
  REQUIRE(GDALBuildOverviews(copy, how, 1, &level, 0, nullptr, nullptr, nullptr) == CE_None);
  auto all = overviews_of(copy);
  GDALClose(copy);
  return all.at(0);
}

std::vector<std::vector<float>> of_file(const std::filesystem::path& map) {
  GDALDatasetH file = GDALOpen(map.c_str(), GA_ReadOnly);
  REQUIRE(file != nullptr);
  auto all = overviews_of(file);
  GDALClose(file);
  return all;
}

}  // namespace

TEST_CASE("Overviews are GDAL's averages and nearest cells where sides halve evenly") {
  const Folder folder;
  const int cols = 1072, rows = 528;  // even at every level, and no whole number of tiles at any
  const Bytes cells = patchy(cols, rows);
  write_map(spec_of(folder / "percent.tif", MapKind::percent, cols, rows), cells.data());
  write_map(spec_of(folder / "held.tif", MapKind::held_down, cols, rows), cells.data());
  // GDAL 3.6, gdaladdo's "average" and "nearest" (GDALBuildOverviews on a raster in memory), level by level.
  for (const char* name : {"percent.tif", "held.tif"}) {
    const bool percents = name == std::string("percent.tif");
    const auto overviews = of_file(folder / name);
    REQUIRE(overviews.size() == 3);
    Bytes below = cells;
    for (int level = 0; level < 3; ++level) {
      const auto expected = by_gdal(below, cols >> level, rows >> level, percents ? "AVERAGE" : "NEAREST");
      CHECK(overviews[std::size_t(level)] == expected);
      below.assign(expected.begin(), expected.end());
    }
  }
}

TEST_CASE("Overviews of odd sides: each cell stands for the two by two below it, fewer at the edge") {
  const Folder folder;
  const int cols = 601, rows = 303;
  const Bytes cells = patchy(cols, rows);
  std::vector<float> scores(cells.size());
  for (std::size_t i = 0; i < cells.size(); ++i)
    scores[i] = cells[i] == no_percent ? std::numeric_limits<float>::quiet_NaN() : float(cells[i]) / 100;
  write_map(spec_of(folder / "percent.tif", MapKind::percent, cols, rows), cells.data());
  write_map(spec_of(folder / "held.tif", MapKind::held_down, cols, rows), cells.data());
  write_map(spec_of(folder / "score.tif", MapKind::score, cols, rows), scores.data());
  const auto percent = of_file(folder / "percent.tif"), held = of_file(folder / "held.tif"),
             score = of_file(folder / "score.tif");
  REQUIRE(percent.size() == 2);
  std::vector<float> percent_below(cells.begin(), cells.end()), held_below = percent_below,
                                                                score_below = scores;
  int width = cols, height = rows;
  for (std::size_t level = 0; level < 2; ++level) {
    const int half_width = (width + 1) / 2, half_height = (height + 1) / 2;
    REQUIRE(percent[level].size() == std::size_t(half_width) * std::size_t(half_height));
    std::size_t wrong = 0;
    for (int y = 0; y < half_height; ++y)
      for (int x = 0; x < half_width; ++x) {
        const auto at = std::size_t(y) * std::size_t(half_width) + std::size_t(x);
        double sum = 0, share = 0;
        int scored = 0;
        for (int dy = 0; dy < 2; ++dy)
          for (int dx = 0; dx < 2; ++dx) {
            if (2 * x + dx >= width || 2 * y + dy >= height) continue;
            const auto below = std::size_t(2 * y + dy) * std::size_t(width) + std::size_t(2 * x + dx);
            if (percent_below[below] == no_percent) continue;
            sum += double(percent_below[below]);
            share += double(score_below[below]);
            ++scored;
          }
        wrong += double(percent[level][at]) != (scored == 0 ? 255 : std::floor(sum / scored + 0.5));
        wrong += held[level][at] != held_below[std::size_t(2 * y) * std::size_t(width) + std::size_t(2 * x)];
        wrong += std::isnan(score[level][at]) != (scored == 0);
        if (scored > 0) wrong += std::abs(double(score[level][at]) - share / scored) > 1e-6;
      }
    CHECK(wrong == 0);
    percent_below = percent[level];
    held_below = held[level];
    score_below = score[level];
    width = half_width;
    height = half_height;
  }
}

TEST_CASE("A tile of percents is halved as worked out one cell at a time") {
  // Every number of cells without a score, sums up to the largest, halves that are rounded up.
  Numbers numbers(3);
  Bytes tile(tile_size), above(tile_size, 1);
  for (std::uint8_t& cell : tile) {
    const int kind = numbers.below(4);
    cell = kind == 0 ? no_percent : kind == 1 ? std::uint8_t(100) : std::uint8_t(numbers.below(101));
  }
  std::fill_n(tile.begin(), 2 * map_tile_cells, no_percent);
  halve_percents(tile.data(), above.data());
  std::size_t wrong = 0;
  for (std::size_t y = 0; y < half_tile_cells; ++y)
    for (std::size_t x = 0; x < half_tile_cells; ++x) {
      int sum = 0, scored = 0;
      for (const std::size_t at : {2 * y * 256 + 2 * x, 2 * y * 256 + 2 * x + 1, (2 * y + 1) * 256 + 2 * x,
                                   (2 * y + 1) * 256 + 2 * x + 1})
        if (tile[at] != no_percent) sum += tile[at], ++scored;
      wrong += above[y * 256 + x] != (scored == 0 ? 255 : (2 * sum + scored) / (2 * scored));
      wrong += above[y * 256 + x + half_tile_cells] != 1;
    }
  CHECK(wrong == 0);
}

TEST_CASE("Values are counted, in any length") {
  Numbers numbers(5);
  for (const std::size_t length : {0U, 1U, 7U, 8U, 9U, 1003U}) {
    Bytes cells(length);
    for (std::uint8_t& cell : cells) cell = std::uint8_t(numbers.below(256));
    std::array<std::int64_t, 256> counts{}, expected{};
    for (const std::uint8_t cell : cells) ++expected[cell];
    count_values(cells, counts);
    CHECK(counts == expected);
  }
}

TEST_CASE("Packed tiles are what others read") {
  // The reader is GDAL's (zlib or libdeflate), which checks the Adler-32 too.
  const auto same_again = [](const Bytes& cells) {
    const Bytes packed = packed_bytes(cells.data());
    Bytes back(cells.size() + 1);
    std::size_t length = 0;
    REQUIRE(CPLZLibInflate(packed.data(), packed.size(), back.data(), back.size(), &length) != nullptr);
    back.resize(length);
    CHECK(back == cells);
    return packed.size();
  };
  Numbers numbers(11);
  Bytes cells(tile_size, 42);
  CHECK(same_again(cells) < 1000);
  for (const int values : {2, 101, 256}) {
    for (std::uint8_t& cell : cells) cell = std::uint8_t(numbers.below(values));
    CHECK(same_again(cells) < tile_size + 1024);
  }
  same_again(patchy(map_tile_cells, map_tile_cells));
}

TEST_CASE("A torn file is seen, whatever is missing") {
  const Folder folder;
  const int cols = 700, rows = 520;
  const Bytes cells = patchy(cols, rows);
  const std::filesystem::path path = folder / "map.tif";
  write_map(spec_of(path, MapKind::percent, cols, rows), cells.data());
  CHECK(TiffTiles(path, path).whole());
  const std::string good = read_whole(path);
  // Where nothing but the end is gone, where tiles are, where hardly anything is left.
  for (const std::size_t length : {good.size() - 1, good.size() / 2, std::size_t{100}, std::size_t{4}}) {
    std::ofstream(path, std::ios::binary) << good.substr(0, length);
    bool whole = true;
    try {
      whole = TiffTiles(path, path).whole();
    } catch (const IoError&) {
      whole = false;
    }
    CHECK_FALSE(whole);
  }
  // A file of which some tiles were never written.
  MapFile half(spec_of(folder / "half.tif", MapKind::percent, cols, rows));
  CHECK(half.write(0, {0, 0, 256, 256}, cells.data()));
  CHECK_FALSE(TiffTiles(part_path(folder / "half.tif"), path).whole());
  CHECK_THROWS_AS(half.finish(false), Defect);
}

TEST_CASE("A file that is cut while it is written is not published") {
  const Folder folder;
  const int cols = 700, rows = 520;
  const Bytes cells = patchy(cols, rows);
  MapFile file(spec_of(folder / "map.tif", MapKind::percent, cols, rows));
  REQUIRE(file.write(0, {0, 0, cols, rows}, cells.data()));
  const std::filesystem::path part = part_path(folder / "map.tif");
  std::filesystem::resize_file(part, std::filesystem::file_size(part) - 5000);
  CHECK_THROWS_AS(file.finish(false), IoError);
}

}  // namespace map_tiles_test
