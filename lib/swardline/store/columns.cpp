#include "swardline/store/columns.hpp"

#include <ogr_recordbatch.h>

#include <algorithm>
#include <cstring>

#include "swardline/base/error.hpp"

namespace swardline {
namespace {

/// One column of the batch at hand.
struct Child {
  std::int64_t index = -1;  ///< among the stream's; -1: the table has no such column
  char kind = 0;            ///< of Arrow's formats: i, l, s, g, f, u, U
  const std::uint8_t* valid = nullptr;
  const void* data = nullptr;
  const char* bytes = nullptr;
  std::int64_t offset = 0;
};

template <class Number>
Number at(const Child& child, std::int64_t row) {
  return static_cast<const Number*>(child.data)[child.offset + row];
}

}  // namespace

struct ColumnReader::Stream {
  ArrowArrayStream stream{};
  ArrowSchema schema{};
  ArrowArray batch{};
  std::vector<Child> children;
  ~Stream() {
    if (batch.release != nullptr) batch.release(&batch);
    if (schema.release != nullptr) schema.release(&schema);
    if (stream.release != nullptr) stream.release(&stream);
  }
};

ColumnReader::ColumnReader(const OpenStore& store, OGRLayer* table, const std::vector<std::string>& columns)
    : store_(store), table_(table), stream_(std::make_unique<Stream>()) {
  std::vector<const char*> ignored = {"OGR_GEOMETRY"};
  const OGRFeatureDefn* fields = table->GetLayerDefn();
  for (int i = 0; i < fields->GetFieldCount(); ++i) {
    const char* name = fields->GetFieldDefn(i)->GetNameRef();
    if (std::find(columns.begin(), columns.end(), name) == columns.end()) ignored.push_back(name);
  }
  ignored.push_back(nullptr);
  const char* const options[] = {"INCLUDE_FID=NO", nullptr};
  const bool opened = table->SetIgnoredFields(ignored.data()) == OGRERR_NONE &&
                      table->GetArrowStream(&stream_->stream, const_cast<char**>(options)) &&
                      stream_->stream.get_schema(&stream_->stream, &stream_->schema) == 0;
  if (!opened) store_.fail("cannot be read");
  for (const std::string& column : columns) {
    Child child;
    for (std::int64_t i = 0; i < stream_->schema.n_children; ++i) {
      if (column != stream_->schema.children[i]->name) continue;
      child.index = i;
      child.kind = stream_->schema.children[i]->format[0];
      if (std::strchr("ilsgfuU", child.kind) == nullptr)
        store_.fail("cannot be read", "the column " + column + " is of a type that was not expected");
    }
    stream_->children.push_back(child);
  }
}

ColumnReader::~ColumnReader() {
  stream_.reset();
  (void)table_->SetIgnoredFields(nullptr);
}

bool ColumnReader::next_batch() {
  Stream& s = *stream_;
  do {
    if (s.batch.release != nullptr) s.batch.release(&s.batch);
    s.batch = {};
    if (s.stream.get_next(&s.stream, &s.batch) != 0) store_.fail("cannot be read");
    if (s.batch.release == nullptr) return false;
  } while (s.batch.length == 0);
  for (Child& child : s.children) {
    if (child.index < 0) continue;
    const ArrowArray& array = *s.batch.children[child.index];
    child.offset = array.offset;
    child.valid = array.null_count != 0 ? static_cast<const std::uint8_t*>(array.buffers[0]) : nullptr;
    child.data = array.buffers[1];
    child.bytes = array.n_buffers > 2 ? static_cast<const char*>(array.buffers[2]) : nullptr;
  }
  row_ = 0;
  return true;
}

bool ColumnReader::next() {
  if (row_ >= 0 && ++row_ < stream_->batch.length) return true;
  return next_batch();
}

bool ColumnReader::has(std::size_t column) const { return stream_->children[column].index >= 0; }

bool ColumnReader::is_null(std::size_t column) const {
  const Child& child = stream_->children[column];
  if (child.index < 0) return true;
  const std::int64_t bit = child.offset + row_;
  return child.valid != nullptr && (child.valid[bit / 8] >> (bit % 8) & 1) == 0;
}

std::int64_t ColumnReader::whole(std::size_t column, std::int64_t otherwise) const {
  if (is_null(column)) return otherwise;
  const Child& child = stream_->children[column];
  switch (child.kind) {
    case 'i':
      return at<std::int32_t>(child, row_);
    case 'l':
      return at<std::int64_t>(child, row_);
    case 's':
      return at<std::int16_t>(child, row_);
    default:
      return otherwise;
  }
}

double ColumnReader::real(std::size_t column) const {
  if (is_null(column)) return std::nan("");
  const Child& child = stream_->children[column];
  if (child.kind == 'g') return at<double>(child, row_);
  if (child.kind == 'f') return double(at<float>(child, row_));
  return double(whole(column));
}

std::string_view ColumnReader::text(std::size_t column) const {
  if (is_null(column)) return {};
  const Child& child = stream_->children[column];
  if (child.kind == 'u') {
    const std::int32_t from = at<std::int32_t>(child, row_), to = at<std::int32_t>(child, row_ + 1);
    return {child.bytes + from, std::size_t(to - from)};
  }
  if (child.kind == 'U') {
    const std::int64_t from = at<std::int64_t>(child, row_), to = at<std::int64_t>(child, row_ + 1);
    return {child.bytes + from, std::size_t(to - from)};
  }
  return {};
}

}  // namespace swardline
