#include "swardline/store/rows.hpp"

#include <fmt/format.h>
#include <sqlite3.h>

#include <cmath>
#include <cstring>

#include "swardline/base/error.hpp"

namespace swardline {
namespace {

std::string quoted(const char* name) {
  std::string text = "\"";
  for (const char* c = name; *c != '\0'; ++c) text.append(*c == '"' ? 2 : 1, *c);
  return text + '"';
}

}  // namespace

RowWriter::RowWriter(OpenStore& store, OGRLayer* table, Way way)
    : store_(store), table_(table), row_(table->GetLayerDefn()) {
  if (way == Way::fastest && table->GetGeomType() == wkbNone) {
    // A connection of one SQLite must not be handed to another.
    if (store.ask("SELECT sqlite_source_id()") == sqlite3_sourceid())
      connection_ = static_cast<sqlite3*>(store.sqlite());
  }
  if (connection_ != nullptr) prepare();
}

RowWriter::~RowWriter() { sqlite3_finalize(statement_); }

void RowWriter::prepare() {
  const std::string name = table_->GetName();
  store_.sync(table_);  // the table is made only now
  const std::string count = "trigger_insert_feature_count_" + name;
  trigger_ =
      store_.ask(fmt::format("SELECT sql FROM sqlite_master WHERE type = 'trigger' AND name = '{}'", count));
  if (!trigger_.empty()) store_.run(fmt::format("DROP TRIGGER {}", quoted(count.c_str())));
  std::string columns, places;
  for (int i = 0; i < table_->GetLayerDefn()->GetFieldCount(); ++i) {
    columns += (i > 0 ? "," : "") + quoted(table_->GetLayerDefn()->GetFieldDefn(i)->GetNameRef());
    places += i > 0 ? ",?" : "?";
  }
  const std::string sql =
      fmt::format("INSERT INTO {} ({}) VALUES ({})", quoted(name.c_str()), columns, places);
  check(sqlite3_prepare_v3(connection_, sql.c_str(), -1, SQLITE_PREPARE_PERSISTENT, &statement_, nullptr));
}

void RowWriter::check(int code) {
  if (code == SQLITE_OK || code == SQLITE_DONE) return;
  store_.fail("cannot be written", sqlite3_errmsg(connection_));
}

void RowWriter::text(int column, std::string_view text) {
  if (text.empty()) return;
  if (statement_ != nullptr)
    check(sqlite3_bind_text(statement_, column + 1, text.data(), int(text.size()), SQLITE_TRANSIENT));
  else
    row_.SetField(column, std::string(text).c_str());
}

void RowWriter::word(int column, const char* word) {
  if (statement_ != nullptr)
    check(sqlite3_bind_text(statement_, column + 1, word, -1, SQLITE_STATIC));
  else
    row_.SetField(column, word);
}

void RowWriter::whole(int column, long long number) {
  if (statement_ != nullptr)
    check(sqlite3_bind_int64(statement_, column + 1, number));
  else
    row_.SetField(column, GIntBig(number));
}

void RowWriter::real(int column, double number) {
  if (std::isnan(number)) return;
  if (statement_ != nullptr)
    check(sqlite3_bind_double(statement_, column + 1, number));
  else
    row_.SetField(column, number);
}

void RowWriter::next() {
  ++rows_;
  if (statement_ == nullptr) {
    store_.add(table_, row_);
    row_.Reset();
    return;
  }
  check(sqlite3_step(statement_));
  check(sqlite3_reset(statement_));
  check(sqlite3_clear_bindings(statement_));
}

void RowWriter::finish() {
  if (statement_ == nullptr) return;
  sqlite3_finalize(statement_);
  statement_ = nullptr;
  if (!trigger_.empty()) store_.run(trigger_);
  store_.run(
      fmt::format("UPDATE gpkg_ogr_contents SET feature_count = {} WHERE lower(table_name) = lower('{}')",
                  rows_, table_->GetName()));
}

}  // namespace swardline
