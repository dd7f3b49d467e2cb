// Cells without data: declared, masked, not finite, and bytes of files that declare none.
#include <cmath>
#include <limits>

#include "made_layers.hpp"
#include "swardline/base/error.hpp"

namespace no_data_test {

using namespace grid_test;
using namespace swardline;

namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();
constexpr double not_a_number = std::numeric_limits<double>::quiet_NaN();
constexpr float none = std::numeric_limits<float>::quiet_NaN();
constexpr int first_col = 60000, first_row = -420000;  // grid cell of a made file's first

/// A row of cells with these values.
MadeFile row_of(const std::vector<double>& values, GDALDataType type) {
  MadeFile file;
  file.value = [values](int col, int) { return values.at(std::size_t(col)); };
  file.cols = int(values.size());
  file.rows = 1;
  file.type = type;
  return file;
}

std::vector<float> read_row(MadePlan& made, const std::string& layer = "moisture") {
  return made.read(layer, {first_col, first_row, made.open({layer}).infos().at(0).extent.cols, 1});
}

/// The message of the error that reading gives.
std::string error_of(MadePlan& made, const std::string& layer) {
  try {
    read_row(made, layer);
  } catch (const InputError& error) {
    return error.what();
  }
  return "no error";
}

}  // namespace

TEST_CASE("the declared value is no data in every cell type") {
  for (const GDALDataType type :
       {GDT_Byte, GDT_Int16, GDT_UInt16, GDT_Int32, GDT_UInt32, GDT_Float32, GDT_Float64}) {
    CAPTURE(std::string(GDALGetDataTypeName(type)));
    MadePlan made;
    MadeFile file = row_of({7, 0, 100, 99, 7}, type);
    file.none = 7;
    made.measure("moisture", file);
    CHECK(differing(read_row(made), {none, 0, 100, 99, none}) == 0);
    CHECK(made.open().infos()[0].bytes == (type == GDT_Byte));
  }
}

TEST_CASE("a declared value that single precision rounds is still no data") {
  MadePlan made;
  MadeFile whole = row_of({2147483647, 5}, GDT_Int32);
  whole.none = 2147483647;
  made.measure("moisture", whole);
  CHECK(differing(read_row(made), {none, 5}) == 0);
  MadeFile real = row_of({-1.7976931348623157e308, 5, 0.1}, GDT_Float64);
  real.none = -1.7976931348623157e308;
  made.measure("canopy", real);
  CHECK(differing(read_row(made, "canopy"), {none, 5, 0.1F}) == 0);
  MadeFile tenth = row_of({0.1, 5}, GDT_Float64);
  tenth.none = 0.1;
  made.measure("litter", tenth);
  CHECK(differing(read_row(made, "litter"), {none, 5}) == 0);
}

TEST_CASE("cells that are not finite are no data, declared or not") {
  for (const GDALDataType type : {GDT_Float32, GDT_Float64})
    for (const double declared : {not_a_number, -9999.0, 0.0}) {
      MadePlan made;
      MadeFile file = row_of({not_a_number, infinite, -infinite, -9999, 3}, type);
      if (declared != 0) file.none = declared;
      made.measure("moisture", file);
      CHECK(differing(read_row(made), {none, none, none, declared == -9999 ? none : -9999.0F, 3}) == 0);
    }
}

TEST_CASE("what single precision cannot hold is no measurement") {
  MadePlan made;
  made.measure("moisture", row_of({1e300, -1e300, 1e30}, GDT_Float64));
  CHECK(differing(read_row(made), {none, none, 1e30F}) == 0);
}

TEST_CASE("cells under a mask are no data, of the file or of its one band") {
  for (const int flags : {GMF_PER_DATASET, 0})
    for (const GDALDataType type : {GDT_Byte, GDT_Float32})
      for (const bool declared : {false, true}) {
        CAPTURE(flags);
        CAPTURE(std::string(GDALGetDataTypeName(type)));
        CAPTURE(declared);
        MadePlan made;
        MadeFile file = row_of({5, 6, 7, 8}, type);
        file.masked_out = [](int col, int) { return col == 1; };
        file.mask_flags = flags;
        if (declared) file.none = 8;
        made.measure("moisture", file).unit = "percent";
        CHECK(differing(read_row(made), {5, none, 7, declared ? none : 8.0F}) == 0);
        CHECK(made.open().infos()[0].bytes == (type == GDT_Byte));
      }
}

TEST_CASE("an alpha band is a mask") {
  MadePlan made;
  MadeFile file = row_of({5, 0, 255, 7}, GDT_Byte);
  file.bands = 2;  // the cells are their own alpha
  file.options = {"ALPHA=YES"};
  made.measure("moisture", file);
  CHECK(differing(read_row(made), {5, none, 255, 7}) == 0);
}

TEST_CASE("signed bytes keep their sign") {
  MadePlan made;
  MadeFile file = row_of({-128, -1, 0, 127, -5}, GDT_Byte);
  // GDAL 3.6 has no signed bytes of its own: the file's cells are written as the bytes they are.
  file.value = [signed_cells = file.value](int col, int row) {
    const double v = signed_cells(col, row);
    return v < 0 ? v + 256 : v;
  };
  file.options = {"PIXELTYPE=SIGNEDBYTE"};
  made.measure("moisture", file);
  CHECK(differing(read_row(made), {-128, -1, 0, 127, -5}) == 0);
  CHECK_FALSE(made.open().infos()[0].bytes);
  file.none = -128;
  made.measure("canopy", file);
  CHECK(differing(read_row(made, "canopy"), {none, -1, 0, 127, -5}) == 0);
  CHECK(made.flags.all().empty());
  file.none = 255;
  made.measure("litter", file);
  CHECK(differing(read_row(made, "litter"), {-128, -1, 0, 127, -5}) == 0);
  REQUIRE(made.flags.all().size() == 1);
  CHECK(made.flags.all()[0].check == "impossible no-data value");
}

TEST_CASE("bytes with a declared value stay bytes, and that value alone is none") {
  MadePlan made;
  MadeFile file = row_of({1, 2, 200}, GDT_Byte);
  file.none = 200;
  made.measure("moisture", file);
  const Layers layers = made.open();
  const LayerInfo& info = layers.infos()[0];
  REQUIRE(info.bytes);
  for (int raw = 0; raw < 256; ++raw) CHECK(info.byte_none[std::size_t(raw)] == (raw == 200));
  // Beyond the file too.
  const LayerTile tile = tile_of(layers, 0, {first_col + 1, first_row - 1, 3, 2});
  CHECK(tile.values.empty());
  CHECK(tile.bytes == std::vector<std::uint8_t>{200, 200, 200, 2, 200, 200});
}

TEST_CASE("bytes that declare nothing borrow a value that would be an error anyway") {
  MadePlan made;
  made.classes("cover", row_of({1, 2, 255}, GDT_Byte), {1, 2, 249, 255});
  made.measure("moisture", row_of({0, 50, 100}, GDT_Byte)).unit = "percent";
  MadeFile doubled = row_of({0, 50, 200}, GDT_Byte);
  doubled.own_scale = 0.5;
  made.measure("litter", doubled).unit = "percent";
  made.measure("shade", row_of({0, 50, 100}, GDT_Byte)).unit = "fraction";
  made.plan.layers.back().scale = 0.01;
  const Layers layers = made.open();
  for (const LayerInfo& info : layers.infos()) {
    CAPTURE(info.name);
    REQUIRE(info.bytes);
    int borrowed = -1, count = 0;
    for (int raw = 0; raw < 256; ++raw)
      if (info.byte_none[std::size_t(raw)]) {
        borrowed = raw;
        ++count;
      }
    CHECK(count == 1);
    if (info.kind == LayerKind::classes)
      CHECK_FALSE(info.classes.contains(borrowed));
    else
      CHECK(info.value(borrowed) > (info.unit == "percent" ? 100 : 1));
  }
  CHECK(differing(read_row(made, "cover"), {1, 2, 255}) == 0);
  CHECK(differing(read_row(made, "moisture"), {0, 50, 100}) == 0);
  CHECK(differing(read_row(made, "litter"), {0, 50, 200}) == 0);
}

TEST_CASE("bytes that can mean anything are read as numbers") {
  MadePlan made;
  MadeFile all;
  all.value = [](int col, int) { return col; };
  all.type = GDT_Byte;
  all.cols = 256;
  all.rows = 1;
  made.measure("warmth", all).unit = "index";
  made.measure("litter", all).unit = "percent";
  made.plan.layers.back().scale = 0.3;  // 255 would be 76.5 percent
  std::vector<int> every;
  for (int i = 0; i < 256; ++i) every.push_back(i);
  made.classes("cover", all, every);
  for (const std::string layer : {"warmth", "litter", "cover"}) {
    CAPTURE(layer);
    const std::vector<float> cells = read_row(made, layer);
    CHECK_FALSE(made.open({layer}).infos()[0].bytes);
    for (std::size_t i = 0; i < 256; ++i) CHECK(cells[i] == float(i));
  }
}

TEST_CASE("the borrowed value met in a file is an error that names the cell") {
  const auto borrowed = [](MadePlan& made) {
    const Layers layers = made.open();
    for (int raw = 0; raw < 256; ++raw)
      if (layers.infos()[0].byte_none[std::size_t(raw)]) return raw;
    return -1;
  };
  SUBCASE("classes") {
    MadePlan made;
    made.classes("cover", row_of({1, 2, 3}, GDT_Byte), {1, 2, 3});
    const double spare = borrowed(made);
    write(made.file("cover"), row_of({1, 2, spare}, GDT_Byte));
    const std::string error = error_of(made, "cover");
    CHECK(error.find("plan.toml:10: ") == 0);
    // The third cell's centre: 25 m east and 5 m south of the corner.
    CHECK_MESSAGE(error.find("is in no legend") != std::string::npos, error);
    CHECK_MESSAGE(error.find("met at 600025 4199995") != std::string::npos, error);
  }
  SUBCASE("percent") {
    MadePlan made;
    made.measure("moisture", row_of({1, 2, 3}, GDT_Byte)).unit = "percent";
    const double spare = borrowed(made);
    write(made.file("moisture"), row_of({1, spare, 3}, GDT_Byte));
    const std::string error = error_of(made, "moisture");
    CHECK_MESSAGE(error.find("met at 600015 4199995") != std::string::npos, error);
    CHECK_MESSAGE(error.find("declare it as no data") != std::string::npos, error);
  }
  SUBCASE("under a mask it is no data") {
    MadePlan made;
    made.classes("cover", row_of({1, 2, 3}, GDT_Byte), {1, 2, 3});
    const double spare = borrowed(made);
    MadeFile masked = row_of({1, spare, 3}, GDT_Byte);
    masked.masked_out = [](int col, int) { return col == 1; };
    write(made.file("cover"), masked);
    CHECK(differing(read_row(made, "cover"), {1, none, 3}) == 0);
    write(made.file("cover"), row_of({1, spare, 3}, GDT_Byte));
    CHECK(error_of(made, "cover").find("met at 600015") != std::string::npos);
  }
  SUBCASE("in a warped file") {
    MadePlan made;
    made.classes("cover", row_of({1, 2, 3}, GDT_Byte), {1, 2, 3});
    const double spare = borrowed(made);
    MadeFile off = row_of({1, 2, spare}, GDT_Byte);
    off.gt[0] += 4;
    made.measure("elevation", row_of({1, 2, 3}, GDT_Float32));
    write(made.file("cover"), off);
    std::swap(made.plan.layers[0], made.plan.layers[1]);  // elevation's cells are the grid's
    REQUIRE(made.open({"cover"}).infos()[0].warped);
    CHECK(error_of(made, "cover").find("met at 600029 4199995") != std::string::npos);
  }
}

}  // namespace no_data_test
