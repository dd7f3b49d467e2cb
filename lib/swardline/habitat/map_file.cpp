#include <cpl_conv.h>
#include <cpl_error.h>
#include <cpl_string.h>
#include <gdal.h>
#include <gdal_utils.h>
#include <ogr_srs_api.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <limits>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/geo/gdal_errors.hpp"
#include "swardline/habitat/band_colours.hpp"
#include "swardline/habitat/score_maps.hpp"
#include "swardline/habitat/score_season.hpp"

namespace swardline {
namespace {

constexpr int tile_cells = block_cells;

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
  if (spec.kind == MapSpec::Kind::percent) {
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

/// Decodes every block of the band.
bool readable(GDALRasterBandH band, std::size_t cell_bytes) {
  int width = 0, height = 0;
  GDALGetBlockSize(band, &width, &height);
  std::vector<std::uint8_t> block(std::size_t(width) * std::size_t(height) * cell_bytes);
  for (int y = 0; y * height < GDALGetRasterBandYSize(band); ++y)
    for (int x = 0; x * width < GDALGetRasterBandXSize(band); ++x)
      if (GDALReadBlock(band, x, y, block.data()) != CE_None) return false;
  return true;
}

void remove_quietly(const std::filesystem::path& path) noexcept {
  std::error_code ignored;
  std::filesystem::remove(path, ignored);
}

}  // namespace

MapFile::MapFile(MapSpec spec) : spec_(std::move(spec)), part_(part_path(spec_.path)) {
  const GdalErrors errors;
  remove_quietly(part_);
  remove_quietly(beside(part_, ".aux.xml"));
  GDALDriverH driver = GDALGetDriverByName("GTiff");
  if (driver == nullptr) throw Defect("GDAL has no GTiff driver: set_up_gdal() was not called.");
  const bool floats = spec_.kind == MapSpec::Kind::score;
  const Options options{{"TILED", "YES"},        {"BLOCKXSIZE", "256"}, {"BLOCKYSIZE", "256"},
                        {"COMPRESS", "DEFLATE"}, {"ZLEVEL", "1"},       {"PREDICTOR", floats ? "3" : "1"},
                        {"BIGTIFF", "IF_SAFER"}};
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
  if (spec_.kind == MapSpec::Kind::percent) GDALSetRasterUnitType(band, "percent");
  for (std::size_t i = 0; i < spec_.categories.size(); ++i)
    GDALSetMetadataItem(band, ("CATEGORY_" + std::to_string(i)).c_str(), spec_.categories[i].text.c_str(),
                        nullptr);
  if (!spec_.categories.empty()) {
    std::vector<char*> names;
    for (HeldDown& category : spec_.categories) names.push_back(category.text.data());
    names.push_back(nullptr);
    GDALSetRasterCategoryNames(band, names.data());
  }
  if (!errors.errors().empty()) fail("could not be made", errors.first(""));
}

MapFile::~MapFile() {
  const GdalErrors errors;  // what an abandoned file has to say interests nobody
  if (dataset_ != nullptr) GDALClose(dataset_);
  if (published_) return;
  remove_quietly(part_);
  remove_quietly(beside(part_, ".aux.xml"));
  remove_quietly(beside(part_, ".cog"));
  remove_quietly(beside(part_, ".cog.aux.xml"));
}

void MapFile::fail(const char* doing, const std::string& reason) const {
  throw IoError(
      {spec_.path.string(), 0, {}}, std::string(doing) + ": " + reason + ".",
      "Check that the disk has room and the folder can be written, and run again; what was there before "
      "is unchanged.");
}

void MapFile::abandon() {
  {
    const std::lock_guard lock(mutex_);
    abandoned_ = true;
  }
  turned_.notify_all();
}

bool MapFile::write(std::size_t turn, const Window& window, const void* cells) {
  std::unique_lock lock(mutex_);
  turned_.wait(lock, [&] { return abandoned_ || next_ == turn; });
  if (abandoned_) return false;
  copy_into_tiles(window, static_cast<const std::uint8_t*>(cells));
  add_to_statistics(window, cells);
  ++next_;
  lock.unlock();
  turned_.notify_all();
  return true;
}

MapFile::OpenTile& MapFile::open_tile(int tx, int ty) {
  const auto [at, is_new] = tiles_.try_emplace({tx, ty});
  if (!is_new) return at->second;
  std::vector<std::uint8_t>& bytes = at->second.bytes;
  if (!spare_.empty()) {
    bytes = std::move(spare_.back());
    spare_.pop_back();
  }
  bytes.resize(std::size_t{tile_cells} * tile_cells * cell_bytes());
  // Beyond the right and lower edge a tile holds what counts as nothing.
  if (cell_bytes() == 1) {
    std::fill(bytes.begin(), bytes.end(), no_percent);
  } else {
    const float none = std::numeric_limits<float>::quiet_NaN();
    for (std::size_t i = 0; i < bytes.size(); i += sizeof none)
      std::memcpy(bytes.data() + i, &none, sizeof none);
  }
  return at->second;
}

void MapFile::copy_into_tiles(const Window& window, const std::uint8_t* cells) {
  const GdalErrors errors;
  GDALRasterBandH band = GDALGetRasterBand(dataset_, 1);
  const auto left = int(window.col - spec_.extent.col), top = int(window.row - spec_.extent.row);
  const int right = left + window.cols, bottom = top + window.rows;
  for (int ty = top / tile_cells; ty * tile_cells < bottom; ++ty) {
    for (int tx = left / tile_cells; tx * tile_cells < right; ++tx) {
      const int x0 = std::max(left, tx * tile_cells), x1 = std::min(right, (tx + 1) * tile_cells);
      const int y0 = std::max(top, ty * tile_cells), y1 = std::min(bottom, (ty + 1) * tile_cells);
      OpenTile& tile = open_tile(tx, ty);
      for (int y = y0; y < y1; ++y) {
        const auto to = std::size_t(y - ty * tile_cells) * tile_cells + std::size_t(x0 - tx * tile_cells);
        const auto from = std::size_t(y - top) * std::size_t(window.cols) + std::size_t(x0 - left);
        std::memcpy(tile.bytes.data() + to * cell_bytes(), cells + from * cell_bytes(),
                    std::size_t(x1 - x0) * cell_bytes());
      }
      tile.filled += (x1 - x0) * (y1 - y0);
      const int whole = std::min(tile_cells, spec_.extent.cols - tx * tile_cells) *
                        std::min(tile_cells, spec_.extent.rows - ty * tile_cells);
      if (tile.filled < whole) continue;
      if (GDALWriteBlock(band, tx, ty, tile.bytes.data()) != CE_None || !errors.errors().empty())
        fail("could not be written", errors.first("GDAL gave no reason"));
      spare_.push_back(std::move(tile.bytes));
      tiles_.erase({tx, ty});
    }
  }
}

void MapFile::add_to_statistics(const Window& window, const void* cells) {
  if (spec_.kind == MapSpec::Kind::held_down) return;
  if (spec_.kind == MapSpec::Kind::percent) {
    const auto* percent = static_cast<const std::uint8_t*>(cells);
    for (std::size_t i = 0; i < window.cells(); ++i) ++histogram_[percent[i]];
    return;
  }
  const auto* score = static_cast<const float*>(cells);
  for (std::size_t i = 0; i < window.cells(); ++i) {
    const auto value = double(score[i]);
    if (std::isnan(value)) continue;
    least_ = scored_ == 0 ? value : std::min(least_, value);
    most_ = scored_ == 0 ? value : std::max(most_, value);
    sum_ += value;
    squares_ += value * value;
    ++scored_;
  }
}

void MapFile::close(const char* doing) {
  const GdalErrors errors;
  GDALFlushCache(dataset_);
  GDALClose(dataset_);
  dataset_ = nullptr;
  if (!errors.errors().empty()) fail(doing, errors.first(""));
}

void MapFile::finish(bool cog) {
  if (!tiles_.empty()) throw Defect("Windows left parts of " + spec_.path.string() + " unwritten.");
  spare_.clear();
  close("could not be written");
  decorate();
  if (cog) to_cog();
  read_back();
}

// Overviews come before the colour table: with one, GDAL averages colours.
void MapFile::decorate() {
  const GdalErrors errors;
  dataset_ = GDALOpen(part_.c_str(), GA_Update);
  if (dataset_ == nullptr) fail("could not be read back", errors.first("GDAL gave no reason"));
  std::vector<int> levels;
  for (int level = 2; std::max(spec_.extent.cols, spec_.extent.rows) > level / 2 * tile_cells; level *= 2)
    levels.push_back(level);
  const bool held_down = spec_.kind == MapSpec::Kind::held_down;
  if (!levels.empty() && GDALBuildOverviews(dataset_, held_down ? "NEAREST" : "AVERAGE", int(levels.size()),
                                            levels.data(), 0, nullptr, nullptr, nullptr) != CE_None)
    fail("could not be given overviews", errors.first("GDAL gave no reason"));
  GDALRasterBandH band = GDALGetRasterBand(dataset_, 1);
  if (spec_.kind == MapSpec::Kind::percent) {
    for (int percent = 0; percent <= 100; ++percent) {
      const std::int64_t cells = histogram_[std::size_t(percent)];
      if (cells == 0) continue;
      if (scored_ == 0) least_ = percent;
      most_ = percent;
      scored_ += cells;
      sum_ += double(cells) * percent;
      squares_ += double(cells) * percent * percent;
    }
  }
  if (scored_ > 0) {
    const double mean = sum_ / double(scored_);
    const double spread = std::sqrt(std::max(0.0, squares_ / double(scored_) - mean * mean));
    GDALSetRasterStatistics(band, least_, most_, mean, spread);
  }
  if (spec_.kind != MapSpec::Kind::score) set_colours(band, spec_);
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

// A full disk can go unnoticed until here: every block is decoded again, and its checksum with it.
void MapFile::read_back() const {
  const GdalErrors errors;
  GDALDatasetH dataset = GDALOpen(part_.c_str(), GA_ReadOnly);
  if (dataset == nullptr) fail("could not be read back", errors.first("GDAL gave no reason"));
  GDALRasterBandH base = GDALGetRasterBand(dataset, 1);
  bool whole =
      GDALGetRasterXSize(dataset) == spec_.extent.cols && GDALGetRasterYSize(dataset) == spec_.extent.rows;
  for (int level = -1; level < GDALGetOverviewCount(base); ++level)
    whole = whole && readable(level < 0 ? base : GDALGetOverview(base, level), cell_bytes());
  GDALClose(dataset);
  if (!whole || !errors.errors().empty()) fail("could not be read back", errors.first("it is not whole"));
}

void MapFile::publish() {
  const std::filesystem::path side = beside(spec_.path, ".aux.xml");
  const std::filesystem::path made = beside(part_, ".aux.xml");
  // The side file of the map that goes would speak wrongly of the one that comes.
  remove_quietly(side);
  swardline::publish(spec_.path);
  published_ = true;
  std::error_code failed;
  if (!std::filesystem::exists(made, failed)) return;
  std::filesystem::rename(made, part_path(side), failed);
  if (failed) fail("could not be given its category names", failed.message());
  swardline::publish(side);
}

}  // namespace swardline
