// What is found when a layer's file is looked at.
#include <cmath>
#include <fstream>
#include <limits>

#include "made_layers.hpp"

namespace findings_test {

using namespace grid_test;
using namespace swardline;

namespace {

MadeFile bytes(GDALDataType type = GDT_Byte) {
  MadeFile file;
  file.type = type;
  file.value = [](int col, int) { return col % 3; };
  return file;
}

/// One finding, of this severity and check, at the layer's place in the plan; it holds the piece.
void check_found(MadePlan& made, Severity severity, const char* check, const char* piece) {
  const Layers layers = made.open();
  const auto& found = made.flags.all();
  REQUIRE(found.size() == 1);
  CHECK(found[0].severity == severity);
  CHECK(found[0].check == check);
  CHECK(found[0].place.text() == "plan.toml:10");
  CHECK_MESSAGE((found[0].meaning + ' ' + found[0].remedy).find(piece) != std::string::npos,
                found[0].meaning);
  CHECK(layers.infos().size() == (severity == Severity::stop ? 0 : 1));
}

}  // namespace

TEST_CASE("a sound layer is no finding") {
  MadePlan made;
  made.measure("moisture", bytes());
  made.open();
  CHECK(made.flags.all().empty());
}

TEST_CASE("a raster without a coordinate system stops, and is taken where the plan says which") {
  MadePlan made;
  MadeFile file = bytes();
  file.crs = "";
  made.measure("moisture", file);
  check_found(made, Severity::stop, "no coordinate system", "moisture has no coordinate system");
  made.plan.layers[0].crs = "EPSG:26914";
  const Layers layers = made.open();
  CHECK(made.flags.all().empty());
  CHECK_FALSE(layers.infos().at(0).warped);
}

TEST_CASE("a drawing's own plane is no coordinate system") {
  MadePlan made;
  MadeFile file = bytes();
  file.crs = "LOCAL_CS[\"drawing\",UNIT[\"metre\",1]]";
  made.measure("moisture", file);
  check_found(made, Severity::stop, "no coordinate system", "Nothing was guessed");
}

TEST_CASE("a system declared again stops where it is another one") {
  MadePlan made;
  made.measure("moisture", bytes()).crs = "EPSG:26914";
  made.open();
  CHECK(made.flags.all().empty());
  made.plan.layers[0].crs = "EPSG:26714";
  check_found(made, Severity::stop, "coordinate system declared twice", "NAD27 / UTM zone 14N");
}

TEST_CASE("a system that cannot be read stops") {
  MadePlan made;
  MadeFile file = bytes();
  file.crs = "";
  made.measure("moisture", file).crs = "EPSG:1";
  check_found(made, Severity::stop, "coordinate system not understood", "EPSG:26914");
}

TEST_CASE("files that cannot be opened and bands that are not there stop") {
  MadePlan made;
  MadeFile file = bytes();
  file.bands = 3;
  made.measure("moisture", file).band = 3;
  made.open();
  CHECK(made.flags.all().empty());
  for (const int band : {4, 0, -1}) {
    made.plan.layers[0].band = band;
    check_found(made, Severity::stop, "no such band", "the file has 3 bands, not band");
  }
  made.plan.layers[0].source = made.file("no-such-file");
  check_found(made, Severity::stop, "file cannot be opened", "no-such-file.tif cannot be opened");
  std::ofstream(made.file("moisture")) << "not a raster";
  made.plan.layers[0].source = made.file("moisture");
  check_found(made, Severity::stop, "file cannot be opened", "moisture.tif cannot be opened");
}

TEST_CASE("a raster that does not say where it lies stops") {
  MadePlan made;
  MadeFile file = bytes();
  file.placed = false;
  made.measure("moisture", file);
  check_found(made, Severity::stop, "no position", "does not say where its cells lie");
}

TEST_CASE("classes on decimals stop, on whole numbers of any size they do not") {
  for (const GDALDataType type : {GDT_Float32, GDT_Float64}) {
    MadePlan made;
    made.classes("cover", bytes(type), {0, 1, 2});
    check_found(made, Severity::stop, "classes on decimals", "holds decimal numbers");
  }
  for (const GDALDataType type : {GDT_Byte, GDT_Int16, GDT_UInt16, GDT_Int32, GDT_UInt32}) {
    MadePlan made;
    made.classes("cover", bytes(type), {0, 1, 2});
    made.open();
    CHECK(made.flags.all().empty());
  }
}

TEST_CASE("class numbers that single precision cannot tell apart stop") {
  MadePlan made;
  made.classes("cover", bytes(GDT_Int32), {0, 16'777'215});
  made.open();
  CHECK(made.flags.all().empty());
  made.plan.layers[0].classes[16'777'216] = "BIG";
  check_found(made, Severity::stop, "class number too large", "class 16777216 (BIG)");
}

TEST_CASE("a no-data value that the cells cannot hold is said and ignored") {
  struct Case {
    GDALDataType type;
    double none;
    bool possible;
  };
  constexpr double nan = std::numeric_limits<double>::quiet_NaN();
  for (const Case& one : {Case{GDT_Byte, 255, true}, Case{GDT_Byte, 0, true}, Case{GDT_Byte, -9999, false},
                          Case{GDT_Byte, 256, false}, Case{GDT_Byte, 1.5, false}, Case{GDT_Byte, nan, false},
                          Case{GDT_Int16, -32768, true}, Case{GDT_Int16, 65535, false},
                          Case{GDT_UInt16, 65535, true}, Case{GDT_Float32, -9999, true},
                          Case{GDT_Float32, nan, true}, Case{GDT_Float32, -3.4028234663852886e38, true}}) {
    CAPTURE(std::string(GDALGetDataTypeName(one.type)));
    CAPTURE(one.none);
    MadePlan made;
    MadeFile file = bytes(one.type);
    file.none = one.none;
    made.measure("moisture", file);
    if (one.possible) {
      made.open();
      CHECK(made.flags.all().empty());
    } else {
      check_found(made, Severity::note, "impossible no-data value", "which its cells cannot hold: ignored");
    }
  }
}

TEST_CASE("a class that the raster calls no data is asked about") {
  MadePlan made;
  MadeFile file = bytes();
  file.none = 2;
  made.classes("cover", file, {0, 1, 2});
  check_found(made, Severity::ask, "class is no data", "declares 2 as no data, and the plan calls it C2");
  made.plan.layers[0].classes.erase(2);
  made.open();
  CHECK(made.flags.all().empty());
}

TEST_CASE("a layer on the far side of the world stops") {
  MadePlan made;
  MadeFile file = bytes();
  file.crs = "EPSG:4326";
  // On the equator 90 degrees from zone 14's middle, where its projection has no place.
  file.gt = {-9.2, 0.01, 0, 0.15, 0, -0.01};
  made.measure("moisture", file);
  check_found(made, Severity::stop, "outside the plan's coordinate system", "Cut out the part");
}

TEST_CASE("one layer's finding does not hide another layer") {
  MadePlan made;
  MadeFile file = bytes();
  file.crs = "";
  made.measure("moisture", file);
  made.measure("canopy", bytes());
  const Layers layers = made.open();
  CHECK(made.flags.all().size() == 1);
  REQUIRE(layers.infos().size() == 1);
  CHECK(layers.infos()[0].name == "canopy");
  CHECK(layers.index("canopy") == 0);
  CHECK_FALSE(layers.index("moisture"));
}

}  // namespace findings_test
