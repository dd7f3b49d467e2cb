#include "swardline/store/geopackage.hpp"

#include <cpl_conv.h>
#include <fmt/format.h>
#include <unistd.h>

#include <fstream>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/geo/gdal_errors.hpp"
#include "swardline/store/store.hpp"

namespace swardline {
namespace {

namespace fs = std::filesystem;

fs::path beside(const fs::path& file, const char* suffix) { return file.string() + suffix; }

bool is_sqlite(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  char head[16] = {};
  in.read(head, sizeof head);
  return std::string(head, 15) == "SQLite format 3";
}

const std::vector<Column> run_columns = {
    {"command", OFTString}, {"version", OFTString},  {"seed", OFTString},           {"inputs", OFTString},
    {"started", OFTString}, {"finished", OFTString}, {"schema_version", OFTInteger}};

// Null where GDAL could not make it.
OGRLayer* add_table(GDALDataset& dataset, const std::string& name, const std::vector<Column>& columns,
                    OGRSpatialReference* system, OGRwkbGeometryType type) {
  CPLStringList options;
  options.SetNameValue("OVERWRITE", "YES");
  options.SetNameValue("SPATIAL_INDEX", "YES");
  options.SetNameValue("GEOMETRY_NAME", type == wkbPoint ? "point" : "polygon");
  OGRLayer* layer = dataset.CreateLayer(name.c_str(), system, type, options.List());
  for (const Column& column : columns) {
    OGRFieldDefn field(column.name, column.type);
    if (layer == nullptr || layer->CreateField(&field) != OGRERR_NONE) return nullptr;
  }
  return layer;
}

// A store without runs under another name, put in place only where nothing is: a store is never renamed
// over, because a journal left beside it would be replayed onto the new file. It has its table of runs from
// the start: GDAL opens no GeoPackage without tables for reading.
void make_empty(const fs::path& file) {
  for (const char* suffix : {"-journal", "-wal"})
    if (fs::exists(beside(file, suffix)))
      throw IoError({beside(file, suffix).string(), 0, {}}, "is a journal without its store",
                    "Bring the store back beside it, or move the journal away.");
  if (file.has_parent_path()) make_folder(file.parent_path());
  const fs::path work =
      file.parent_path() / fmt::format(".{}.{}.new.gpkg", file.filename().string(), ::getpid());
  std::error_code ignored;
  // What a killed run left half made; the season folder's lock keeps other runs out.
  const std::string half_made = fmt::format(".{}.", file.filename().string());
  for (const auto& entry :
       fs::directory_iterator(work.parent_path().empty() ? "." : work.parent_path(), ignored))
    if (const std::string name = entry.path().filename().string();
        name.rfind(half_made, 0) == 0 && name.find(".new.gpkg") != std::string::npos)
      fs::remove(entry.path(), ignored);
  GDALDriver* driver = GetGDALDriverManager()->GetDriverByName("GPKG");
  if (driver == nullptr) throw Defect("GDAL here has no GeoPackage driver");
  std::unique_ptr<GDALDataset> dataset(driver->Create(work.c_str(), 0, 0, 0, GDT_Unknown, nullptr));
  const bool made =
      dataset != nullptr && add_table(*dataset, "runs", run_columns, nullptr, wkbNone) != nullptr;
  dataset.reset();
  const bool placed = made && ::link(work.c_str(), file.c_str()) == 0;
  fs::remove(work, ignored);
  if (!placed)
    throw IoError({file.string(), 0, {}}, "the store could not be made",
                  "Check that the folder can be written and the disk has space.");
}

}  // namespace

bool store_exists(const fs::path& file) { return fs::exists(file); }

OpenStore::OpenStore(const fs::path& file, Use use) : file_(file), writes_(use == Use::write) {
  // One writer, a rollback journal, full flushing: what a killed process or a lost power supply asks for.
  CPLSetThreadLocalConfigOption("OGR_SQLITE_JOURNAL", "DELETE");
  CPLSetThreadLocalConfigOption("OGR_SQLITE_SYNCHRONOUS", "FULL");
  if (use == Use::write && !fs::exists(file)) make_empty(file);
  if (!is_sqlite(file))
    throw IoError({file.string(), 0, {}}, "is not a GeoPackage",
                  "Name another store in the plan: store = \"season.gpkg\".");
  CPLErrorReset();
  const unsigned flags =
      GDAL_OF_VECTOR | GDAL_OF_VERBOSE_ERROR | (use == Use::write ? GDAL_OF_UPDATE : GDAL_OF_READONLY);
  const char* drivers[] = {"GPKG", nullptr};
  dataset_.reset(GDALDataset::Open(file.c_str(), flags, drivers, nullptr, nullptr));
  if (!dataset_) fail("cannot be opened");
  if (use == Use::write) leave_write_ahead();
  check_ours();
  if (use == Use::write) {
    if (dataset_->StartTransaction() != OGRERR_NONE) fail("cannot be written");
    in_transaction_ = true;
    take_write_lock();
  }
}

OpenStore::~OpenStore() {
  if (dataset_ && in_transaction_) dataset_->RollbackTransaction();
}

void OpenStore::fail(const std::string& what, const std::string& why) const {
  const std::filesystem::path folder = file_.has_parent_path() ? file_.parent_path() : ".";
  // A journal beside it is written first, so the folder matters as much as the file.
  const bool closed = writes_ && (::access(file_.c_str(), W_OK) != 0 || ::access(folder.c_str(), W_OK) != 0);
  const std::string problem = fmt::format("the store {}: {}", what, why.empty() ? CPLGetLastErrorMsg() : why);
  if (closed)
    throw IoError({file_.string(), 0, {}}, problem,
                  "Make it and its folder writable for you, or copy the season's folder to where you may "
                  "write, and work there.");
  throw IoError({file_.string(), 0, {}}, problem,
                "Close other programs that have it open, and check the disk's space and permissions.");
}

void* OpenStore::sqlite() { return dataset_->GetInternalHandle("SQLITE_HANDLE"); }

void OpenStore::run(const std::string& sql) {
  CPLErrorReset();
  if (OGRLayer* result = dataset_->ExecuteSQL(sql.c_str(), nullptr, nullptr))
    dataset_->ReleaseResultSet(result);
  if (CPLGetLastErrorType() >= CE_Failure) fail("cannot be written");
}

std::string OpenStore::ask(const std::string& sql) {
  std::string answer;
  if (OGRLayer* result = dataset_->ExecuteSQL(sql.c_str(), nullptr, nullptr)) {
    if (const OGRFeatureUniquePtr row{result->GetNextFeature()}) answer = row->GetFieldAsString(0);
    dataset_->ReleaseResultSet(result);
  }
  return answer;
}

void OpenStore::sync(OGRLayer* table) {
  if (table->SyncToDisk() != OGRERR_NONE) fail("cannot be written");
}

// SQLite takes it with the first statement that could write, which then fails at once where another program
// is writing; without it that would be found out after all work was done.
void OpenStore::take_write_lock() {
  CPLErrorReset();
  const GdalErrors quiet;
  (void)ask("DELETE FROM runs WHERE 0");
  if (!quiet.errors().empty()) {
    in_transaction_ = false;
    (void)dataset_->RollbackTransaction();
    fail("is being written by another program", quiet.errors().front());
  }
}

void OpenStore::leave_write_ahead() {
  const std::string mode = ask("PRAGMA journal_mode = DELETE");
  if (lower_ascii(mode) != "delete" || fs::exists(beside(file_, "-wal")))
    throw IoError({file_.string(), 0, {}}, "the store is in write-ahead mode and another program has it open",
                  "Close it there (a desktop map, for example) and run again. Nothing was changed.");
}

void OpenStore::check_ours() {
  OGRLayer* runs = dataset_->GetLayerByName("runs");
  const int version_field = runs == nullptr ? -1 : runs->GetLayerDefn()->GetFieldIndex("schema_version");
  if (version_field < 0)
    throw IoError({file_.string(), 0, {}}, "is a GeoPackage, but not a season's store",
                  "Name another store in the plan: store = \"season.gpkg\".");
  int newest = 0;
  for (const auto& run : *runs) newest = std::max(newest, run->GetFieldAsInteger(version_field));
  if (newest > store_schema_version)
    throw IoError(
        {file_.string(), 0, {}},
        fmt::format("has tables of version {}, this program knows {}", newest, store_schema_version),
        "Use the newer program that wrote it.");
}

OGRLayer* OpenStore::table(const std::string& name) { return dataset_->GetLayerByName(name.c_str()); }

OGRLayer* OpenStore::make_table(const std::string& name, const std::vector<Column>& columns, const Crs* crs,
                                OGRwkbGeometryType type) {
  OGRSpatialReference system;
  if (crs != nullptr) {
    if (system.SetFromUserInput(crs->wkt().c_str()) != OGRERR_NONE)
      fail("cannot take this coordinate system");
    system.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
  }
  OGRLayer* layer = add_table(*dataset_, name, columns, crs != nullptr ? &system : nullptr, type);
  if (layer == nullptr) fail("cannot be written");
  return layer;
}

void OpenStore::add(OGRLayer* table, OGRFeature& feature) {
  if (table->CreateFeature(&feature) != OGRERR_NONE) fail("cannot be written");
}

void OpenStore::commit() {
  for (OGRLayer* layer : dataset_->GetLayers())
    if (layer->SyncToDisk() != OGRERR_NONE) fail("cannot be written");
  if (dataset_->CommitTransaction() != OGRERR_NONE) fail("cannot be written");
  in_transaction_ = false;
  CPLErrorReset();
  dataset_.reset();
  if (CPLGetLastErrorType() >= CE_Failure) fail("was not closed cleanly");
}

void set_geometry(OGRFeature& row, const Geometry& geometry, OGRGeometry* (*forced)(OGRGeometry*)) {
  if (geometry.empty()) return;
  const std::vector<unsigned char> wkb = to_wkb(geometry);
  OGRGeometry* read = nullptr;
  if (OGRGeometryFactory::createFromWkb(wkb.data(), nullptr, &read, wkb.size()) != OGRERR_NONE)
    throw Defect("a geometry could not be handed to the store");
  row.SetGeometryDirectly(forced(read));
}

}  // namespace swardline
