#include "swardline/habitat/tiff_tiles.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>
#include <system_error>

#include "swardline/base/error.hpp"

namespace swardline {
namespace {

// TIFF Revision 6.0 (Adobe, 1992), sections 2, 8 and 15; BigTIFF widens counts and places to eight bytes.
constexpr std::uint64_t image_width = 256, image_length = 257, tile_width = 322, tile_length = 323,
                        tile_offsets = 324, tile_byte_counts = 325;
constexpr std::uint64_t classic_version = 42, big_version = 43;

/// Bytes of one value by TIFF's number of its type; 0 where there is no such type.
std::uint64_t bytes_of(std::uint64_t type) {
  constexpr std::array<std::uint8_t, 19> bytes{0, 1, 1, 2, 4, 8, 1, 1, 2, 4, 8, 4, 8, 4, 0, 0, 8, 8, 8};
  return type < bytes.size() ? bytes[type] : 0;
}

int tiles_for(std::uint64_t cells, std::uint64_t tile) { return int((cells + tile - 1) / tile); }

// The file is of this machine's byte order: the first bytes of a number are not always its lowest.
template <typename Whole>
std::uint64_t from_bytes(const std::uint8_t* bytes) {
  Whole value = 0;
  std::memcpy(&value, bytes, sizeof value);
  return value;
}
template <typename Whole>
void to_bytes(std::uint64_t value, std::uint8_t* bytes) {
  const auto narrow = static_cast<Whole>(value);
  std::memcpy(bytes, &narrow, sizeof narrow);
}

std::uint64_t decoded(const std::uint8_t* bytes, std::uint64_t width) {
  if (width == 2) return from_bytes<std::uint16_t>(bytes);
  if (width == 4) return from_bytes<std::uint32_t>(bytes);
  return from_bytes<std::uint64_t>(bytes);
}

}  // namespace

TiffTiles::TiffTiles(const std::filesystem::path& file, std::filesystem::path named)
    : named_(std::move(named)), descriptor_(::open(file.c_str(), O_RDWR | O_CLOEXEC)) {
  if (descriptor_ < 0) fail(errno);
  try {
    struct stat status {};
    if (::fstat(descriptor_, &status) != 0) fail(errno);
    end_ = std::uint64_t(status.st_size);
    constexpr std::uint64_t after_order = 2, classic_first = 4, big_first = 8;
    const std::uint64_t version = number(after_order, 2);
    if (version != classic_version && version != big_version) refuse();
    const bool big = version == big_version;
    std::uint64_t next = big ? number(big_first, 8) : number(classic_first, 4);
    while (next != 0) {
      const std::uint64_t entries = number(next, big ? 8 : 2);
      read_directory(next, big);
      next = big ? number(next + 8 + entries * 20, 8) : number(next + 2 + entries * 12, 4);
    }
    if (levels_.empty()) refuse();
  } catch (...) {
    ::close(descriptor_);
    throw;
  }
}

TiffTiles::~TiffTiles() {
  if (descriptor_ >= 0) ::close(descriptor_);
}

void TiffTiles::fail(int code) const {
  throw IoError({named_.string(), 0, {}},
                "could not be written: " + std::generic_category().message(code) + ".",
                "Check that the disk has room and the folder can be written, and run again; what was there "
                "before is unchanged.");
}

void TiffTiles::refuse() const {
  throw IoError({named_.string(), 0, {}}, "could not be written: its directories are not whole.",
                "Check that the disk has room and run again; what was there before is unchanged.");
}

std::uint64_t TiffTiles::number(std::uint64_t at, std::uint64_t bytes) const {
  std::uint8_t raw[8] = {};
  if (::pread(descriptor_, raw, bytes, off_t(at)) != ssize_t(bytes)) refuse();
  return decoded(raw, bytes);
}

// An entry: tag, type, count, and the numbers themselves or, where they need more room, their place.
TiffTiles::Numbers TiffTiles::numbers(std::uint64_t entry, bool big) const {
  const std::uint64_t room = big ? 8 : 4;
  Numbers of;
  of.bytes = bytes_of(number(entry + 2, 2));
  of.count = number(entry + 4, room);
  if (of.bytes == 0) refuse();
  const std::uint64_t value = entry + 4 + room;
  of.at = of.count * of.bytes <= room ? value : number(value, room);
  if (of.at + of.count * of.bytes > end_) refuse();  // cut off
  return of;
}

std::vector<std::uint64_t> TiffTiles::read(const Numbers& from) const {
  std::vector<std::uint8_t> raw(from.count * from.bytes);
  if (::pread(descriptor_, raw.data(), raw.size(), off_t(from.at)) != ssize_t(raw.size())) refuse();
  std::vector<std::uint64_t> values(from.count);
  for (std::size_t i = 0; i < values.size(); ++i)
    values[i] = decoded(raw.data() + i * from.bytes, from.bytes);
  return values;
}

void TiffTiles::read_directory(std::uint64_t at, bool big) {
  const std::uint64_t entries = number(at, big ? 8 : 2), first = at + (big ? 8 : 2), step = big ? 20 : 12;
  std::uint64_t cols = 0, rows = 0, width = 0, height = 0;
  Numbers offsets, lengths;
  for (std::uint64_t e = 0; e < entries; ++e) {
    const std::uint64_t entry = first + e * step, tag = number(entry, 2);
    const Numbers value = numbers(entry, big);
    if (tag == tile_offsets) offsets = value;
    if (tag == tile_byte_counts) lengths = value;
    if (tag == image_width) cols = number(value.at, value.bytes);
    if (tag == image_length) rows = number(value.at, value.bytes);
    if (tag == tile_width) width = number(value.at, value.bytes);
    if (tag == tile_length) height = number(value.at, value.bytes);
  }
  if (cols == 0 || rows == 0 || width == 0 || height == 0) refuse();
  Level level;
  level.cols = int(cols);
  level.rows = int(rows);
  level.tiles_across = tiles_for(cols, width);
  level.tiles_down = tiles_for(rows, height);
  const std::uint64_t tiles = std::uint64_t(level.tiles_across) * std::uint64_t(level.tiles_down);
  if (offsets.count != tiles || lengths.count != tiles) refuse();
  level.offsets = read(offsets);
  level.lengths = read(lengths);
  levels_.push_back(std::move(level));
  offsets_.push_back(offsets);
  lengths_.push_back(lengths);
}

void TiffTiles::write_all(std::uint64_t at, std::span<const std::uint8_t> bytes) {
  while (!bytes.empty()) {
    const ssize_t written = ::pwrite(descriptor_, bytes.data(), bytes.size(), off_t(at));
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

void TiffTiles::write(const std::vector<std::uint64_t>& values, const Numbers& to) {
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
  const int closed = ::close(descriptor_);
  descriptor_ = -1;
  if (closed != 0) fail(errno);  // some file systems say only now that the disk is full
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
