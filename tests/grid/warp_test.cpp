// Layers of another system, cell size or alignment, against PROJ cell by cell and GDAL's own warper.
#include <fmt/format.h>
#include <ogr_spatialref.h>

#include <cmath>
#include <limits>

#include "made_layers.hpp"

namespace warp_test {

using namespace grid_test;
using namespace swardline;

namespace {

constexpr float none = std::numeric_limits<float>::quiet_NaN();
const Window area{60010, -420010, 270, 280};  // over four blocks

/// A layer whose cells are the grid's.
void base(MadePlan& made) {
  MadeFile file;
  file.value = [](int, int) { return 1; };
  file.type = GDT_Byte;
  made.measure("base", file);
}

/// Files that cover most of `area`, and their way from the plan's system by GDAL, or by the route that is
/// said where the datum changes (which way is best then depends on the grids installed).
struct Elsewhere {
  std::string crs;
  std::array<double, 6> gt;
};
const std::vector<Elsewhere> elsewhere = {
    {"EPSG:26915", {72900, 12, 0, 4210500, 0, -12}},
    {"EPSG:4269", {-97.861, 0.00012, 0, 37.9455, 0, -0.0001}},
    {"EPSG:26714", {600090, 11, 0, 4199850, 0, -11}},
    {"EPSG:26914", {600104, 10, 0, 4200097, 0, -10}},
    {"EPSG:26914", {600300.37, 8.1, 5, 4199500.53, 5, -8.1}},
    {"EPSG:26914", {600104, 10, 0, 4197600, 0, 10}},
};

/// The centres of the area's cells in the file's own cells.
std::vector<Point> looked_up(const Grid& grid, const MadeFile& file) {
  OGRSpatialReference own, plan;
  own.SetFromUserInput(file.crs.c_str());
  plan.importFromEPSG(26914);
  own.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
  const std::unique_ptr<OGRCoordinateTransformation> way(OGRCreateCoordinateTransformation(&plan, &own));
  const auto [x, wide, a, y, b, high] = file.gt;
  const Route route(Crs::from_text(file.crs), Crs::from_text("EPSG:26914"),
                    Box{x, y + high * file.rows, x + wide * file.cols, y});
  const bool datum_changes = file.crs == "EPSG:26714";
  std::array<double, 6> gt = file.gt, inverse{};
  REQUIRE(GDALInvGeoTransform(gt.data(), inverse.data()) != 0);
  std::vector<Point> out;
  for (int r = 0; r < area.rows; ++r)
    for (int c = 0; c < area.cols; ++c) {
      Point p = grid.centre(area.col + c, area.row + r);
      if (datum_changes)
        p = route.back(p);
      else if (!way->Transform(1, &p.x, &p.y))
        FAIL("no way");
      out.push_back({inverse[0] + p.x * inverse[1] + p.y * inverse[2],
                     inverse[3] + p.x * inverse[4] + p.y * inverse[5]});
    }
  return out;
}

}  // namespace

TEST_CASE("classes of another system are those of the file's cell under the centre") {
  for (const Elsewhere& one : elsewhere)
    for (const GDALDataType type : {GDT_Byte, GDT_Int16}) {
      CAPTURE(one.crs);
      CAPTURE(std::string(GDALGetDataTypeName(type)));
      MadePlan made;
      base(made);
      MadeFile file;
      file.crs = one.crs;
      file.gt = one.gt;
      file.cols = file.rows = 240;
      file.type = type;
      file.none = 0;
      file.value = [](int col, int row) { return number(6, col, row, 6); };
      made.classes("cover", file, {1, 2, 3, 4, 5});
      made.plan.grid.cell_m = 10;
      const std::vector<float> cells = made.read("cover", area);
      REQUIRE(made.open({"cover"}).infos()[0].warped);
      const std::vector<Point> there = looked_up(made.open().grid(), file);
      std::vector<float> expected;
      int with_data = 0;
      for (const Point& p : there) {
        const double col = std::floor(p.x), row = std::floor(p.y);
        const bool inside = col >= 0 && row >= 0 && col < file.cols && row < file.rows;
        const int value = inside ? number(6, int(col), int(row), 6) : 0;
        expected.push_back(value == 0 ? none : float(value));
        with_data += value == 0 ? 0 : 1;
      }
      CHECK(with_data > 30'000);
      // A centre on the very edge of two cells may go to either.
      CHECK(differing(cells, expected) == 0);
    }
}

TEST_CASE("measures warped are GDAL's own warper's") {
  struct Way {
    std::string how;
    double finer = 1;
    int more = 0;  // cells on every side, so that whole blocks lie inside
  };
  for (const Elsewhere& one : elsewhere)
    for (const Way& way : {Way{"bilinear"}, Way{"bilinear", 1, 130}, Way{"average", 4}}) {
      if (one.crs == "EPSG:26714") continue;  // GDAL chooses a way for each point
      CAPTURE(one.crs);
      CAPTURE(way.how);
      MadePlan made;
      base(made);
      MadeFile file;
      file.crs = one.crs;
      file.gt = one.gt;
      for (const std::size_t i : {1U, 2U, 4U, 5U}) file.gt[i] /= way.finer;
      file.gt[0] -= way.more * (file.gt[1] + file.gt[2]);
      file.gt[3] -= way.more * (file.gt[4] + file.gt[5]);
      file.cols = file.rows = int(240 * way.finer) + 2 * way.more;
      file.none = -9999;
      file.value = [](int col, int row) {
        return number(7, col, row, 400) == 0 ? -9999 : hills(12.0 * col, 12.0 * row);
      };
      made.measure("moisture", file);
      made.plan.grid.cell_m = 10;
      std::vector<float> cells = made.read("moisture", area);
      const Layers layers = made.open({"moisture"});
      REQUIRE(layers.infos()[0].how.find(way.how) != std::string::npos);
      const Dataset source = open_file(made.file("moisture"));
      std::vector<float> gdals = warped_by_gdal(*source, way.how.c_str(), layers.grid(), area);
      if (way.how == "average") {
        // Where a cell reaches over the file's edge GDAL weighs the outermost cells too much.
        const std::vector<Point> there = looked_up(layers.grid(), file);
        for (std::size_t i = 0; i < cells.size(); ++i)
          if (std::min({there[i].x, there[i].y, file.cols - there[i].x, file.rows - there[i].y}) < 8)
            cells[i] = gdals[i] = none;
      }
      const Difference off = difference(cells, gdals);
      CHECK(off.compared > 30'000);
      CHECK(off.only_one == 0);
      CHECK(off.largest < 1e-3);
    }
}

TEST_CASE("halfway between four cells bilinear is their mean, and without data the mean of the others") {
  MadePlan made;
  base(made);
  MadeFile file;
  file.gt = {west + 5, 10, 0, north + 5, 0, -10};
  file.none = -1;
  file.value = [](int col, int row) { return col == 7 && row == 9 ? -1 : number(8, col, row, 1000); };
  made.measure("moisture", file);
  const Window window{60000, -420000, 40, 29};
  const std::vector<float> cells = made.read("moisture", window);
  double worst = 0;
  for (int r = 0; r < 29; ++r)
    for (int c = 1; c < 40; ++c) {
      double sum = 0, count = 0;
      for (const int col : {c - 1, c})
        for (const int row : {r, r + 1})
          if (const double v = file.value(col, row); v >= 0) {
            sum += v;
            count += 1;
          }
      worst = std::max(worst, std::abs(double(cells[std::size_t(r * 40 + c)]) - sum / count));
    }
  CHECK(worst < 1e-3);
}

TEST_CASE("a centre on the edge of two cells goes to the same side everywhere") {
  for (const double cell : {10.0, 2.5, 0.3}) {
    CAPTURE(cell);
    MadePlan made;
    MadeFile file;
    file.gt = {600003.7, cell, 0, 4200006.3, 0, -cell};
    file.type = GDT_Byte;
    file.cols = file.rows = 250;
    file.value = [](int, int) { return 1; };
    made.measure("base", file);
    file.gt[0] += cell / 2;
    file.gt[3] -= cell / 2;
    file.value = [](int col, int row) { return number(13, col, row, 6); };
    made.classes("cover", file, {0, 1, 2, 3, 4, 5});
    const Grid grid = made.open().grid();
    const std::vector<float> cells = made.read(
        "cover", {grid.col_of(600003.7 + 1.5 * cell), grid.row_of(4200006.3 - 1.5 * cell), 240, 240});
    std::vector<float> expected;
    for (int r = 0; r < 240; ++r)
      for (int c = 0; c < 240; ++c) expected.push_back(float(file.value(c + 1, r + 1)));
    CHECK(differing(cells, expected) == 0);
  }
}

TEST_CASE("a wide layer's curved edge is no different in a small window") {
  MadePlan made;
  base(made);
  MadeFile file;
  file.crs = "EPSG:4269";
  file.gt = {-109.9375, 1, 0, 39, 0, -1};  // 20 degrees wide: its south side is an arc in zone 14
  file.cols = 20;
  file.rows = 2;
  file.type = GDT_Byte;
  file.none = 255;
  file.value = [](int col, int) { return col; };
  made.classes("region", file, {0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19});
  const Layers layers = made.open({"region"});
  const Grid& grid = layers.grid();
  // The southernmost point of the parallel 37 N is on the zone's central meridian, 99 W.
  OGRSpatialReference own, plan;
  own.importFromEPSG(4269);
  own.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
  plan.importFromEPSG(26914);
  const std::unique_ptr<OGRCoordinateTransformation> way(OGRCreateCoordinateTransformation(&own, &plan));
  double x = -99, y = 37;
  REQUIRE(way->Transform(1, &x, &y));
  const std::int64_t col = grid.col_of(x), last = grid.row_of(y + 5);
  const std::vector<float> tall = cells_of(layers.infos()[0], tile_of(layers, 0, {col, last - 99, 1, 101}));
  for (int r = 0; r <= 100; ++r) CHECK(std::isnan(tall[std::size_t(r)]) == (r > 99));
  // Whoever looks for the arc's lowest point between 33 points along the side is 45 m short.
  for (int r = 92; r <= 100; ++r) {
    CAPTURE(r);
    CHECK(differing(cells_of(layers.infos()[0], tile_of(layers, 0, {col, last - 99 + r, 1, 1})),
                    {tall[std::size_t(r)]}) == 0);
  }
}

TEST_CASE("longitudes from 0 to 360 are the same ground") {
  MadePlan made;
  base(made);
  MadeFile file;
  file.crs = "EPSG:4269";
  file.gt = {-97.9, 0.01, 0, 38, 0, -0.01};
  file.value = [](int col, int row) { return number(11, col, row, 100); };
  made.measure("rain", file);
  file.gt[0] += 360;
  made.measure("rain_360", file);
  made.plan.grid.cell_m = 100;
  const Window window{6000, -42020, 30, 30};
  const std::vector<float> west_of_0 = made.read("rain", window), east_of_0 = made.read("rain_360", window);
  const Difference off = difference(west_of_0, east_of_0);
  CHECK(off.compared > 500);
  CHECK(off.only_one == 0);
  CHECK(off.largest < 1e-3);
}

}  // namespace warp_test
