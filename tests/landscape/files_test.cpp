#include <doctest/doctest.h>
#include <gdal_priv.h>

#include <cstring>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "swardline/base/error.hpp"
#include "writer.hpp"

namespace files_test {

using namespace swardline;
using namespace swardline::landscape;
namespace fs = std::filesystem;

namespace {

struct Folder {
  fs::path path;
  explicit Folder(const std::string& name)
      : path(fs::temp_directory_path() / ("swardline-landscape-" + name)) {
    fs::remove_all(path);
    GDALAllRegister();
  }
  ~Folder() { fs::remove_all(path); }
};

std::vector<float> window(const fs::path& file, int col, int row, int cols, int rows) {
  const std::unique_ptr<GDALDataset> set(GDALDataset::Open(file.c_str()));
  REQUIRE(set);
  std::vector<float> cells(static_cast<std::size_t>(cols) * static_cast<std::size_t>(rows));
  REQUIRE(set->GetRasterBand(1)->RasterIO(GF_Read, col, row, cols, rows, cells.data(), cols, rows,
                                          GDT_Float32, 0, 0, nullptr) == CE_None);
  return cells;
}

WriteJob small_job(const fs::path& folder, int threads) {
  WriteJob job;
  job.folder = folder;
  job.view = {70000, 421100, 600, 500, 10};
  job.layers = layer_names();
  job.threads = threads;
  return job;
}

}  // namespace

TEST_CASE("one thread and three write the same cells") {
  const Folder one("one"), three("three");
  const Land land(5);
  write_layers(land, small_job(one.path, 1));
  write_layers(land, small_job(three.path, 3));
  for (const std::string& layer : layer_names()) {
    CAPTURE(layer);
    CHECK(window(one.path / (layer + ".tif"), 0, 0, 600, 500) ==
          window(three.path / (layer + ".tif"), 0, 0, 600, 500));
    CHECK_FALSE(fs::exists(one.path / (layer + ".tif.part")));
  }
}

TEST_CASE("two extents agree where they overlap") {
  const Folder one("left"), two("right");
  const Land land(5);
  WriteJob job = small_job(one.path, 2);
  job.layers = {"cover", "elevation"};
  write_layers(land, job);
  job.folder = two.path;
  job.view = {70333, 421000, 400, 300, 10};
  write_layers(land, job);
  for (const char* file : {"cover.tif", "elevation.tif"}) {
    CHECK(window(one.path / file, 333, 100, 267, 300) == window(two.path / file, 0, 0, 267, 300));
  }
}

TEST_CASE("files say their units, no-data value, classes and that the land is invented") {
  const Folder folder("labels");
  WriteJob job = small_job(folder.path, 1);
  job.view.cols = job.view.rows = 64;
  write_layers(Land(5), job);
  const auto open = [&](const char* name) {
    return std::unique_ptr<GDALDataset>(GDALDataset::Open((folder.path / name).c_str()));
  };
  const auto cover = open("cover.tif");
  GDALRasterBand& band = *cover->GetRasterBand(1);
  CHECK(band.GetNoDataValue() == 0);
  CHECK(std::string(band.GetCategoryNames()[6]) == "GL glade");
  CHECK(std::string(band.GetMetadataItem("class_12")) == "DV built");
  CHECK(band.GetColorTable() != nullptr);
  CHECK(std::strstr(cover->GetMetadataItem("TIFFTAG_IMAGEDESCRIPTION"), "no such place") != nullptr);
  const auto moisture = open("moisture.tif");
  CHECK(std::string(moisture->GetRasterBand(1)->GetUnitType()) == "percent");
  CHECK(moisture->GetRasterBand(1)->GetNoDataValue() == 255);
  int block_x = 0, block_y = 0;
  moisture->GetRasterBand(1)->GetBlockSize(&block_x, &block_y);
  CHECK(block_x == 256);
  CHECK(block_y == 256);
}

TEST_CASE("a mosaic repeats one block over an extent that has no disk of its own") {
  const Folder folder("mosaic");
  WriteJob job = small_job(folder.path, 2);
  job.layers = {"moisture"};
  job.view.cols = 100000;
  job.view.rows = 1500;
  job.repeat_block = 512;
  write_layers(Land(5), job);
  const auto first = window(folder.path / "moisture.vrt", 0, 0, 64, 64);
  CHECK(first == window(folder.path / "moisture.vrt", 512 * 190, 1024, 64, 64));
  CHECK(first == window(folder.path / "moisture-block.tif", 0, 0, 64, 64));
  CHECK(window(folder.path / "moisture.vrt", 99990, 1490, 10, 10) ==
        window(folder.path / "moisture-block.tif", 99990 % 512, 1490 % 512, 10, 10));
  CHECK(fs::file_size(folder.path / "moisture-block.tif") < 400000);
}

TEST_CASE("bad input is named with what to do") {
  const Folder folder("bad");
  WriteJob job = small_job(folder.path, 1);
  job.layers = {"moistur"};
  CHECK_THROWS_WITH_AS(write_layers(Land(1), job), doctest::Contains("Did you mean 'moisture'?"), InputError);
  job.layers = {"cover"};
  job.crs = "EPSG:4326";
  CHECK_THROWS_WITH_AS(write_layers(Land(1), job), doctest::Contains("EPSG:26914"), InputError);
  job.crs = "EPSG:26914";
  job.folder = "/proc/no-such-folder";
  CHECK_THROWS_AS(write_layers(Land(1), job), IoError);
}

}  // namespace files_test
