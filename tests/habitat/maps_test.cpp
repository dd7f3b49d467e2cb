#include <cpl_conv.h>
#include <doctest/doctest.h>
#include <gdal.h>
#include <sys/resource.h>
#include <sys/stat.h>

#include <cmath>
#include <csignal>
#include <fstream>
#include <future>
#include <thread>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/habitat/band_colours.hpp"
#include "swardline/habitat/score_maps.hpp"
#include "valley.hpp"

namespace maps_test {

using namespace swardline;
using namespace habitat_test;

namespace {

struct Opened {
  // As other programs open it: the library itself does not look for side files.
  explicit Opened(const std::filesystem::path& path) {
    CPLSetThreadLocalConfigOption("GDAL_DISABLE_READDIR_ON_OPEN", "FALSE");
    dataset = GDALOpen(path.c_str(), GA_ReadOnly);
    REQUIRE(dataset != nullptr);
    band = GDALGetRasterBand(dataset, 1);
    // GDAL 3.6 looks at the side file with the category names only once somebody asks where the raster lies.
    double transform[6];
    GDALGetGeoTransform(dataset, transform);
    CPLSetThreadLocalConfigOption("GDAL_DISABLE_READDIR_ON_OPEN", nullptr);
  }
  ~Opened() { GDALClose(dataset); }
  Opened(const Opened&) = delete;
  [[nodiscard]] std::string tag(const char* key) const {
    const char* text = GDALGetMetadataItem(dataset, key, nullptr);
    return text ? text : "";
  }
  GDALDatasetH dataset = nullptr;
  GDALRasterBandH band = nullptr;
};

int files_in(const std::filesystem::path& folder) {
  int files = 0;
  if (!std::filesystem::exists(folder)) return 0;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(folder))
    files += entry.is_regular_file();
  return files;
}

/// Writes past this many bytes fail, as on a full disk.
class FullDisk {
 public:
  explicit FullDisk(rlim_t bytes) {
    std::signal(SIGXFSZ, SIG_IGN);
    getrlimit(RLIMIT_FSIZE, &before_);
    const rlimit now{bytes, before_.rlim_max};
    setrlimit(RLIMIT_FSIZE, &now);
  }
  ~FullDisk() { setrlimit(RLIMIT_FSIZE, &before_); }
  FullDisk(const FullDisk&) = delete;

 private:
  rlimit before_{};
};

}  // namespace

TEST_CASE("A score map says what it is: tiles, no data, statistics, overviews, colours, provenance") {
  const Valley valley;
  const ScoreResult result = valley.score(valley.options());
  const Opened map(valley.options().out / "score" / "PCOB.tif");
  CHECK(GDALGetRasterDataType(map.band) == GDT_Byte);
  CHECK(GDALGetRasterNoDataValue(map.band, nullptr) == 255);
  CHECK(std::string(GDALGetRasterUnitType(map.band)) == "percent");
  CHECK(std::string(GDALGetDescription(map.band)).find("Penstemon cobaea") != std::string::npos);
  int width = 0, height = 0;
  GDALGetBlockSize(map.band, &width, &height);
  CHECK(width == 256);
  CHECK(height == 256);
  CHECK(std::string(GDALGetMetadataItem(map.dataset, "COMPRESSION", "IMAGE_STRUCTURE")) == "DEFLATE");
  CHECK(map.tag("SEASON") == "Ambry Valley Beardtongue Watch 2027");
  CHECK(map.tag("FINGERPRINT") == result.map_fingerprints.at("PCOB"));
  CHECK(map.tag("TIFFTAG_SOFTWARE").starts_with("swardline "));
  double transform[6];
  GDALGetGeoTransform(map.dataset, transform);
  CHECK(transform[0] == 600000);
  CHECK(transform[3] == 4200000);
  CHECK(transform[1] == 10);
  CHECK(GDALGetSpatialRef(map.dataset) != nullptr);

  double least = 0, most = 0, mean = 0, spread = 0;
  REQUIRE(GDALGetRasterStatistics(map.band, 0, 0, &least, &most, &mean, &spread) == CE_None);
  double cells = 0, sum = 0, top = 0;
  for (const double value : read_raster(valley.options().out / "score" / "PCOB.tif"))
    if (value != 255) cells += 1, sum += value, top = std::max(top, value);
  CHECK(most == top);
  CHECK(mean == doctest::Approx(sum / cells).epsilon(1e-9));

  REQUIRE(GDALGetOverviewCount(map.band) == 1);
  GDALRasterBandH overview = GDALGetOverview(map.band, 0);
  CHECK(GDALGetRasterBandXSize(overview) == 150);
  CHECK(GDALGetRasterNoDataValue(overview, nullptr) == 255);
  std::vector<double> full = read_raster(valley.options().out / "score" / "PCOB.tif"), half(150 * 145);
  REQUIRE(GDALRasterIO(overview, GF_Read, 0, 0, 150, 145, half.data(), 150, 145, GDT_Float64, 0, 0) ==
          CE_None);
  for (std::size_t y = 0; y < 145; ++y)
    for (std::size_t x = 0; x < 150; ++x) {
      double scores = 0, scored = 0;
      for (const std::size_t cell : {2 * y * 300 + 2 * x, 2 * y * 300 + 2 * x + 1, (2 * y + 1) * 300 + 2 * x,
                                     (2 * y + 1) * 300 + 2 * x + 1})
        if (full[cell] != 255) scores += full[cell], scored += 1;
      REQUIRE((half[y * 150 + x] == 255) == (scored == 0));
      if (scored > 0) REQUIRE(std::abs(half[y * 150 + x] - scores / scored) <= 0.51);
    }

  GDALColorTableH colours = GDALGetRasterColorTable(map.band);
  REQUIRE(colours != nullptr);
  double before = 256;
  const std::vector<double> bands = valley.options().bands;
  for (int percent = 0; percent <= 100; ++percent) {
    const GDALColorEntry* entry = GDALGetColorEntry(colours, percent);
    const double grey = 0.299 * entry->c1 + 0.587 * entry->c2 + 0.114 * entry->c3;
    CHECK(grey <= before);
    char hex[8];
    std::snprintf(hex, sizeof hex, "#%02x%02x%02x", unsigned(entry->c1) & 255U, unsigned(entry->c2) & 255U,
                  unsigned(entry->c3) & 255U);
    CHECK(hex == band_fill(band_of(bands, percent), bands.size() + 1));
    before = grey;
  }
}

TEST_CASE("A held-down map names its categories, in the file and for desktop GIS") {
  const Valley valley;
  (void)valley.score(valley.options());
  const Opened map(valley.options().out / "held-down" / "PTUB.tif");
  char** names = GDALGetRasterCategoryNames(map.band);
  REQUIRE(names != nullptr);
  CHECK(std::string(names[0]) == "nothing");
  CHECK(std::string(names[3]) == "canopy");
  CHECK(std::string(names[5]) == "excluded: cover OW");
  CHECK(std::string(GDALGetMetadataItem(map.band, "CATEGORY_5", nullptr)) == "excluded: cover OW");
  CHECK(GDALGetRasterColorTable(map.band) != nullptr);
  const std::vector<double> held = read_raster(valley.options().out / "held-down" / "PTUB.tif");
  const std::vector<double> score = read_raster(valley.options().out / "score" / "PTUB.tif");
  const Raster& any = valley.rasters.at("cover");
  for (std::size_t i = 0; i < held.size(); ++i) {
    const CellScore cell = score_cell(valley.season.sheets[1], [&](const std::string& layer) {
      return valley.value(layer, int(i) % any.cols, int(i) / any.cols);
    });
    const std::string text = names[int(held[i])];
    REQUIRE((score[i] == 255) == (text.starts_with("excluded") || text.starts_with("no data")));
    if (cell.outcome == Outcome::excluded) REQUIRE(text == "excluded: " + cell.reason);
    if (cell.outcome == Outcome::no_score) REQUIRE(text == "no data: " + cell.reason);
    if (cell.held_down_by) REQUIRE(text == valley.season.sheets[1].factors[*cell.held_down_by].layer);
  }
}

TEST_CASE("Float maps hold the score itself, and NaN without one") {
  const Valley valley(60, 50);
  ScoreOptions options = valley.options();
  options.as_float = true;
  (void)valley.score(options);
  const Opened map(options.out / "score" / "PCOB.tif");
  CHECK(GDALGetRasterDataType(map.band) == GDT_Float32);
  CHECK(std::isnan(GDALGetRasterNoDataValue(map.band, nullptr)));
  const std::vector<double> score = read_raster(options.out / "score" / "PCOB.tif");
  for (int y = 0; y < 50; ++y)
    for (int x = 0; x < 60; ++x) {
      const double hundred = cobaea_by_hand(valley, x, y), got = score[std::size_t(y * 60 + x)];
      REQUIRE(std::isnan(hundred) == std::isnan(got));
      if (!std::isnan(got)) REQUIRE(100 * got == doctest::Approx(hundred).epsilon(1e-6));
    }
}

TEST_CASE("The cloud layout has the same pixels, names, statistics and overviews") {
  const Valley valley;
  const ScoreResult plain = valley.score(valley.options(1));
  ScoreOptions options = valley.options(2);
  options.cog = true;
  const ScoreResult cloud = valley.score(options);
  for (std::size_t f = 0; f < plain.files.size(); ++f)
    CHECK(read_raster(plain.files[f]) == read_raster(cloud.files[f]));
  const Opened map(options.out / "held-down" / "PCOB.tif");
  CHECK(std::string(GDALGetMetadataItem(map.dataset, "LAYOUT", "IMAGE_STRUCTURE")) == "COG");
  REQUIRE(GDALGetRasterCategoryNames(map.band) != nullptr);
  CHECK(std::string(GDALGetRasterCategoryNames(map.band)[1]) == "moisture");
  CHECK(std::string(GDALGetMetadataItem(map.band, "CATEGORY_1", nullptr)) == "moisture");
  CHECK(GDALGetOverviewCount(map.band) == 1);
  CHECK(map.tag("FINGERPRINT") == cloud.map_fingerprints.at("PCOB"));
  CHECK(files_in(options.out) == files_in(valley.options(1).out));
}

TEST_CASE("Only finished maps stay in the folder, and a second run replaces them whole") {
  const Valley valley(60, 50);
  (void)valley.score(valley.options());
  CHECK(files_in(valley.options().out) == 6);  // four maps, two side files with category names
  const std::string before = read_whole(valley.options().out / "score" / "PCOB.tif");
  ScoreOptions again = valley.options();
  again.force = true;
  (void)valley.score(again);
  CHECK(files_in(valley.options().out) == 6);
  CHECK(read_whole(valley.options().out / "score" / "PCOB.tif") == before);
}

TEST_CASE("Maps stay while layers, sheet and grid are as they were, and a changed species is written alone") {
  Valley valley(300, 290);
  const ScoreOptions options = valley.options();
  const ScoreResult first = valley.score(options);
  REQUIRE(first.kept.empty());
  REQUIRE(first.files.size() == 4);
  std::vector<std::string> codes;
  for (const auto& [code, print] : first.map_fingerprints) codes.push_back(code);
  REQUIRE(codes.size() == 2);
  const auto same_tables = [](const ScoreResult& a, const ScoreResult& b) {
    REQUIRE(a.table.size() == b.table.size());
    for (std::size_t i = 0; i < a.table.size(); ++i) CHECK(a.table[i].band_m2 == b.table[i].band_m2);
  };
  // A file replaced is another file, whatever the clock says.
  const auto numbers = [&] {
    std::vector<ino_t> all;
    for (const std::filesystem::path& file : first.files) {
      struct stat status {};
      REQUIRE(stat(file.c_str(), &status) == 0);
      all.push_back(status.st_ino);
    }
    return all;
  };
  const std::vector<ino_t> as_written = numbers();

  const ScoreResult second = valley.score(options);
  CHECK(second.kept == codes);
  CHECK(second.files == first.files);
  CHECK(numbers() == as_written);
  same_tables(first, second);

  const std::string changed = valley.season.sheets[0].code, other = valley.season.sheets[1].code;
  valley.season.sheets[0].factors[0].response = Polyline{{{0, 0.1}, {30, 0.9}}};
  const ScoreResult third = valley.score(options);
  CHECK(third.kept == std::vector<std::string>{other});
  CHECK(third.map_fingerprints.at(other) == first.map_fingerprints.at(other));
  CHECK(third.map_fingerprints.at(changed) != first.map_fingerprints.at(changed));
  // As if nothing had been there.
  ScoreOptions elsewhere = options;
  elsewhere.out = valley.folder / "elsewhere";
  const ScoreResult anew = valley.score(elsewhere);
  CHECK(anew.kept.empty());
  same_tables(anew, third);
  for (std::size_t f = 0; f < anew.files.size(); ++f)
    CHECK(read_raster(anew.files[f]) == read_raster(third.files[f]));

  // Other cells, another meaning of a class, another look: nothing stays.
  valley.rasters.at("moisture").values[0] += 1;
  valley.write("moisture");
  CHECK(valley.score(options).kept.empty());
  ScoreOptions other_bands = options;
  other_bands.bands = {0.5};
  CHECK(valley.score(other_bands).kept.empty());
  CHECK(valley.score(other_bands).kept == codes);
  other_bands.as_float = true;
  CHECK(valley.score(other_bands).kept.empty());
  other_bands.force = true;
  CHECK(valley.score(other_bands).kept.empty());
  // A map that is gone or cut short is written anew, with the other of its species.
  other_bands.force = false;
  std::filesystem::resize_file(first.files[0], 100);
  CHECK(valley.score(other_bands).kept.size() == 1);
  std::filesystem::remove(first.files[3]);
  CHECK(valley.score(other_bands).kept.size() == 1);
  CHECK(valley.score(other_bands).kept == codes);
}

TEST_CASE("A full disk is an error that leaves the old maps and nothing else") {
  const Valley valley;
  (void)valley.score(valley.options());
  const std::string before = read_whole(valley.options().out / "score" / "PCOB.tif");
  const int files = files_in(valley.options().out);
  for (const rlim_t bytes : {rlim_t{1000}, rlim_t{20000}, rlim_t(before.size() - 100)}) {
    for (const int threads : {1, 2}) {
      ScoreOptions options = valley.options();
      options.threads = threads;
      options.force = true;
      const FullDisk full(bytes);
      CHECK_THROWS_AS((void)valley.score(options), IoError);
    }
    CHECK(files_in(valley.options().out) == files);
    CHECK(read_whole(valley.options().out / "score" / "PCOB.tif") == before);
  }
}

TEST_CASE("An output folder that cannot be is an error naming it") {
  const Valley valley(60, 50);
  ScoreOptions options = valley.options();
  options.out = valley.folder / "taken";
  std::ofstream(options.out) << "a file";
  try {
    (void)valley.score(options);
    FAIL("wrote into a file");
  } catch (const IoError& error) {
    CHECK(std::string(error.what()).find("taken") != std::string::npos);
  }
}

TEST_CASE("Windows handed in out of order wait for their turn, so a file's bytes do not depend on timing") {
  const Folder folder;
  const auto spec = [&](const char* name) {
    MapSpec made;
    made.path = folder / name;
    made.extent = {0, 0, 520, 300};
    made.wkt = Crs::from_text("EPSG:26914").wkt();
    return made;
  };
  // Tiles of several windows, windows of several tiles.
  const std::vector<Window> windows{{0, 0, 200, 300}, {200, 0, 320, 100}, {200, 100, 320, 200}};
  std::vector<std::vector<std::uint8_t>> cells;
  for (const Window& window : windows) {
    cells.emplace_back(window.cells());
    for (std::size_t i = 0; i < window.cells(); ++i)
      cells.back()[i] = std::uint8_t(i * (cells.size() + i / 7) % 101);
  }
  const std::vector<std::vector<std::size_t>> orders{{0, 1, 2}, {2, 1, 0}, {1, 0, 2}, {2, 0, 1}};
  for (std::size_t o = 0; o < orders.size(); ++o) {
    MapFile file(spec(("map" + std::to_string(o) + ".tif").c_str()));
    for (const std::size_t turn : orders[o]) CHECK(file.write(turn, windows[turn], cells[turn].data()));
    file.finish(false);
    file.publish();
    CHECK(read_whole(folder / ("map" + std::to_string(o) + ".tif")) == read_whole(folder / "map0.tif"));
  }

  MapFile given_up(spec("c.tif"));
  auto waiting =
      std::async(std::launch::async, [&] { return given_up.write(1000, windows[1], cells[1].data()); });
  CHECK(waiting.wait_for(std::chrono::milliseconds(30)) == std::future_status::timeout);
  given_up.abandon();
  CHECK_FALSE(waiting.get());
}

TEST_CASE("Maps have the same bytes for any number of threads") {
  const Valley valley(700, 530);
  for (const bool as_float : {false, true}) {
    std::vector<std::string> alone;
    for (const int threads : {1, 2, 5}) {
      ScoreOptions options = valley.options(threads);
      options.as_float = as_float;
      options.force = true;
      const ScoreResult result = valley.score(options);
      for (std::size_t f = 0; f < result.files.size(); ++f) {
        if (threads == 1) alone.push_back(read_whole(result.files[f]));
        CHECK(read_whole(result.files[f]) == alone[f]);
      }
    }
  }
}

}  // namespace maps_test
