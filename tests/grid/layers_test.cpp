// The one grid of a plan's layers, and where each layer lies on it.
#include <ogr_spatialref.h>

#include <cmath>
#include <fstream>
#include <memory>
#include <vector>

#include "made_layers.hpp"

namespace layers_test {

using namespace grid_test;
using namespace swardline;

namespace {

MadeFile flat(double cell, double x = west, double y = north) {
  MadeFile file;
  file.value = [](int, int) { return 1.0; };
  file.type = GDT_Byte;
  file.gt = {x, cell, 0, y, 0, -cell};
  return file;
}

/// A made file of 10 m cells in UTM zone 15 that lies over the west of its plan's zone 14.
MadeFile zone_15(double cell = 10) {
  MadeFile file = flat(cell, 240000, 4200000);
  file.crs = "EPSG:26915";
  return file;
}

Point zone_15_in_14(double x, double y) {
  static const std::unique_ptr<OGRCoordinateTransformation> way = [] {
    OGRSpatialReference from, to;
    from.importFromEPSG(26915);
    to.importFromEPSG(26914);
    return std::unique_ptr<OGRCoordinateTransformation>(OGRCreateCoordinateTransformation(&from, &to));
  }();
  if (!way->Transform(1, &x, &y)) FAIL("no way");
  return {x, y};
}

}  // namespace

TEST_CASE("the grid's cell is the plan's, whatever the layers'") {
  MadePlan made;
  made.measure("moisture", flat(10));
  made.plan.grid.cell_m = 25;
  CHECK(made.open().grid().cell_m == 25);
}

TEST_CASE("the grid's cell and origin are the finest layer's, in any order of the layers") {
  for (const bool finest_first : {true, false}) {
    MadePlan made;
    if (finest_first) made.measure("canopy", flat(5, west + 3, north + 1));
    made.measure("moisture", flat(10));
    made.measure("elevation", flat(30, west + 12, north));
    if (!finest_first) made.measure("canopy", flat(5, west + 3, north + 1));
    const Layers layers = made.open();
    CHECK(layers.grid().cell_m == 5);
    CHECK(layers.grid().origin_x == 3);
    CHECK(layers.grid().origin_y == 1);
    CHECK_FALSE(layers.infos()[*layers.index("canopy")].warped);
    CHECK(layers.infos()[*layers.index("moisture")].warped);
  }
}

TEST_CASE("of layers equally fine the plan's first gives the origin") {
  MadePlan made;
  made.measure("moisture", flat(10, west + 3));
  made.measure("canopy", flat(10, west + 6));
  CHECK(made.open().grid().origin_x == 3);
}

TEST_CASE("the plan's cell counts from the finest layer's corner") {
  MadePlan made;
  made.measure("moisture", flat(10, 600004, 4199999));
  made.plan.grid.cell_m = 25;
  const Grid grid = made.open().grid();
  CHECK(grid.origin_x == 4);   // 600004 = 24000 x 25 + 4
  CHECK(grid.origin_y == 24);  // 4199999 = 167999 x 25 + 24
}

TEST_CASE("a corner that is whole cells but for rounding gives an origin of 0") {
  MadePlan made;
  made.measure("moisture", flat(0.1, 600000.1, 4200000.3));
  const Layers layers = made.open();
  CHECK(std::abs(layers.grid().origin_x) < 1e-8);
  CHECK(std::abs(layers.grid().origin_y) < 1e-8);
  CHECK(layers.infos()[0].extent == Window{6000001, -42000003, 40, 30});
  CHECK(layers.extent() == layers.infos()[0].extent);
}

TEST_CASE("the grid does not depend on which layers are needed") {
  MadePlan made;
  made.measure("moisture", flat(10));
  made.measure("canopy", flat(2.5, west + 1));
  const Layers all = made.open(), one = made.open({"moisture"});
  REQUIRE(one.infos().size() == 1);
  CHECK(one.grid().cell_m == 2.5);
  CHECK(one.grid().origin_x == 1);
  CHECK(one.extent() == all.extent());
  CHECK(one.fingerprint() == all.fingerprint());
}

TEST_CASE("layers of another system alone give a cell of three figures and the origin 0") {
  MadePlan made;
  made.measure("moisture", zone_15());
  const Grid grid = made.open().grid();
  // The side of a square of one cell's area, from PROJ's own way from zone 15 to zone 14.
  const Point a = zone_15_in_14(240200, 4199850), b = zone_15_in_14(240210, 4199850),
              c = zone_15_in_14(240200, 4199840);
  const double side = std::sqrt(std::abs((b.x - a.x) * (c.y - a.y) - (c.x - a.x) * (b.y - a.y)));
  CHECK(grid.cell_m == doctest::Approx(std::round(side * 10) / 10).epsilon(1e-12));
  CHECK(grid.origin_x == 0);
  CHECK(grid.origin_y == 0);
}

TEST_CASE("a finer layer of another system gives the cell, the plan's own layer the origin") {
  MadePlan made;
  made.measure("moisture", flat(30, west + 7, north + 2));
  made.measure("canopy", zone_15(5));
  const Grid grid = made.open().grid();
  CHECK(grid.cell_m == doctest::Approx(5).epsilon(0.01));
  CHECK(std::abs(grid.origin_x - std::fmod(west + 7, grid.cell_m)) < 1e-9);
  CHECK(std::abs(grid.origin_y - std::fmod(north + 2, grid.cell_m)) < 1e-9);
}

TEST_CASE("a layer is on the grid where its cells are the grid's, and warped otherwise") {
  struct Case {
    std::string what;
    std::array<double, 6> gt;
    bool warped;
  };
  for (const Case& one : {Case{"the same", {west + 2000, 10, 0, north - 500, 0, -10}, false},
                          Case{"half a cell off", {west + 5, 10, 0, north, 0, -10}, true},
                          Case{"a centimetre off", {west, 10, 0, north + 0.01, 0, -10}, true},
                          Case{"longer cells", {west, 10, 0, north, 0, -20}, true},
                          Case{"a cell that drifts", {west, 10.00001, 0, north, 0, -10}, true},
                          Case{"south row first", {west, 10, 0, north, 0, 10}, true},
                          Case{"turned", {west, 9.9, 1, north, 1, -9.9}, true}}) {
    CAPTURE(one.what);
    MadePlan made;
    made.measure("moisture", flat(10));
    MadeFile other = flat(10);
    other.gt = one.gt;
    made.measure("canopy", other);
    made.plan.grid.cell_m = 10;
    const Layers layers = made.open();
    CHECK(layers.infos()[1].warped == one.warped);
    CHECK(made.flags.all().size() == (one.warped ? 1 : 0));
    if (one.warped) {
      CHECK(made.flags.all()[0].check == "layer warped");
      CHECK(made.flags.all()[0].severity == Severity::note);
    }
  }
}

TEST_CASE("a warped layer's cells do not depend on how its file is packed") {
  for (const GDALDataType type : {GDT_Byte, GDT_Float32}) {
    CAPTURE(type);
    MadeFile file;
    file.value = [](int col, int row) { return 1 + number(3, col, row, 9); };
    file.cols = file.rows = 300;
    file.gt = {west + 4, 10, 0, north - 3, 0, -10};
    file.type = type;
    MadePlan made;
    made.plan.grid.cell_m = 10;
    made.measure("moisture", flat(10));
    const auto add = [&](const char* name) {
      if (type == GDT_Byte)
        made.classes(name, file, {1, 2, 3, 4, 5, 6, 7, 8, 9});
      else
        made.measure(name, file);
    };
    add("striped");
    file.options = {"TILED=YES", "BLOCKXSIZE=128", "BLOCKYSIZE=128", "COMPRESS=DEFLATE",
                    type == GDT_Byte ? "PREDICTOR=2" : "PREDICTOR=3"};
    add("tiled");
    const Layers layers = made.open();
    REQUIRE(layers.infos()[*layers.index("tiled")].warped);
    const Window window = layers.extent();
    const auto cells = [&](const char* name) {
      const std::size_t layer = *layers.index(name);
      return cells_of(layers.infos()[layer], tile_of(layers, layer, window));
    };
    const std::vector<float> tiled = cells("tiled");
    CHECK(differing(cells("striped"), tiled) == 0);
    CHECK(std::count_if(tiled.begin(), tiled.end(), [](float v) { return v >= 1 && v <= 9; }) > 80'000);
  }
}

TEST_CASE("the way a layer came to the grid is said") {
  MadePlan made;
  made.measure("moisture", flat(10));
  made.classes("cover", zone_15(), {1});
  made.measure("canopy", zone_15(20));
  made.measure("litter", flat(2.5));
  made.plan.grid.cell_m = 10;
  const Layers layers = made.open();
  const auto how = [&](const char* name) { return layers.infos()[*layers.index(name)].how; };
  CHECK(how("moisture") == "on the grid");
  CHECK(how("cover").find("warped from NAD83 / UTM zone 15N, ") == 0);
  CHECK(how("cover").find("nearest cell") != std::string::npos);
  CHECK(how("canopy").find("bilinear") != std::string::npos);
  CHECK(how("litter") == "warped from NAD83 / UTM zone 14N, 2.5 m cells, average");
}

TEST_CASE("extents are each layer's cells, and the plan's is their union or its own") {
  MadePlan made;
  made.measure("moisture", flat(10));                     // 40 x 30 cells
  made.measure("canopy", flat(10, west + 300, north));    // 30 cells to the east
  made.measure("litter", flat(20, west + 5, north - 5));  // 80 x 60 cells, half a cell off
  const Layers layers = made.open();
  CHECK(layers.infos()[0].extent == Window{60000, -420000, 40, 30});
  CHECK(layers.infos()[1].extent == Window{60030, -420000, 40, 30});
  CHECK(layers.infos()[2].extent == Window{60000, -420000, 81, 61});
  CHECK(layers.extent() == Window{60000, -420000, 81, 61});
  made.plan.grid.extent = {600100, 4199800, 600155, 4199950};
  CHECK(made.open().extent() == Window{60010, -419995, 6, 15});
}

TEST_CASE("the extent of a layer of another system holds all of it and little more") {
  MadePlan made;
  made.measure("moisture", flat(10));
  MadeFile other = zone_15();
  other.cols = 400;
  other.rows = 300;
  made.measure("canopy", other);
  const Layers layers = made.open();
  Box box{1e30, 1e30, -1e30, -1e30};
  for (int i = 0; i <= 400; ++i)
    for (const int k : {0, 300}) {
      const Point p = zone_15_in_14(240000 + 10 * i, 4200000 - 10 * k);
      const Point q = zone_15_in_14(240000 + 10 * (i == 400 ? 400 : 0), 4200000 - 7.5 * i);
      box.grow({p.x, p.y, p.x, p.y});
      box.grow({q.x, q.y, q.x, q.y});
    }
  CHECK(layers.infos()[1].extent == layers.grid().covering(box));
}

TEST_CASE("reading windows cover the area once") {
  MadePlan made;
  MadeFile file = flat(10);
  file.cols = 700;
  file.options = {"TILED=YES", "BLOCKXSIZE=256", "BLOCKYSIZE=256"};
  made.measure("tiles", file);
  const auto count = [&](const Window& area) {
    std::size_t cells = 0;
    const std::vector<Window> windows = made.open().reading_windows(area);
    for (std::size_t i = 0; i < windows.size(); ++i) {
      cells += windows[i].cells();
      CHECK(intersect(windows[i], area) == windows[i]);
      for (std::size_t k = 0; k < i; ++k) CHECK(intersect(windows[i], windows[k]).empty());
    }
    CHECK(cells == area.cells());
    return windows.size();
  };
  // 60000 = 117 x 512 + 96: 416 columns, then 512, then 172.
  CHECK(count({60000, -420352, 1100, 512}) == 3);
  CHECK(count({-3, -3, 6, 6}) == 4);
  CHECK(made.open().reading_windows({}).empty());
  file.options = {"TILED=NO"};
  made.measure("strips", file);
  CHECK(count({60000, -420352, 1100, 512}) == 2);  // the whole width at once
}

TEST_CASE("the fingerprint follows the file, its band, the scale and the grid") {
  MadePlan made;
  LayerSpec& spec = made.measure("moisture", flat(10));
  const std::string first = made.open().fingerprint();
  CHECK(made.open().fingerprint() == first);
  spec.scale = 0.1;
  CHECK(made.open().fingerprint() != first);
  spec.scale = 1;
  made.plan.grid.cell_m = 20;
  CHECK(made.open().fingerprint() != first);
  made.plan.grid.cell_m = {};
  CHECK(made.open().fingerprint() == first);
  std::ofstream(made.file("moisture"), std::ios::app) << "x";
  CHECK(made.open().fingerprint() != first);
}

TEST_CASE("the day a raster says it was made is said") {
  MadePlan made;
  made.measure("moisture", flat(10));
  {
    const Dataset file(GDALDataset::Open(made.file("moisture").c_str(), GDAL_OF_RASTER | GDAL_OF_UPDATE));
    file->SetMetadataItem("TIFFTAG_DATETIME", "2024:05:01 12:00:00");  // TIFF 6.0, tag 306
  }
  CHECK(made.open().infos()[0].how == "on the grid, dated 2024-05-01");
}

}  // namespace layers_test
