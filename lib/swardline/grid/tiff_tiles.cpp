#include "swardline/grid/tiff_tiles.hpp"

#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <system_error>

#include "swardline/base/error.hpp"

namespace swardline {
namespace {

int tiles_for(std::uint64_t cells, std::uint64_t tile) { return int((cells + tile - 1) / tile); }

// The file is of this machine's byte order: the first bytes of a number are not always its lowest.
template <typename Whole>
void to_bytes(std::uint64_t value, std::uint8_t* bytes) {
  const auto narrow = static_cast<Whole>(value);
  std::memcpy(bytes, &narrow, sizeof narrow);
}

}  // namespace

TiffTiles::TiffTiles(const std::filesystem::path& file, std::filesystem::path named)
    : named_(std::move(named)) {
  try {
    file_ = std::make_unique<TiffFile>(file, true);
    end_ = file_->size();
    read_levels();
  } catch (const TiffFile::Unreadable& error) {
    fail(error.code);
  }
}

void TiffTiles::fail(int code) const {
  if (code == 0)
    throw IoError({named_.string(), 0, {}}, "could not be written: its directories are not whole.",
                  "Check that the disk has room and run again; what was there before is unchanged.");
  throw IoError({named_.string(), 0, {}},
                "could not be written: " + std::generic_category().message(code) + ".",
                "Check that the disk has room and the folder can be written, and run again; what was there "
                "before is unchanged.");
}

void TiffTiles::read_levels() {
  for (const TiffFile::Directory& directory : file_->directories()) {
    const auto need = [&](std::uint64_t tag) { return file_->first(directory, tag, 0); };
    const std::uint64_t cols = need(tiff_tag::image_width), rows = need(tiff_tag::image_length),
                        width = need(tiff_tag::tile_width), height = need(tiff_tag::tile_length);
    const auto offsets = directory.find(tiff_tag::tile_offsets),
               lengths = directory.find(tiff_tag::tile_byte_counts);
    if (cols == 0 || rows == 0 || width == 0 || height == 0 || offsets == directory.end() ||
        lengths == directory.end())
      fail(0);
    Level level;
    level.cols = int(cols);
    level.rows = int(rows);
    level.tiles_across = tiles_for(cols, width);
    level.tiles_down = tiles_for(rows, height);
    const std::uint64_t tiles = std::uint64_t(level.tiles_across) * std::uint64_t(level.tiles_down);
    if (offsets->second.count != tiles || lengths->second.count != tiles) fail(0);
    level.offsets = file_->read(offsets->second);
    level.lengths = file_->read(lengths->second);
    levels_.push_back(std::move(level));
    offsets_.push_back(offsets->second);
    lengths_.push_back(lengths->second);
  }
}

void TiffTiles::write_all(std::uint64_t at, std::span<const std::uint8_t> bytes) {
  while (!bytes.empty()) {
    const ssize_t written = ::pwrite(file_->descriptor(), bytes.data(), bytes.size(), off_t(at));
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) fail(errno);
    if (written == 0) fail(ENOSPC);
    at += std::uint64_t(written);
    bytes = bytes.subspan(std::size_t(written));
  }
}

void TiffTiles::put(std::size_t level, int tx, int ty, std::span<const std::uint8_t> compressed) {
  Level& of = levels_[level];
  const auto tile = std::size_t(ty) * std::size_t(of.tiles_across) + std::size_t(tx);
  write_all(end_, compressed);
  of.offsets[tile] = end_;
  of.lengths[tile] = compressed.size();
  end_ += compressed.size();
}

void TiffTiles::write(const std::vector<std::uint64_t>& values, const TiffFile::Numbers& to) {
  std::vector<std::uint8_t> raw(values.size() * to.bytes);
  for (std::size_t i = 0; i < values.size(); ++i) {
    // GDAL makes the numbers wide enough for what the raster can come to.
    if (to.bytes < 8 && values[i] >> (8 * to.bytes) != 0) fail(EFBIG);
    std::uint8_t* at = raw.data() + i * to.bytes;
    if (to.bytes == 2) to_bytes<std::uint16_t>(values[i], at);
    if (to.bytes == 4) to_bytes<std::uint32_t>(values[i], at);
    if (to.bytes == 8) to_bytes<std::uint64_t>(values[i], at);
  }
  write_all(to.at, raw);
}

void TiffTiles::finish() {
  for (std::size_t level = 0; level < levels_.size(); ++level) {
    write(levels_[level].offsets, offsets_[level]);
    write(levels_[level].lengths, lengths_[level]);
  }
  try {
    file_->close();
  } catch (const TiffFile::Unreadable& error) {
    fail(error.code);
  }
}

bool TiffTiles::whole() const {
  for (const Level& level : levels_) {
    for (std::size_t tile = 0; tile < level.offsets.size(); ++tile) {
      if (level.lengths[tile] == 0 || level.offsets[tile] + level.lengths[tile] > end_) return false;
    }
  }
  return true;
}

}  // namespace swardline
