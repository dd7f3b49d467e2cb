#include "made_layers.hpp"

#include <cpl_string.h>
#include <fmt/format.h>
#include <gdal_utils.h>
#include <ogr_spatialref.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <limits>

#include "swardline/base/random.hpp"

namespace grid_test {

using namespace swardline;

namespace {

constexpr float none = std::numeric_limits<float>::quiet_NaN();

CPLStringList list_of(const std::vector<std::string>& words) {
  CPLStringList list;
  for (const std::string& word : words) list.AddString(word.c_str());
  return list;
}

void write_mask(GDALDataset& dataset, const MadeFile& file) {
  GDALRasterBand* band = dataset.GetRasterBand(1);
  REQUIRE((file.mask_flags == GMF_PER_DATASET ? dataset.CreateMaskBand(file.mask_flags)
                                              : band->CreateMaskBand(file.mask_flags)) == CE_None);
  std::vector<std::uint8_t> mask;
  for (int r = 0; r < file.rows; ++r)
    for (int c = 0; c < file.cols; ++c) mask.push_back(file.masked_out(c, r) ? 0 : 255);
  REQUIRE(band->GetMaskBand()->RasterIO(GF_Write, 0, 0, file.cols, file.rows, mask.data(), file.cols,
                                        file.rows, GDT_Byte, 0, 0, nullptr) == CE_None);
}

}  // namespace

void write(const std::filesystem::path& path, const MadeFile& file) {
  set_up_gdal();
  const Dataset dataset(GetGDALDriverManager()->GetDriverByName("GTiff")->Create(
      path.c_str(), file.cols, file.rows, file.bands, file.type, list_of(file.options).List()));
  REQUIRE(dataset != nullptr);
  std::array<double, 6> gt = file.gt;
  if (file.placed) dataset->SetGeoTransform(gt.data());
  if (!file.crs.empty()) {
    OGRSpatialReference system;
    REQUIRE(system.SetFromUserInput(file.crs.c_str()) == OGRERR_NONE);
    dataset->SetSpatialRef(&system);
  }
  std::vector<double> values;
  for (int r = 0; r < file.rows; ++r)
    for (int c = 0; c < file.cols; ++c) values.push_back(file.value(c, r));
  for (int b = 1; b <= file.bands; ++b) {
    GDALRasterBand* band = dataset->GetRasterBand(b);
    if (file.none) band->SetNoDataValue(*file.none);
    if (file.own_scale != 1) band->SetScale(file.own_scale);
    if (file.own_offset != 0) band->SetOffset(file.own_offset);
    REQUIRE(band->RasterIO(GF_Write, 0, 0, file.cols, file.rows, values.data(), file.cols, file.rows,
                           GDT_Float64, 0, 0, nullptr) == CE_None);
  }
  if (file.masked_out) write_mask(*dataset, file);
}

int number(std::uint64_t seed, int col, int row, int below) {
  return int(RandomKey(seed, "cells").at(std::uint32_t(col), std::uint32_t(row)) % std::uint64_t(below));
}

double hills(double east, double north) {
  return 300 + 25 * std::sin(east / 130) + 18 * std::cos(north / 90) + 6 * std::sin((east + north) / 37);
}

MadePlan::MadePlan() {
  static std::atomic<int> made{0};
  plan.folder =
      std::filesystem::temp_directory_path() / fmt::format("swardline-grid-{}-{}", ::getpid(), made++);
  plan.file = plan.folder / "plan.toml";
  plan.crs = "EPSG:26914";
  std::filesystem::create_directories(plan.folder);
  set_up_gdal();
}

MadePlan::~MadePlan() {
  std::error_code ignored;
  std::filesystem::remove_all(plan.folder, ignored);
}

LayerSpec& MadePlan::measure(const std::string& name, const MadeFile& made) {
  write(file(name), made);
  LayerSpec spec;
  spec.name = name;
  spec.source = file(name);
  spec.place = {"plan.toml", int(plan.layers.size()) + 10, {}};
  plan.layers.push_back(spec);
  return plan.layers.back();
}

LayerSpec& MadePlan::classes(const std::string& name, const MadeFile& made, std::vector<int> values) {
  LayerSpec& spec = measure(name, made);
  for (const int value : values) spec.classes[value] = fmt::format("C{}", value);
  return spec;
}

Layers MadePlan::open(std::vector<std::string> needed) {
  flags = {};
  if (needed.empty())
    for (const LayerSpec& spec : plan.layers) needed.push_back(spec.name);
  return Layers::open(plan, crs, needed, flags);
}

std::vector<float> MadePlan::read(const std::string& layer, const Window& window) {
  const Layers layers = open({layer});
  REQUIRE(layers.infos().size() == 1);
  return cells_of(layers.infos()[0], tile_of(layers, 0, window));
}

LayerTile tile_of(const Layers& layers, std::size_t layer, const Window& window) {
  LayerReader reader(layers, {layer});
  Tile tile;
  reader.read(window, tile);
  return tile.layers.at(0);
}

std::vector<float> cells_of(const LayerInfo& info, const LayerTile& tile) {
  if (!info.bytes) return tile.values;
  std::vector<float> cells;
  for (const std::uint8_t byte : tile.bytes) cells.push_back(info.byte_none[byte] ? none : float(byte));
  return cells;
}

int differing(const std::vector<float>& a, const std::vector<float>& b) {
  REQUIRE(a.size() == b.size());
  int count = 0;
  for (std::size_t i = 0; i < a.size(); ++i)
    if (a[i] != b[i] && !(std::isnan(a[i]) && std::isnan(b[i]))) ++count;
  return count;
}

Difference difference(const std::vector<float>& a, const std::vector<float>& b) {
  REQUIRE(a.size() == b.size());
  Difference out;
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (std::isnan(a[i]) != std::isnan(b[i])) ++out.only_one;
    if (std::isnan(a[i]) || std::isnan(b[i])) continue;
    ++out.compared;
    out.largest = std::max(out.largest, std::abs(double(a[i]) - double(b[i])));
  }
  return out;
}

Dataset open_file(const std::filesystem::path& path) {
  Dataset dataset(GDALDataset::Open(path.c_str(), GDAL_OF_RASTER));
  REQUIRE(dataset != nullptr);
  return dataset;
}

std::vector<float> warped_by_gdal(GDALDataset& source, const char* how, const Grid& grid,
                                  const Window& window) {
  const Box box = grid.box(window);
  const auto text = [](double v) { return fmt::format("{:.9f}", v); };
  CPLStringList arguments = list_of({"-of",
                                     "MEM",
                                     "-ot",
                                     "Float32",
                                     "-r",
                                     how,
                                     "-et",
                                     "0",
                                     "-dstnodata",
                                     "nan",
                                     "-wo",
                                     "XSCALE=1",
                                     "-wo",
                                     "YSCALE=1",
                                     "-t_srs",
                                     "EPSG:26914",
                                     "-te",
                                     text(box.x0),
                                     text(box.y0),
                                     text(box.x1),
                                     text(box.y1),
                                     "-ts",
                                     std::to_string(window.cols),
                                     std::to_string(window.rows)});
  GDALWarpAppOptions* options = GDALWarpAppOptionsNew(arguments.List(), nullptr);
  GDALDatasetH from = GDALDataset::ToHandle(&source);
  const Dataset made(GDALDataset::FromHandle(GDALWarp("", nullptr, 1, &from, options, nullptr)));
  GDALWarpAppOptionsFree(options);
  REQUIRE(made != nullptr);
  return whole(*made);
}

Dataset terrain_by_gdal(GDALDataset& elevation, const char* what, std::vector<std::string> options) {
  options.insert(options.end(), {"-of", "MEM"});
  CPLStringList arguments = list_of(options);
  GDALDEMProcessingOptions* read = GDALDEMProcessingOptionsNew(arguments.List(), nullptr);
  Dataset made(GDALDataset::FromHandle(
      GDALDEMProcessing("", GDALDataset::ToHandle(&elevation), what, nullptr, read, nullptr)));
  GDALDEMProcessingOptionsFree(read);
  REQUIRE(made != nullptr);
  return made;
}

std::vector<float> whole(GDALDataset& dataset) {
  GDALRasterBand* band = dataset.GetRasterBand(1);
  const int cols = dataset.GetRasterXSize(), rows = dataset.GetRasterYSize();
  std::vector<float> values(std::size_t(cols) * std::size_t(rows));
  std::vector<std::uint8_t> mask(values.size());
  REQUIRE(band->RasterIO(GF_Read, 0, 0, cols, rows, values.data(), cols, rows, GDT_Float32, 0, 0, nullptr) ==
          CE_None);
  REQUIRE(band->GetMaskBand()->RasterIO(GF_Read, 0, 0, cols, rows, mask.data(), cols, rows, GDT_Byte, 0, 0,
                                        nullptr) == CE_None);
  for (std::size_t i = 0; i < values.size(); ++i)
    if (mask[i] == 0) values[i] = none;
  return values;
}

}  // namespace grid_test
