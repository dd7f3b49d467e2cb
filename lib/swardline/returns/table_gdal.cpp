// Tables that GDAL opens: spreadsheets, GeoPackages, dBase files, GPX waypoints.
#include <cpl_conv.h>
#include <cpl_string.h>
#include <fmt/format.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <map>
#include <memory>
#include <mutex>
#include <optional>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/geo/gdal_errors.hpp"
#include "swardline/returns/table.hpp"

namespace swardline {
namespace {

// Formats that hold their table in the file itself. Others would let a file that was sent open a connection or
// another file.
constexpr std::array<const char*, 13> formats = {"XLSX",     "ODS",         "XLS",  "GPKG",   "SQLite",
                                                 "GPX",      "GeoJSON",     "GeoJSONSeq", "FlatGeobuf",
                                                 "ESRI Shapefile", "KML", "LIBKML", nullptr};
constexpr const char* what_is_read =
    "Save the table as CSV in UTF-8 or as a spreadsheet (xlsx, ods), and send that.";

/// Spreadsheet drivers take row 1 for headings only where the next rows look otherwise, unless told to. Set for
/// this thread while the object lives.
class HeadingsInRowOne {
 public:
  HeadingsInRowOne() {
    for (const char* key : keys) CPLSetThreadLocalConfigOption(key, "FORCE");
  }
  ~HeadingsInRowOne() {
    for (const char* key : keys) CPLSetThreadLocalConfigOption(key, nullptr);
  }
  HeadingsInRowOne(const HeadingsInRowOne&) = delete;
  HeadingsInRowOne& operator=(const HeadingsInRowOne&) = delete;

 private:
  static constexpr std::array<const char*, 3> keys = {"OGR_XLSX_HEADERS", "OGR_ODS_HEADERS",
                                                      "OGR_XLS_HEADERS"};
};

std::unique_ptr<GDALDataset> opened(const std::filesystem::path& file, const std::string& name,
                                    const GdalErrors& errors) {
  static std::once_flag once;
  std::call_once(once, [] { GDALAllRegister(); });
  // As it lies on disk: nothing is written beside a copy that must stay as it came.
  const std::array<const char*, 2> options = {"IMMUTABLE=YES", nullptr};
  std::unique_ptr<GDALDataset> dataset(GDALDataset::Open(
      file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY | GDAL_OF_VERBOSE_ERROR, formats.data(),
      lower_ascii(file.extension().string()) == ".gpkg" ? options.data() : nullptr));
  if (dataset && dataset->GetLayerCount() > 0) return dataset;
  const std::string reason =
      errors.errors().empty() || errors.errors().front().find("not recognized") != std::string::npos
          ? std::string()
          : fmt::format(" ({})", errors.errors().front());
  throw InputError({name, 0, {}}, "is no table that can be read" + reason, what_is_read);
}

std::string driver_of(GDALDataset& dataset) {
  const GDALDriver* driver = dataset.GetDriver();
  return driver == nullptr ? "" : const_cast<GDALDriver*>(driver)->GetDescription();
}

std::vector<std::string> headings_of(OGRLayer& layer) {
  std::vector<std::string> headings;
  OGRFeatureDefn* definition = layer.GetLayerDefn();
  for (int i = 0; i < definition->GetFieldCount(); ++i)
    headings.emplace_back(definition->GetFieldDefn(i)->GetNameRef());
  return headings;
}

/// Headings that are looked for; a format that cuts them to ten characters is taken at its word.
std::size_t known_headings(OGRLayer& layer, const std::function<bool(const std::string&)>& knows) {
  const std::vector<std::string> headings = headings_of(layer);
  return static_cast<std::size_t>(std::count_if(headings.begin(), headings.end(), knows));
}

/// The one sheet or layer that holds the form's headings.
OGRLayer& layer_of(GDALDataset& dataset, const std::string& name,
                   const std::function<bool(const std::string&)>& knows) {
  OGRLayer* best = dataset.GetLayer(0);
  std::size_t most = known_headings(*best, knows);
  OGRLayer* second = nullptr;
  for (int i = 1; i < dataset.GetLayerCount(); ++i) {
    OGRLayer* layer = dataset.GetLayer(i);
    const std::size_t known = known_headings(*layer, knows);
    if (known > 0 && known == most && layer->GetFeatureCount() > 0) second = layer;
    if (known <= most) continue;
    most = known;
    best = layer;
    second = nullptr;
  }
  if (second == nullptr || best->GetFeatureCount() == 0) return second == nullptr ? *best : *second;
  throw InputError({name, 0, {}},
                   fmt::format("has two sheets that could be the return, {} and {}", best->GetName(),
                               second->GetName()),
                   "Save each as a file of its own.");
}

std::string cell_text(const OGRFeature& row, int field) {
  if (!row.IsFieldSetAndNotNull(field)) return {};
  const OGRFieldType type = row.GetFieldDefnRef(field)->GetType();
  if (type != OFTDate && type != OFTDateTime) return row.GetFieldAsString(field);
  int year = 0, month = 0, day = 0, hour = 0, minute = 0, zone = 0;
  float second = 0;
  row.GetFieldAsDateTime(field, &year, &month, &day, &hour, &minute, &second, &zone);
  std::string text = fmt::format("{:04}-{:02}-{:02}", year, month, day);
  if (hour != 0 || minute != 0 || second > 0)
    text += fmt::format(" {:02}:{:02}:{:02}", hour, minute, static_cast<int>(second));
  return text;
}

/// RFC 4180, without the apostrophes of csv_field: the text must come back as it was.
void add_cell(std::string_view cell, std::string& to) {
  if (cell.find_first_of(",\"\r\n") == std::string_view::npos) {
    to += cell;
    return;
  }
  to += '"';
  for (const char c : cell) {
    to += c;
    if (c == '"') to += c;
  }
  to += '"';
}

class Writer {
 public:
  explicit Writer(const std::string& name) : name_(name) {}
  void cell(std::string_view text) {
    if (in_row_) text_ += ',';
    in_row_ = true;
    if (text.find('\0') != std::string_view::npos)
      throw InputError({name_, 0, {}}, "holds a NUL byte in a cell", what_is_read);
    add_cell(text, text_);
  }
  void end_row() {
    text_ += '\n';
    ++rows_;
    in_row_ = false;
    if (text_.size() > Table::largest)
      throw InputError({name_, 0, {}}, "holds more than 1 GB of text", "Split it into several files.");
  }
  [[nodiscard]] long long rows() const { return rows_; }
  std::string take() { return std::move(text_); }

 private:
  const std::string& name_;
  std::string text_;
  long long rows_ = 0;
  bool in_row_ = false;
};

/// Whether points of the layer are WGS84 longitudes and latitudes.
bool has_fixes(OGRLayer& layer) {
  if (wkbFlatten(layer.GetGeomType()) != wkbPoint) return false;
  const OGRSpatialReference* reference = layer.GetSpatialRef();
  const char* code = reference == nullptr ? nullptr : reference->GetAuthorityCode(nullptr);
  return code != nullptr && std::string_view(code) == "4326";
}

bool has(const std::vector<std::string>& headings, std::string_view wanted) {
  return std::any_of(headings.begin(), headings.end(),
                     [&](const std::string& one) { return lower_ascii(one) == wanted; });
}

/// Spreadsheet drivers number features by the sheet's rows; other tables have none, so their first is row 2.
std::string text_of(OGRLayer& layer, bool spreadsheet, const std::string& name) {
  Writer writer(name);
  const std::vector<std::string> headings = headings_of(layer);
  for (const std::string& heading : headings) writer.cell(heading);
  const bool fixes = has_fixes(layer) && !has(headings, "lat") && !has(headings, "lon");
  if (fixes) {
    writer.cell("lat");
    writer.cell("lon");
  }
  writer.end_row();
  for (const OGRFeatureUniquePtr& feature : layer) {
    while (spreadsheet && writer.rows() + 1 < feature->GetFID()) writer.end_row();
    for (int i = 0; i < static_cast<int>(headings.size()); ++i) writer.cell(cell_text(*feature, i));
    if (fixes) {
      const auto* point = dynamic_cast<const OGRPoint*>(feature->GetGeometryRef());
      const bool there = point != nullptr && point->IsEmpty() == 0;
      writer.cell(there ? shortest(point->getY()) : std::string());
      writer.cell(there ? shortest(point->getX()) : std::string());
    }
    writer.end_row();
  }
  return writer.take();
}

/// A waypoint's time is UTC. Fifteen degrees an hour give the day it was at that place, as long as nobody
/// counts within two hours of midnight.
std::string local_day(const OGRFeature& waypoint, double lon) {
  const int field = waypoint.GetFieldIndex("time");
  int year = 0, month = 0, day = 0, hour = 0, minute = 0, zone = 0;
  float second = 0;
  if (field < 0 || !waypoint.IsFieldSetAndNotNull(field) ||
      waypoint.GetFieldAsDateTime(field, &year, &month, &day, &hour, &minute, &second, &zone) == 0)
    return {};
  using namespace std::chrono;
  const sys_days date = year_month_day{std::chrono::year{year}, std::chrono::month{static_cast<unsigned>(month)},
                                       std::chrono::day{static_cast<unsigned>(day)}};
  constexpr int utc = 100;  // GDAL: each step from it a quarter of an hour; 0 and 1: none said
  const int ahead = zone > 1 ? (zone - utc) * 15 : 0;
  const auto there = date + hours{hour} + minutes{minute - ahead + static_cast<int>(std::lround(lon * 4))};
  const year_month_day local{floor<days>(there)};
  return fmt::format("{:04}-{:02}-{:02}", static_cast<int>(local.year()),
                     static_cast<unsigned>(local.month()), static_cast<unsigned>(local.day()));
}

std::string waypoints_of(OGRLayer& layer, const std::string& name) {
  Writer writer(name);
  for (const char* heading : {"plot", "visit_date", "lat", "lon"}) writer.cell(heading);
  writer.end_row();
  for (const OGRFeatureUniquePtr& feature : layer) {
    const auto* point = dynamic_cast<const OGRPoint*>(feature->GetGeometryRef());
    const int field = feature->GetFieldIndex("name");
    writer.cell(field < 0 ? "" : feature->GetFieldAsString(field));
    writer.cell(point == nullptr ? std::string() : local_day(*feature, point->getX()));
    writer.cell(point == nullptr ? std::string() : shortest(point->getY()));
    writer.cell(point == nullptr ? std::string() : shortest(point->getX()));
    writer.end_row();
  }
  return writer.take();
}

}  // namespace

GdalTable read_gdal_table(const std::filesystem::path& file, const std::string& name,
                          const std::function<bool(const std::string&)>& knows, Flags& flags) {
  const GdalErrors errors;
  const HeadingsInRowOne headings;
  const std::unique_ptr<GDALDataset> dataset = opened(file, name, errors);
  const std::string driver = driver_of(*dataset);
  GdalTable table;
  if (driver == "GPX") {
    OGRLayer* layer = dataset->GetLayerByName("waypoints");
    if (layer == nullptr || layer->GetFeatureCount() == 0)
      throw InputError({name, 0, {}}, "holds no waypoint",
                       "Send the unit's waypoints; tracks and routes hold no fixes of plots.");
    table.waypoints = true;
    table.text = waypoints_of(*layer, name);
  } else {
    OGRLayer& layer = layer_of(*dataset, name, knows);
    if (dataset->GetLayerCount() > 1)
      flags.add(Severity::note, "one sheet", {name, 0, {}},
                fmt::format("has {} sheets; {} was read.", dataset->GetLayerCount(), layer.GetName()));
    table.short_names = driver == "ESRI Shapefile";
    table.text = text_of(layer, driver == "XLSX" || driver == "ODS" || driver == "XLS", name);
  }
  // What GDAL gives up on half way would be rows lost without a word.
  if (!errors.errors().empty())
    throw InputError({name, 0, {}}, fmt::format("could not be read to its end ({})", errors.errors().front()),
                     what_is_read);
  return table;
}

}  // namespace swardline
