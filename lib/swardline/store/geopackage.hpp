// One GeoPackage, one transaction. Private to this folder.
#pragma once

#include <gdal_priv.h>
#include <ogrsf_frmts.h>

#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "swardline/geo/crs.hpp"
#include "swardline/geo/geometry.hpp"

namespace swardline {

struct Column {
  const char* name;
  OGRFieldType type;
};

/// An open store. Nothing is changed until commit(); destroyed before it, nothing is.
class OpenStore {
 public:
  enum class Use { read, write };
  /// `write` makes a store without runs first where there is none.
  OpenStore(const std::filesystem::path& file, Use use);
  ~OpenStore();
  OpenStore(const OpenStore&) = delete;
  OpenStore& operator=(const OpenStore&) = delete;

  [[nodiscard]] OGRLayer* table(const std::string& name);  ///< null where there is none
  /// An empty table in place of the one of this name. `type` wkbNone: no geometry.
  OGRLayer* make_table(const std::string& name, const std::vector<Column>& columns, const Crs* crs = nullptr,
                       OGRwkbGeometryType type = wkbNone);
  void add(OGRLayer* table, OGRFeature& feature);
  /// Writes index, extent and counts and commits, so that a process killed on the very next instruction
  /// leaves a sound store (GDAL would otherwise add them on close).
  void commit();
  [[nodiscard]] const std::filesystem::path& file() const { return file_; }

  /// The connection GDAL has open, or null; see RowWriter.
  [[nodiscard]] void* sqlite();
  /// Runs a statement of SQL. Throws IoError.
  void run(const std::string& sql);
  /// The first value a query gives; empty where it gives none.
  [[nodiscard]] std::string ask(const std::string& sql);
  void sync(OGRLayer* table);
  /// Says what went wrong in `why`'s words, or GDAL's.
  [[noreturn]] void fail(const std::string& what, const std::string& why = {}) const;

 private:
  void leave_write_ahead();
  void take_write_lock();
  void check_ours();

  std::filesystem::path file_;
  std::unique_ptr<GDALDataset> dataset_;
  bool in_transaction_ = false;
  bool writes_ = false;
};

/// The row's geometry, of the kind `forced` makes (OGRGeometryFactory's); nothing of an empty one.
void set_geometry(OGRFeature& row, const Geometry& geometry, OGRGeometry* (*forced)(OGRGeometry*));

/// True where the file is there.
[[nodiscard]] bool store_exists(const std::filesystem::path& file);

}  // namespace swardline
