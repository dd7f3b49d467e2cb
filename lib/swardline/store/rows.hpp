// Many rows into one table. Private to this folder.
//
// GDAL takes 6.3 µs for a row of 20 columns, SQLite itself 3.4 µs (measured on two cores, 10^6 rows,
// GDAL 3.6). So rows go straight to the connection that GDAL has open, within its transaction, wherever the
// SQLite that GDAL runs on is the one linked here; elsewhere, and for tables with geometry, through GDAL's
// features.
#pragma once

#include <memory>
#include <string_view>

#include "swardline/store/geopackage.hpp"

struct sqlite3;
struct sqlite3_stmt;

namespace swardline {

/// Columns are numbered from 0 in the order they were made; what is not set in a row is null.
class RowWriter {
 public:
  enum class Way { fastest, features };
  /// `table`: from OpenStore::make_table, still empty.
  RowWriter(OpenStore& store, OGRLayer* table, Way way = Way::fastest);
  ~RowWriter();
  RowWriter(const RowWriter&) = delete;
  RowWriter& operator=(const RowWriter&) = delete;

  void text(int column, std::string_view text);  ///< an empty one stays null
  void word(int column, const char* word);       ///< that lives as long as the program
  void whole(int column, long long number);
  void real(int column, double number);  ///< NaN stays null
  void next();                           ///< the row is complete
  /// After the last row: counts are right, and the table is as any other of GDAL's. Throws IoError.
  void finish();
  [[nodiscard]] bool straight() const { return statement_ != nullptr; }  ///< past GDAL's features

 private:
  void prepare();
  void check(int code);
  OpenStore& store_;
  OGRLayer* table_;
  OGRFeature row_;
  sqlite3* connection_ = nullptr;
  sqlite3_stmt* statement_ = nullptr;
  std::string trigger_;  ///< GDAL's, that counts rows one by one: put back by finish()
  long long rows_ = 0;
};

}  // namespace swardline
