// Slope, aspect and heat load of whole elevation files, in any unit and position.
#include <ogr_spatialref.h>

#include <cmath>
#include <limits>
#include <numbers>

#include "made_layers.hpp"
#include "swardline/geo/earth.hpp"

namespace terrain_reader_test {

using namespace grid_test;
using namespace swardline;

namespace {

constexpr double degree = std::numbers::pi / 180;

MadeFile ground(double cell = 10) {
  MadeFile file;
  file.cols = 150;
  file.rows = 140;
  file.gt = {west, cell, 0, north, 0, -cell};
  file.none = -9999;
  file.value = [cell](int col, int row) {
    if (number(12, col, row, 900) == 0) return -9999.0;
    if (col > 100 && row > 100) return 250.0;                    // level ground has no aspect
    return std::round(hills(cell * col, cell * row) * 16) / 16;  // sums that single precision keeps
  };
  return file;
}

/// A plane that rises by these for each column and row.
MadeFile plane(double by_col, double by_row) {
  MadeFile file;
  file.cols = file.rows = 60;
  file.type = GDT_Float64;
  file.value = [=](int col, int row) { return 300 + by_col * col + by_row * row; };
  return file;
}

double turn_between(double a, double b) {
  const double off = std::abs(a - b);
  return std::min(off, 360 - off);
}

/// Degrees of slope and aspect of a rise in metres per metre eastwards and northwards.
double slope_deg(double east, double north_rise) { return std::atan(std::hypot(east, north_rise)) / degree; }
double aspect_deg(double east, double north_rise) {
  const double facing = std::atan2(-east, -north_rise) / degree;
  return facing < 0 ? facing + 360 : facing;
}

/// McCune & Keon 2002, eq. 3 (from memory), aspect folded about the line from north-east to south-west.
double heat_by_equation(double latitude, double slope, double aspect) {
  const double folded = std::abs(180 - std::abs(aspect - 225)) * degree;
  const double l = latitude * degree, s = slope * degree;
  return 0.339 + 0.808 * std::cos(l) * std::cos(s) - 0.196 * std::sin(l) * std::sin(s) -
         0.482 * std::cos(folded) * std::sin(s);
}

/// Every value of the middle of a window is this one.
void check_all(const std::vector<float>& cells, double expected, double tolerance, std::size_t least) {
  std::size_t count = 0;
  double worst = 0;
  for (const float cell : cells)
    if (!std::isnan(cell)) {
      ++count;
      worst = std::max(worst, std::abs(double(cell) - expected));
    }
  CHECK(count >= least);
  CHECK(worst < tolerance);
}

}  // namespace

TEST_CASE("slope and aspect on the grid are gdaldem's, and the outermost cells have none") {
  MadePlan made;
  made.measure("elevation", ground());
  const Window window{60000, -420000, 150, 140};
  const Dataset elevation = open_file(made.file("elevation"));
  const Difference slope =
      difference(made.read("slope", window), whole(*terrain_by_gdal(*elevation, "slope")));
  CHECK(slope.compared > 19'000);
  CHECK(slope.only_one == 0);
  CHECK(slope.largest < 1e-4);  // gdaldem counts in single precision

  const std::vector<float> aspect = made.read("aspect", window);
  const std::vector<float> gdals = whole(*terrain_by_gdal(*elevation, "aspect"));
  double worst = 0;
  int only_one = 0, flat = 0;
  for (std::size_t i = 0; i < aspect.size(); ++i) {
    if (std::isnan(aspect[i]) != std::isnan(gdals[i])) ++only_one;
    flat += std::isnan(aspect[i]) ? 1 : 0;
    if (!std::isnan(aspect[i]) && !std::isnan(gdals[i]))
      worst = std::max(worst, turn_between(double(aspect[i]), double(gdals[i])));
  }
  CHECK(only_one == 0);
  CHECK(flat > 1500);
  CHECK(worst < 1e-2);

  const Layers layers = made.open({"slope", "aspect", "heat"});
  for (const LayerInfo& info : layers.infos()) {
    CHECK(info.derived);
    CHECK_FALSE(info.bytes);
    CHECK(info.how == "from elevation, on the grid");
    CHECK(info.unit == (info.name == "heat" ? "index" : "degrees"));
  }
}

TEST_CASE("heat load is the equation's at every cell's own latitude") {
  struct Case {
    double cell, tolerance;
  };
  // Latitude is found at the corners of squares of 64 cells; it is said to be right to 1e-8 with 30 m cells
  // and 1e-5 with 1 km cells.
  for (const Case& one : {Case{30, 1e-6}, Case{1000, 2e-5}}) {
    MadePlan made;
    MadeFile file = ground(one.cell);
    file.value = [z = file.value](int col, int row) {
      return z(col, row) < 0 ? -9999 : hills(30.0 * col, 30.0 * row);
    };
    made.measure("elevation", file);
    const Layers layers = made.open({"slope", "aspect", "heat"});
    const Window window = layers.extent();
    REQUIRE(window.cols == 150);
    LayerReader reader(layers);
    Tile tile;
    reader.read(window, tile);
    OGRSpatialReference plan, nad83;
    plan.importFromEPSG(26914);
    nad83.importFromEPSG(4269);
    nad83.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
    const std::unique_ptr<OGRCoordinateTransformation> way(OGRCreateCoordinateTransformation(&plan, &nad83));
    int compared = 0;
    double worst = 0;
    for (int r = 0; r < window.rows; ++r)
      for (int c = 0; c < window.cols; ++c) {
        const auto i = std::size_t(r) * 150 + std::size_t(c);
        const double slope = double(tile.layers[0].values[i]), aspect = double(tile.layers[1].values[i]);
        CHECK(std::isnan(tile.layers[2].values[i]) == std::isnan(slope));
        if (std::isnan(slope)) continue;
        double x = layers.grid().centre(window.col + c, 0).x;
        double y = layers.grid().centre(0, window.row + r).y;
        REQUIRE(way->Transform(1, &x, &y));
        const double expected = heat_by_equation(y, slope, std::isnan(aspect) ? 0 : aspect);
        worst = std::max(worst, std::abs(expected - double(tile.layers[2].values[i])));
        ++compared;
      }
    CHECK(compared > 19'000);
    CHECK(worst < one.tolerance);
  }
}

TEST_CASE("level ground has a slope of 0, a heat load and no aspect") {
  MadePlan made;
  made.measure("elevation", plane(0, 0));
  const Window window{60001, -419999, 58, 58};
  check_all(made.read("slope", window), 0, 1e-9, 58 * 58);
  check_all(made.read("aspect", window), 0, 1e-9, 0);
  for (const float cell : made.read("aspect", window)) CHECK(std::isnan(cell));
  // 37.94 N: 0.339 + 0.808 cos 37.94 = 0.976.
  check_all(made.read("heat", window), 0.976, 1e-3, 58 * 58);
}

TEST_CASE("heights in feet count as feet, by the plan's scale or the file's") {
  MadePlan made;
  made.measure("elevation", plane(10, 0)).scale = 0.3048;
  const Window window{60001, -419999, 58, 58};
  check_all(made.read("slope", window), slope_deg(0.3048, 0), 1e-5, 58 * 58);
  check_all(made.read("aspect", window), 270, 1e-4, 58 * 58);
  made.plan.layers.clear();
  MadeFile own = plane(10, 0);
  own.own_scale = 0.3048;
  own.own_offset = 77;
  made.measure("elevation", own);
  check_all(made.read("slope", window), slope_deg(0.3048, 0), 1e-5, 58 * 58);
  // gdaldem's scale is the ratio of vertical units to horizontal.
  const Dataset elevation = open_file(made.file("elevation"));
  const auto gdals = terrain_by_gdal(*elevation, "slope", {"-s", "3.280839895013123"});
  CHECK(difference(made.read("slope", {60000, -420000, 60, 60}), whole(*gdals)).largest < 1e-4);
}

TEST_CASE("a system in feet has its cells in feet") {
  MadePlan made;
  MadeFile file = plane(10, 0);
  file.crs = "EPSG:3420";  // NAD83 / Kansas South (ftUS)
  file.gt = {1300000, 100, 0, 1900000, 0, -100};
  made.measure("elevation", file);
  // 10 m in 100 US survey feet of 1200/3937 m.
  const Layers layers = made.open({"slope"});
  const std::vector<float> cells = cells_of(layers.infos()[0], tile_of(layers, 0, layers.extent()));
  check_all(cells, slope_deg(10 / (100 * 1200 / 3937.0), 0), 1e-4, 3000);
}

TEST_CASE("longer cells, turned cells and south row first count each rise over its own length") {
  // 0.1 m up for each metre east and 0.2 for each metre south.
  for (const std::array<double, 6>& gt : {std::array<double, 6>{west, 10, 0, north, 0, -25},
                                          std::array<double, 6>{west, 10, 0, north - 600, 0, 10},
                                          std::array<double, 6>{west, 9, 4, north, 5, -8},
                                          std::array<double, 6>{west + 600, -10, 0, north, 0, -10}}) {
    MadePlan made;
    MadeFile file = plane(0.1 * gt[1] - 0.2 * gt[4], 0.1 * gt[2] - 0.2 * gt[5]);
    file.gt = gt;
    made.measure("elevation", file);
    made.plan.grid.cell_m = 10;
    const Layers layers = made.open({"slope", "aspect"});
    const Window all = layers.extent();
    check_all(cells_of(layers.infos()[0], tile_of(layers, 0, all)), slope_deg(0.1, -0.2), 1e-4, 2500);
    check_all(cells_of(layers.infos()[1], tile_of(layers, 1, all)), aspect_deg(0.1, -0.2), 1e-3, 2500);
  }
}

TEST_CASE("heights on latitude and longitude are measured on the ellipsoid") {
  MadePlan made;
  constexpr double by_col = 3, by_row = -2, lon = -97.8, lat = 38, step = 0.0003;
  MadeFile file = plane(by_col, by_row);
  file.crs = "EPSG:4326";
  file.gt = {lon, step, 0, lat, 0, -step};
  made.measure("elevation", file);
  made.plan.grid.cell_m = 30;
  const Layers layers = made.open({"slope", "aspect", "heat"});
  const Window extent = layers.extent();
  // Lengths of the middle cell from GeographicLib's geodesics (Karney 2013).
  const Point middle{lon + 30 * step, lat - 30 * step};
  const double wide = geodesic(middle, {middle.x + step, middle.y}).metres;
  const double high = geodesic(middle, {middle.x, middle.y - step}).metres;
  const double slope = slope_deg(by_col / wide, -by_row / high);
  const double aspect = aspect_deg(by_col / wide, -by_row / high);
  // Over the file's 2 km cells narrow southwards by 0.02 %.
  check_all(cells_of(layers.infos()[0], tile_of(layers, 0, extent)), slope, 2e-3, 2000);
  check_all(cells_of(layers.infos()[1], tile_of(layers, 1, extent)), aspect, 1e-2, 2000);
  check_all(cells_of(layers.infos()[2], tile_of(layers, 2, extent)),
            heat_by_equation(middle.y, slope, aspect), 1e-4, 2000);
}

TEST_CASE("slope of a file in another zone is taken on its own cells and then warped") {
  MadePlan made;
  MadeFile base = plane(0, 0);
  base.cols = base.rows = 200;
  made.measure("base", base);
  MadeFile file = ground(10);
  file.crs = "EPSG:26915";
  file.gt = {73000, 10, 0, 4210500, 0, -10};
  made.measure("elevation", file);
  made.plan.grid.cell_m = 10;
  const Window window{60020, -420000, 150, 150};
  const Layers layers = made.open({"slope", "aspect"});
  const Dataset elevation = open_file(made.file("elevation"));
  const Difference slope =
      difference(cells_of(layers.infos()[0], tile_of(layers, 0, window)),
                 warped_by_gdal(*terrain_by_gdal(*elevation, "slope"), "bilinear", layers.grid(), window));
  CHECK(slope.compared > 10'000);
  CHECK(slope.only_one == 0);
  CHECK(slope.largest < 1e-3);
  // The mean of 350 and 10 degrees is not 180: an aspect is one cell's.
  const std::vector<float> aspect = cells_of(layers.infos()[1], tile_of(layers, 1, window));
  const std::vector<float> gdals =
      warped_by_gdal(*terrain_by_gdal(*elevation, "aspect"), "near", layers.grid(), window);
  int differ = 0;
  for (std::size_t i = 0; i < aspect.size(); ++i)
    if (std::isnan(aspect[i]) != std::isnan(gdals[i]) ||
        (!std::isnan(aspect[i]) && turn_between(double(aspect[i]), double(gdals[i])) > 1e-2))
      ++differ;
  CHECK(differ == 0);
}

TEST_CASE("a plan's own layer of that name goes before what elevation gives") {
  MadePlan made;
  made.measure("elevation", plane(10, 0));
  made.measure("slope", plane(0, 0)).unit = "degrees";
  CHECK_FALSE(made.open({"slope"}).infos()[0].derived);
  check_all(made.read("slope", {60000, -420000, 60, 60}), 300, 1e-9, 3600);
}

}  // namespace terrain_reader_test
