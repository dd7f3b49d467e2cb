// What is read does not depend on the window asked for, and a file cut short is an error.
#include <fmt/format.h>

#include <cmath>
#include <filesystem>
#include <limits>

#include "made_layers.hpp"
#include "swardline/base/error.hpp"
#include "swardline/base/random.hpp"

namespace reader_test {

using namespace grid_test;
using namespace swardline;

namespace {

constexpr float none = std::numeric_limits<float>::quiet_NaN();

/// A plan whose grid is moisture's, with layers that come to it in every way there is. 60032 and -419968
/// are columns and rows 235 and 128 of their blocks: files of 300 cells reach over three blocks each way.
void fill(MadePlan& made) {
  MadeFile file;
  file.cols = file.rows = 300;
  file.gt = {600320, 10, 0, 4199680, 0, -10};
  file.value = [](int col, int row) { return number(1, col, row, 101); };
  file.type = GDT_Byte;
  file.none = 100;
  made.measure("moisture", file);
  made.plan.layers.back().unit = "percent";

  MadeFile elevation = file;
  elevation.type = GDT_Float32;
  elevation.none = -1;
  elevation.options = {"TILED=YES", "BLOCKXSIZE=64", "BLOCKYSIZE=64"};
  elevation.value = [](int col, int row) {
    return number(2, col, row, 500) == 0 ? -1 : hills(10.0 * col, 10.0 * row);
  };
  made.measure("elevation", elevation);

  MadeFile cover = file;
  cover.crs = "EPSG:26915";
  cover.gt = {72900, 13, 0, 4210300, 0, -13};
  cover.value = [](int col, int row) { return 1 + number(3, col, row, 12); };
  cover.none = 12;
  made.classes("cover", cover, {1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11});

  MadeFile shifted = elevation;
  shifted.gt = {600323, 10, 0, 4199684, 0, -10};
  made.measure("bilinear", shifted);

  MadeFile fine = elevation;
  fine.gt = {600320, 3, 0, 4199680, 0, -3};
  fine.cols = fine.rows = 900;
  made.measure("average", fine);

  MadeFile degrees = elevation;
  degrees.crs = "EPSG:4269";
  degrees.gt = {-97.86, 0.0002, 0, 37.944, 0, -0.0002};
  made.measure("degrees", degrees);

  MadeFile turned = elevation;
  turned.gt = {600900, 9, 4, 4199684, 4, -9};
  made.measure("turned", turned);
  made.plan.grid.cell_m = 10;
}

const std::vector<std::string> ways = {"moisture", "elevation", "cover", "bilinear", "average",
                                       "degrees",  "turned",    "slope", "aspect",   "heat"};

Window random_window(RandomStream& random, const Window& area) {
  const int most = random.below(3) == 0 ? area.cols : 40;
  Window window;
  window.cols = 1 + int(random.below(std::uint64_t(most)));
  window.rows = 1 + int(random.below(std::uint64_t(most)));
  window.col = area.col + std::int64_t(random.below(std::uint64_t(area.cols - window.cols + 1)));
  window.row = area.row + std::int64_t(random.below(std::uint64_t(area.rows - window.rows + 1)));
  return window;
}

std::vector<float> part_of(const std::vector<float>& cells, const Window& whole, const Window& part) {
  std::vector<float> out;
  for (int r = 0; r < part.rows; ++r)
    for (int c = 0; c < part.cols; ++c)
      out.push_back(cells[std::size_t(part.row - whole.row + r) * std::size_t(whole.cols) +
                          std::size_t(part.col - whole.col + c)]);
  return out;
}

}  // namespace

TEST_CASE("a cell's value does not depend on the window, the reader or what was read before") {
  MadePlan made;
  fill(made);
  const Layers layers = made.open(ways);
  REQUIRE(layers.infos().size() == ways.size());
  const Window area{60032 - 60, -419968 - 60, 420, 420};
  LayerReader reader(layers);
  Tile tile;
  reader.read(area, tile);
  std::vector<std::vector<float>> all;
  for (std::size_t i = 0; i < ways.size(); ++i) {
    all.push_back(cells_of(layers.infos()[i], tile.layers[i]));
    int with_data = 0;
    for (const float cell : all[i]) with_data += std::isnan(cell) ? 0 : 1;
    CAPTURE(ways[i]);
    CHECK(with_data > 50'000);  // of 176,400; each file covers about half or more
    CHECK(with_data < 176'400);
  }

  RandomStream random(RandomKey(4, "windows"));
  std::vector<Window> windows = {{60159, -420000, 2, 60},
                                 {60160, -420000, 1, 60},
                                 {60200, -419841, 60, 2},
                                 {60200, -419840, 60, 1},
                                 {60032, -419968, 300, 1}};
  for (int i = 0; i < 60; ++i) windows.push_back(random_window(random, area));
  for (std::size_t k = 0; k < windows.size(); ++k) {
    const Window& window = windows[k];
    reader.read(window, tile);
    CHECK(tile.window == window);
    for (std::size_t i = 0; i < ways.size(); ++i) {
      CAPTURE(ways[i]);
      CAPTURE(fmt::format("{} {} {} {}", window.col, window.row, window.cols, window.rows));
      const std::vector<float> expected = part_of(all[i], area, window);
      CHECK(differing(cells_of(layers.infos()[i], tile.layers[i]), expected) == 0);
      if (k % 8 == 0)
        CHECK(differing(cells_of(layers.infos()[i], tile_of(layers, i, window)), expected) == 0);
    }
  }
}

TEST_CASE("aligned cells are the file's, cell for cell, and none beyond it") {
  MadePlan made;
  fill(made);
  const Layers layers = made.open({"moisture", "elevation"});
  const Window area{60032 - 7, -419968 - 5, 320, 311};
  LayerReader reader(layers);
  Tile tile;
  reader.read(area, tile);
  int wrong = 0;
  for (int r = 0; r < area.rows; ++r)
    for (int c = 0; c < area.cols; ++c) {
      const int col = c - 7, row = r - 5;
      const bool inside = col >= 0 && row >= 0 && col < 300 && row < 300;
      const auto at = std::size_t(r) * std::size_t(area.cols) + std::size_t(c);
      if (tile.layers[0].bytes[at] != (inside ? number(1, col, row, 101) : 100)) ++wrong;
      const bool has = inside && number(2, col, row, 500) != 0;
      const float z = tile.layers[1].values[at];
      if (has ? z != float(hills(10.0 * col, 10.0 * row)) : !std::isnan(z)) ++wrong;
    }
  CHECK(wrong == 0);
}

TEST_CASE("a window beyond every file has no data") {
  MadePlan made;
  fill(made);
  const Layers layers = made.open(ways);
  for (const Window& window : {Window{60032 + 300, -419968, 40, 30}, Window{60032 - 40, -419968, 40, 30},
                               Window{-5, -5, 10, 10}, Window{2'000'000'000'000, -2'000'000'000'000, 3, 3}})
    for (const std::size_t i : {0U, 1U, 7U})
      for (const float cell : cells_of(layers.infos()[i], tile_of(layers, i, window)))
        CHECK(std::isnan(cell));
  for (std::size_t i = 0; i < ways.size(); ++i)
    for (const float cell : cells_of(layers.infos()[i], tile_of(layers, i, {-5, -5, 10, 10})))
      CHECK(std::isnan(cell));
}

TEST_CASE("a reader gives the layers asked for, in that order") {
  MadePlan made;
  fill(made);
  const Layers layers = made.open({"moisture", "cover", "elevation"});
  LayerReader some(layers, {2, 0});
  Tile tile;
  const Window window{60100, -419900, 20, 20};
  some.read(window, tile);
  REQUIRE(tile.layers.size() == 2);
  CHECK(differing(tile.layers[0].values, made.read("elevation", window)) == 0);
  CHECK(differing(cells_of(layers.infos()[0], tile.layers[1]), made.read("moisture", window)) == 0);
}

TEST_CASE("the chosen band is read") {
  MadePlan made;
  MadeFile file;
  file.value = [](int col, int) { return col; };
  file.bands = 2;
  made.measure("moisture", file);
  {
    const Dataset dataset(GDALDataset::Open(made.file("moisture").c_str(), GDAL_OF_RASTER | GDAL_OF_UPDATE));
    REQUIRE(dataset != nullptr);
    REQUIRE(dataset->GetRasterBand(2)->Fill(7) == CE_None);
  }
  made.plan.layers[0].band = 2;
  for (const float cell : made.read("moisture", {60000, -420000, 5, 5})) CHECK(cell == 7);
}

TEST_CASE("a value is the raw one by the file's scale and offset, then the plan's scale") {
  MadePlan made;
  MadeFile file;
  file.value = [](int, int) { return 40; };
  file.type = GDT_Int16;
  file.own_scale = 0.5;
  file.own_offset = -3;
  made.measure("moisture", file).scale = 10;
  CHECK(made.read("moisture", {60000, -420000, 1, 1}) == std::vector<float>{40});
  CHECK(made.open().infos()[0].value(40) == 170);  // (40 x 0.5 - 3) x 10
  CHECK(std::isnan(made.open().infos()[0].value(double(none))));
  // A class is a name: no scale makes another of it.
  made.classes("cover", file, {40}).scale = 10;
  CHECK(made.open().infos()[1].value(40) == 40);
}

TEST_CASE("a file cut short is an error that names it, aligned or warped") {
  for (const double shift : {0.0, 4.0})
    for (const GDALDataType type : {GDT_Byte, GDT_Float32}) {
      CAPTURE(shift);
      MadePlan made;
      MadeFile file;
      file.cols = file.rows = 300;
      file.type = type;
      file.none = 200;
      file.value = [](int col, int row) { return number(5, col, row, 101); };
      made.measure("moisture", file);
      file.gt[0] += shift;
      made.measure("canopy", file);
      const auto size = std::filesystem::file_size(made.file("canopy"));
      std::filesystem::resize_file(made.file("canopy"), size / 2);
      const Layers layers = made.open();
      REQUIRE(layers.infos().size() == 2);
      REQUIRE(layers.infos()[1].warped == (shift > 0));
      LayerReader reader(layers, {1});
      Tile tile;
      std::string said;
      try {
        reader.read({60000, -420000, 300, 300}, tile);
      } catch (const IoError& error) {
        said = error.what();
      }
      CHECK_MESSAGE(said.find("canopy.tif: cannot be read: ") != std::string::npos, said);
      CHECK(said.find("cut short") != std::string::npos);
    }
}

TEST_CASE("a file that was replaced since it was opened is an error") {
  MadePlan made;
  MadeFile file;
  file.value = [](int, int) { return 1; };
  made.measure("moisture", file);
  const Layers layers = made.open();
  file.cols = 50;
  write(made.file("moisture"), file);
  CHECK_THROWS_AS(LayerReader{layers}, IoError);
  std::filesystem::remove(made.file("moisture"));
  CHECK_THROWS_AS(LayerReader{layers}, IoError);
}

}  // namespace reader_test
