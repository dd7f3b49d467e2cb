#include "writer.hpp"

#include <cpl_error.h>
#include <fmt/format.h>
#include <gdal_priv.h>
#include <ogr_spatialref.h>

#include <algorithm>
#include <array>
#include <memory>
#include <utility>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/base/workers.hpp"
#include "vector_file.hpp"

namespace swardline::landscape {
namespace {

constexpr int kTile = 256;

struct ClassLook {
  const char* code;
  const char* words;
  std::array<short, 3> colour;
};

const std::vector<ClassLook>& cover_looks() {
  static const std::vector<ClassLook> looks = {{"OW", "water", {62, 108, 140}},
                                               {"WW", "bottomland woods", {38, 84, 72}},
                                               {"WM", "wet meadow", {120, 168, 130}},
                                               {"MP", "moist prairie", {170, 186, 96}},
                                               {"DP", "dry or sand prairie", {222, 206, 142}},
                                               {"GL", "glade", {196, 150, 120}},
                                               {"WD", "open woods", {112, 136, 74}},
                                               {"CF", "closed forest", {52, 88, 46}},
                                               {"OF", "old field or pasture", {202, 196, 120}},
                                               {"RD", "road verge", {96, 92, 92}},
                                               {"CR", "crop", {232, 222, 190}},
                                               {"DV", "built", {150, 74, 74}}};
  return looks;
}

const std::vector<ClassLook>& bedrock_looks() {
  static const std::vector<ClassLook> looks = {{"DOL", "dolomite or limestone", {150, 166, 186}},
                                               {"SST", "sandstone or shale", {204, 158, 108}},
                                               {"CHT", "chert", {170, 118, 118}},
                                               {"SND", "deep sand", {238, 224, 160}},
                                               {"ALL", "alluvium", {140, 176, 150}},
                                               {"LOE", "loess", {214, 196, 150}}};
  return looks;
}

struct LayerLook {
  std::string name;
  GDALDataType type;
  double none;
  const char* unit;
  const char* words;
  const std::vector<ClassLook>* classes;
  const char* predictor;
};

const std::vector<LayerLook>& looks() {
  static const std::vector<LayerLook> all = {
      {"cover", GDT_Byte, 0, "", "land cover class", &cover_looks(), "1"},
      {"moisture", GDT_Byte, kNoMoisture, "percent", "soil moisture by volume, April to June mean", nullptr,
       "2"},
      {"elevation", GDT_Float32, -9999, "m", "ground height", nullptr, "3"},
      {"canopy", GDT_Byte, 255, "percent", "canopy cover", nullptr, "2"},
      {"bedrock", GDT_Byte, 0, "", "bedrock or deep soil class", &bedrock_looks(), "1"},
      {"water_distance", GDT_UInt16, 65535, "m",
       "distance to the nearest river, creek or pond, 3000 and beyond alike", nullptr, "2"}};
  return all;
}

const void* cells_of(const LandTile& tile, std::size_t layer) {
  switch (layer) {
    case 0:
      return tile.cover.data();
    case 1:
      return tile.moisture.data();
    case 2:
      return tile.elevation.data();
    case 3:
      return tile.canopy.data();
    case 4:
      return tile.bedrock.data();
    default:
      return tile.water.data();
  }
}

std::size_t layer_number(const std::string& name) {
  const auto& names = layer_names();
  const auto at = std::find(names.begin(), names.end(), name);
  if (at != names.end()) return static_cast<std::size_t>(at - names.begin());
  const std::string close = nearest_word(name, names);
  throw InputError(Place{"--layers", 0, name}, "there is no such layer.",
                   close.empty() ? fmt::format("Layers are {}.", in_words(names))
                                 : fmt::format("Did you mean '{}'?", close));
}

OGRSpatialReference system_of(const std::string& crs) {
  OGRSpatialReference system;
  if (system.SetFromUserInput(crs.c_str()) != OGRERR_NONE || !system.IsProjected() ||
      system.GetLinearUnits() != 1) {
    throw InputError(Place{"--crs", 0, crs}, "is not a projected coordinate system.",
                     "Give one in metres, such as EPSG:26914.");
  }
  return system;
}

// Class codes also go into the TIFF's own metadata; GDAL keeps category names beside the file.
void describe_classes(GDALRasterBand& band, const std::vector<ClassLook>& classes) {
  GDALColorTable colours;
  char** names = CSLAddString(nullptr, "no data");
  for (std::size_t i = 0; i < classes.size(); ++i) {
    const ClassLook& look = classes[i];
    const GDALColorEntry entry{look.colour[0], look.colour[1], look.colour[2], 255};
    colours.SetColorEntry(static_cast<int>(i) + 1, &entry);
    const std::string text = fmt::format("{} {}", look.code, look.words);
    names = CSLAddString(names, text.c_str());
    band.SetMetadataItem(fmt::format("class_{}", i + 1).c_str(), text.c_str());
  }
  band.SetColorTable(&colours);
  band.SetCategoryNames(names);
  CSLDestroy(names);
}

std::string image_words(const WriteJob& job) {
  return job.note.empty() ? std::string("Invented landscape: no such place exists.") : job.note;
}

// One GeoTIFF being written beside its place.
class Output {
 public:
  Output(std::size_t layer, std::filesystem::path path, const View& view, const OGRSpatialReference& system,
         const WriteJob& job)
      : layer_(layer), path_(std::move(path)) {
    const LayerLook& look = looks()[layer];
    GDALDriver* driver = GetGDALDriverManager()->GetDriverByName("GTiff");
    char** options = nullptr;
    for (const char* option : {"TILED=YES", "COMPRESS=DEFLATE", "BIGTIFF=IF_SAFER"}) {
      options = CSLAddString(options, option);
    }
    options = CSLSetNameValue(options, "BLOCKXSIZE", std::to_string(kTile).c_str());
    options = CSLSetNameValue(options, "BLOCKYSIZE", std::to_string(kTile).c_str());
    options = CSLSetNameValue(options, "PREDICTOR", look.predictor);
    options = CSLSetNameValue(options, "ZLEVEL", std::to_string(job.deflate_level).c_str());
    options = CSLSetNameValue(options, "NUM_THREADS", std::to_string(job.threads).c_str());
    CPLErrorReset();
    set_.reset(driver->Create(part_path(path_).c_str(), view.cols, view.rows, 1, look.type, options));
    CSLDestroy(options);
    if (!set_) failed_file(path_, "cannot be made");
    std::array<double, 6> corner = {static_cast<double>(view.west) * view.cell_m,  view.cell_m, 0,
                                    static_cast<double>(view.north) * view.cell_m, 0,           -view.cell_m};
    set_->SetGeoTransform(corner.data());
    set_->SetSpatialRef(&system);
    set_->SetMetadataItem("TIFFTAG_IMAGEDESCRIPTION", image_words(job).c_str());
    GDALRasterBand& band = *set_->GetRasterBand(1);
    band.SetNoDataValue(look.none);
    band.SetDescription(look.words);
    if (*look.unit != '\0') band.SetUnitType(look.unit);
    if (look.classes != nullptr) describe_classes(band, *look.classes);
  }
  ~Output() {
    set_.reset();
    discard_part(path_);
  }
  Output(const Output&) = delete;
  Output& operator=(const Output&) = delete;

  void write(const View& whole, const View& part, const LandTile& tile) {
    const auto col = static_cast<int>(part.west - whole.west);
    const auto row = static_cast<int>(whole.north - part.north);
    void* cells = const_cast<void*>(cells_of(tile, layer_));  // GDAL's call for both ways
    if (set_->GetRasterBand(1)->RasterIO(GF_Write, col, row, part.cols, part.rows, cells, part.cols,
                                         part.rows, looks()[layer_].type, 0, 0, nullptr) != CE_None) {
      failed_file(path_, "cannot be written");
    }
  }

  // GDAL can fail as late as closing without saying so: count its errors and open the file again.
  void finish() {
    CPLErrorReset();
    set_->FlushCache();
    set_.reset();
    if (CPLGetLastErrorType() >= CE_Failure) failed_file(path_, "cannot be written");
    const std::filesystem::path part = part_path(path_);
    if (!std::unique_ptr<GDALDataset>(GDALDataset::Open(part.c_str())))
      failed_file(path_, "does not read back");
    const std::filesystem::path beside = part.string() + ".aux.xml";
    if (std::filesystem::exists(beside)) {
      std::filesystem::rename(beside, path_.string() + ".aux.xml");
    }
    publish(path_);
  }

 private:
  std::size_t layer_;
  std::filesystem::path path_;
  std::unique_ptr<GDALDataset> set_;
};

void write_tiles(const Land& land, const View& view, int threads,
                 std::vector<std::unique_ptr<Output>>& outputs) {
  std::vector<View> parts;
  const std::size_t at_once = static_cast<std::size_t>(std::max(threads, 1)) * 8;
  std::vector<LandTile> tiles(at_once);
  const auto flush = [&] {
    in_runs(parts.size(), threads, [&](int, std::size_t begin, std::size_t end) {
      for (std::size_t i = begin; i < end; ++i) land.make(parts[i], tiles[i]);
    });
    for (auto& output : outputs) {
      for (std::size_t i = 0; i < parts.size(); ++i) output->write(view, parts[i], tiles[i]);
    }
    parts.clear();
  };
  for (int row = 0; row < view.rows; row += kTile) {
    for (int col = 0; col < view.cols; col += kTile) {
      parts.push_back(
          view.part(col, row, std::min(kTile, view.cols - col), std::min(kTile, view.rows - row)));
      if (parts.size() == at_once) flush();
    }
  }
  flush();
}

std::string mosaic(std::size_t layer, const WriteJob& job, const View& block,
                   const OGRSpatialReference& system) {
  const LayerLook& look = looks()[layer];
  char* wkt = nullptr;
  system.exportToWkt(&wkt);
  std::string text = fmt::format(
      "<VRTDataset rasterXSize=\"{}\" rasterYSize=\"{}\">\n"
      "  <Metadata><MDI key=\"remark\">{}</MDI></Metadata>\n  <SRS>{}</SRS>\n"
      "  <GeoTransform>{}, {}, 0, {}, 0, {}</GeoTransform>\n"
      "  <VRTRasterBand dataType=\"{}\" band=\"1\" blockXSize=\"{}\" blockYSize=\"{}\">\n"
      "    <NoDataValue>{}</NoDataValue>\n",
      job.view.cols, job.view.rows, xml_escape(image_words(job)), xml_escape(wkt),
      shortest(static_cast<double>(job.view.west) * job.view.cell_m), shortest(job.view.cell_m),
      shortest(static_cast<double>(job.view.north) * job.view.cell_m), shortest(-job.view.cell_m),
      GDALGetDataTypeName(look.type), kTile, kTile, shortest(look.none));
  CPLFree(wkt);
  for (int row = 0; row < job.view.rows; row += block.rows) {
    for (int col = 0; col < job.view.cols; col += block.cols) {
      const int cols = std::min(block.cols, job.view.cols - col);
      const int rows = std::min(block.rows, job.view.rows - row);
      text += fmt::format(
          "    <SimpleSource><SourceFilename relativeToVRT=\"1\">{0}-block.tif</SourceFilename>"
          "<SourceBand>1</SourceBand>"
          "<SourceProperties RasterXSize=\"{1}\" RasterYSize=\"{2}\" DataType=\"{3}\" BlockXSize=\"{4}\" "
          "BlockYSize=\"{4}\"/>"
          "<SrcRect xOff=\"0\" yOff=\"0\" xSize=\"{5}\" ySize=\"{6}\"/>"
          "<DstRect xOff=\"{7}\" yOff=\"{8}\" xSize=\"{5}\" ySize=\"{6}\"/></SimpleSource>\n",
          look.name, block.cols, block.rows, GDALGetDataTypeName(look.type), kTile, cols, rows, col, row);
    }
  }
  return text + "  </VRTRasterBand>\n</VRTDataset>\n";
}

}  // namespace

const std::vector<std::string>& layer_names() {
  static const std::vector<std::string> names = [] {
    std::vector<std::string> all;
    for (const LayerLook& look : looks()) all.push_back(look.name);
    return all;
  }();
  return names;
}

void write_layers(const Land& land, const WriteJob& job) {
  const OGRSpatialReference system = system_of(job.crs);
  std::vector<std::size_t> wanted;
  for (const std::string& name : job.layers) wanted.push_back(layer_number(name));
  make_folder(job.folder);
  View view = job.view;
  if (job.repeat_block > 0) {
    view.cols = std::min(view.cols, job.repeat_block);
    view.rows = std::min(view.rows, job.repeat_block);
  }
  std::vector<std::unique_ptr<Output>> outputs;
  for (const std::size_t layer : wanted) {
    const std::string file = looks()[layer].name + (job.repeat_block > 0 ? "-block.tif" : ".tif");
    outputs.push_back(std::make_unique<Output>(layer, job.folder / file, view, system, job));
  }
  write_tiles(land, view, job.threads, outputs);
  for (auto& output : outputs) output->finish();
  if (job.repeat_block == 0) return;
  for (const std::size_t layer : wanted) {
    write_whole(job.folder / (looks()[layer].name + ".vrt"), mosaic(layer, job, view, system));
  }
}

}  // namespace swardline::landscape
