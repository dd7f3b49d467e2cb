#include <cpl_conv.h>
#include <cpl_error.h>
#include <cpl_string.h>
#include <gdal.h>
#include <gdal_utils.h>
#include <ogr_srs_api.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/geo/gdal_errors.hpp"
#include "swardline/habitat/band_colours.hpp"
#include "swardline/habitat/map_tile.hpp"
#include "swardline/habitat/score_maps.hpp"
#include "swardline/habitat/score_season.hpp"

namespace swardline {
namespace {

static_assert(map_tile_cells == block_cells);

/// GDAL's list of KEY=VALUE strings.
class Options {
 public:
  Options(std::initializer_list<std::pair<const char*, const char*>> items) {
    for (const auto& [key, value] : items) list_ = CSLSetNameValue(list_, key, value);
  }
  ~Options() { CSLDestroy(list_); }
  Options(const Options&) = delete;
  [[nodiscard]] char** get() const { return list_; }

 private:
  char** list_ = nullptr;
};

/// While it lives, GDAL looks for side files (category names) in this thread, which the library's settings
/// otherwise spare it.
class SideFilesSeen {
 public:
  SideFilesSeen() { CPLSetThreadLocalConfigOption("GDAL_DISABLE_READDIR_ON_OPEN", "FALSE"); }
  ~SideFilesSeen() { CPLSetThreadLocalConfigOption("GDAL_DISABLE_READDIR_ON_OPEN", nullptr); }
  SideFilesSeen(const SideFilesSeen&) = delete;
};

GDALColorEntry mix(const GDALColorEntry& a, const GDALColorEntry& b, double share) {
  const auto between = [share](short x, short y) { return short(std::lround(x + (y - x) * share)); };
  return {between(a.c1, b.c1), between(a.c2, b.c2), between(a.c3, b.c3), 255};
}

GDALColorEntry entry_of(const std::string& colour) {
  const auto part = [&](std::size_t at) { return short(std::stoi(colour.substr(at, 2), nullptr, 16)); };
  return {part(1), part(3), part(5), 255};
}

// Reasons for no score are greys.
constexpr GDALColorEntry excluded_light{150, 150, 150, 255}, excluded_dark{96, 96, 96, 255};
constexpr GDALColorEntry missing_light{222, 222, 222, 255}, missing_dark{190, 190, 190, 255};

void set_colours(GDALRasterBandH band, const MapSpec& spec) {
  GDALColorTableH table = GDALCreateColorTable(GPI_RGB);
  if (spec.kind == MapKind::percent) {
    for (int i = 0; i <= 100; ++i) {
      const GDALColorEntry entry = entry_of(band_fill(band_of(spec.bands, i), spec.bands.size() + 1));
      GDALSetColorEntry(table, i, &entry);
    }
  } else {
    const GDALColorEntry lightest = entry_of(band_fill(0, 2)), darkest = entry_of(band_fill(1, 2));
    std::array<int, 4> all{}, met{};
    for (const HeldDown& category : spec.categories) ++all[std::size_t(category.kind)];
    for (std::size_t i = 0; i < spec.categories.size(); ++i) {
      const auto kind = std::size_t(spec.categories[i].kind);
      const double share = all[kind] > 1 ? double(met[kind]) / (all[kind] - 1) : 0.5;
      ++met[kind];
      GDALColorEntry entry{255, 255, 255, 255};
      if (spec.categories[i].kind == HeldDown::Kind::factor)
        entry = mix(mix(lightest, darkest, 0.2), darkest, share);
      if (spec.categories[i].kind == HeldDown::Kind::excluded)
        entry = mix(excluded_light, excluded_dark, share);
      if (spec.categories[i].kind == HeldDown::Kind::no_score)
        entry = mix(missing_light, missing_dark, share);
      GDALSetColorEntry(table, int(i), &entry);
    }
  }
  GDALSetRasterColorTable(band, table);
  GDALDestroyColorTable(table);
}

std::filesystem::path beside(const std::filesystem::path& path, const char* ending) {
  std::filesystem::path out = path;
  out += ending;
  return out;
}

/// Decodes every `step`th block of the band, and the last.
bool readable(GDALRasterBandH band, std::size_t cell_bytes, int step) {
  int width = 0, height = 0;
  GDALGetBlockSize(band, &width, &height);
  std::vector<std::uint8_t> block(std::size_t(width) * std::size_t(height) * cell_bytes);
  const int across = (GDALGetRasterBandXSize(band) + width - 1) / width;
  const int blocks = across * ((GDALGetRasterBandYSize(band) + height - 1) / height);
  for (int at = 0; at < blocks; at = at < blocks - 1 ? std::min(at + step, blocks - 1) : blocks)
    if (GDALReadBlock(band, at % across, at / across, block.data()) != CE_None) return false;
  return true;
}

void remove_quietly(const std::filesystem::path& path) noexcept {
  std::error_code ignored;
  std::filesystem::remove(path, ignored);
}

}  // namespace

MapFile::MapFile(MapSpec spec) : spec_(std::move(spec)), part_(part_path(spec_.path)) {
  try {
    make();
    tiles_ = std::make_unique<MapTiles>(part_, spec_.path, spec_.kind, spec_.extent);
  } catch (...) {
    discard();
    throw;
  }
}

// Overviews come before the colour table: with one, they would each have it too.
void MapFile::make() {
  const GdalErrors errors;
  remove_quietly(part_);
  remove_quietly(beside(part_, ".aux.xml"));
  GDALDriverH driver = GDALGetDriverByName("GTiff");
  if (driver == nullptr) throw Defect("GDAL has no GTiff driver: set_up_gdal() was not called.");
  const bool floats = spec_.kind == MapKind::score;
  const Options options{{"TILED", "YES"},        {"BLOCKXSIZE", "256"}, {"BLOCKYSIZE", "256"},
                        {"COMPRESS", "DEFLATE"}, {"ZLEVEL", "1"},       {"PREDICTOR", floats ? "3" : "1"},
                        {"BIGTIFF", "IF_SAFER"}, {"SPARSE_OK", "TRUE"}};
  dataset_ = GDALCreate(driver, part_.c_str(), spec_.extent.cols, spec_.extent.rows, 1,
                        floats ? GDT_Float32 : GDT_Byte, options.get());
  if (dataset_ == nullptr) fail("could not be made", errors.first("GDAL gave no reason"));
  const Box box = spec_.grid.box(spec_.extent);
  double transform[6] = {box.x0, spec_.grid.cell_m, 0, box.y1, 0, -spec_.grid.cell_m};
  GDALSetGeoTransform(dataset_, transform);
  OGRSpatialReferenceH system = OSRNewSpatialReference(spec_.wkt.c_str());
  OSRSetAxisMappingStrategy(system, OAMS_TRADITIONAL_GIS_ORDER);
  GDALSetSpatialRef(dataset_, system);
  OSRDestroySpatialReference(system);
  GDALRasterBandH band = GDALGetRasterBand(dataset_, 1);
  GDALSetRasterNoDataValue(band, floats ? std::numeric_limits<double>::quiet_NaN() : double(no_percent));
  for (const auto& [key, value] : spec_.tags)
    GDALSetMetadataItem(dataset_, key.c_str(), value.c_str(), nullptr);
  GDALSetDescription(band, spec_.description.c_str());
  if (spec_.kind == MapKind::percent) GDALSetRasterUnitType(band, "percent");
  for (std::size_t i = 0; i < spec_.categories.size(); ++i)
    GDALSetMetadataItem(band, ("CATEGORY_" + std::to_string(i)).c_str(), spec_.categories[i].text.c_str(),
                        nullptr);
  if (!spec_.categories.empty()) {
    std::vector<char*> names;
    for (HeldDown& category : spec_.categories) names.push_back(category.text.data());
    names.push_back(nullptr);
    GDALSetRasterCategoryNames(band, names.data());
  }
  std::vector<int> levels;
  for (int level = 2; std::max(spec_.extent.cols, spec_.extent.rows) > level / 2 * map_tile_cells; level *= 2)
    levels.push_back(level);
  if (!levels.empty() && GDALBuildOverviews(dataset_, "NONE", int(levels.size()), levels.data(), 0, nullptr,
                                            nullptr, nullptr) != CE_None)
    fail("could not be given overviews", errors.first("GDAL gave no reason"));
  if (!errors.errors().empty()) fail("could not be made", errors.first(""));
  close("could not be made");
}

MapFile::~MapFile() {
  if (!published_) discard();
}

void MapFile::discard() noexcept {
  const GdalErrors errors;  // what an abandoned file has to say interests nobody
  if (dataset_ != nullptr) GDALClose(dataset_);
  dataset_ = nullptr;
  for (const char* ending : {"", ".aux.xml", ".cog", ".cog.aux.xml"}) remove_quietly(beside(part_, ending));
}

void MapFile::fail(const char* doing, const std::string& reason) const {
  throw IoError(
      {spec_.path.string(), 0, {}}, std::string(doing) + ": " + reason + ".",
      "Check that the disk has room and the folder can be written, and run again; what was there before "
      "is unchanged.");
}

void MapFile::abandon() { tiles_->abandon(); }

bool MapFile::write(std::size_t turn, const Window& window, const void* cells) {
  return tiles_->write(turn, window, cells);
}

void MapFile::close(const char* doing) {
  const GdalErrors errors;
  GDALFlushCache(dataset_);
  GDALClose(dataset_);
  dataset_ = nullptr;
  if (!errors.errors().empty()) fail(doing, errors.first(""));
}

void MapFile::finish(bool cog) {
  constexpr int every = 1, some = 61;
  tiles_->finish();
  decorate();
  look_whole();
  if (cog) to_cog();
  read_back(cog ? every : some);
}

void MapFile::decorate() {
  const GdalErrors errors;
  dataset_ = GDALOpen(part_.c_str(), GA_Update);
  if (dataset_ == nullptr) fail("could not be read back", errors.first("GDAL gave no reason"));
  GDALRasterBandH band = GDALGetRasterBand(dataset_, 1);
  MapCounts counts = tiles_->counts();
  if (spec_.kind == MapKind::percent) {
    for (int percent = 0; percent <= 100; ++percent) {
      const std::int64_t cells = counts.percents[std::size_t(percent)];
      if (cells == 0) continue;
      if (counts.scored == 0) counts.least = percent;
      counts.most = percent;
      counts.scored += cells;
      counts.sum += double(cells) * percent;
      counts.squares += double(cells) * percent * percent;
    }
  }
  if (counts.scored > 0) {
    const double mean = counts.sum / double(counts.scored);
    const double spread = std::sqrt(std::max(0.0, counts.squares / double(counts.scored) - mean * mean));
    GDALSetRasterStatistics(band, counts.least, counts.most, mean, spread);
  }
  if (spec_.kind != MapKind::score) set_colours(band, spec_);
  if (!errors.errors().empty()) fail("could not be written", errors.first(""));
  close("could not be written");
}

void MapFile::to_cog() {
  const std::filesystem::path made = beside(part_, ".cog");
  {
    const GdalErrors errors;
    const SideFilesSeen names_too;
    GDALDatasetH source = GDALOpen(part_.c_str(), GA_ReadOnly);
    GDALDriverH driver = GDALGetDriverByName("COG");
    if (source == nullptr || driver == nullptr)
      fail("could not be laid out for the cloud", errors.first("GDAL has no COG driver"));
    const Options options{{"COMPRESS", "DEFLATE"},
                          {"LEVEL", "1"},
                          {"BLOCKSIZE", "256"},
                          {"OVERVIEWS", "AUTO"},
                          {"BIGTIFF", "IF_SAFER"}};
    GDALDatasetH copy = GDALCreateCopy(driver, made.c_str(), source, 0, options.get(), nullptr, nullptr);
    if (copy != nullptr) GDALClose(copy);
    GDALClose(source);
    if (copy == nullptr || !errors.errors().empty())
      fail("could not be laid out for the cloud", errors.first("GDAL gave no reason"));
  }
  std::error_code failed;
  std::filesystem::rename(made, part_, failed);
  if (failed) fail("could not be laid out for the cloud", failed.message());
  const std::filesystem::path side = beside(made, ".aux.xml");
  if (std::filesystem::exists(side, failed)) std::filesystem::rename(side, beside(part_, ".aux.xml"), failed);
}

// Of the tiles every write was checked as it was made, so they need not all be decoded again. What GDAL
// writes after them can go wrong unnoticed on a full disk: the directories must still say where every tile
// lies, and all must lie within the file. What the disk itself refuses later, publish() hears of when it
// flushes.
void MapFile::look_whole() const {
  const TiffTiles there(part_, spec_.path);
  const auto same = [](const TiffTiles::Level& a, const TiffTiles::Level& b) {
    return a.cols == b.cols && a.rows == b.rows && a.offsets == b.offsets && a.lengths == b.lengths;
  };
  if (!there.whole() || !std::equal(there.levels().begin(), there.levels().end(), tiles_->levels().begin(),
                                    tiles_->levels().end(), same))
    fail("could not be read back", "it is not whole");
}

// As other programs will: all that the file says of itself, and every `step`th tile of every level.
void MapFile::read_back(int step) const {
  const GdalErrors errors;
  GDALDatasetH dataset = GDALOpen(part_.c_str(), GA_ReadOnly);
  if (dataset == nullptr) fail("could not be read back", errors.first("GDAL gave no reason"));
  GDALRasterBandH base = GDALGetRasterBand(dataset, 1);
  bool whole =
      GDALGetRasterXSize(dataset) == spec_.extent.cols && GDALGetRasterYSize(dataset) == spec_.extent.rows;
  for (const auto& [key, value] : spec_.tags) {
    const char* tag = GDALGetMetadataItem(dataset, key.c_str(), nullptr);
    whole = whole && tag != nullptr && value == tag;
  }
  const std::size_t cell_bytes = spec_.kind == MapKind::score ? 4 : 1;
  for (int level = -1; level < GDALGetOverviewCount(base); ++level)
    whole = whole && readable(level < 0 ? base : GDALGetOverview(base, level), cell_bytes, step);
  GDALClose(dataset);
  if (!whole || !errors.errors().empty()) fail("could not be read back", errors.first("it is not whole"));
}

bool MapFile::half_published(const std::filesystem::path& path) {
  std::error_code failed;
  return std::filesystem::exists(beside(part_path(path), ".aux.xml"), failed) ||
         std::filesystem::exists(part_path(beside(path, ".aux.xml")), failed);
}

void MapFile::publish() {
  const std::filesystem::path side = beside(spec_.path, ".aux.xml");
  const std::filesystem::path made = beside(part_, ".aux.xml");
  // The side file of the map that goes would speak wrongly of the one that comes.
  remove_quietly(side);
  remove_quietly(part_path(side));
  swardline::publish(spec_.path);
  published_ = true;
  std::error_code failed;
  if (!std::filesystem::exists(made, failed)) return;
  std::filesystem::rename(made, part_path(side), failed);
  if (failed) fail("could not be given its category names", failed.message());
  swardline::publish(side);
}

}  // namespace swardline
