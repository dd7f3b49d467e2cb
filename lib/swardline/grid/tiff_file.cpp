#include "swardline/grid/tiff_file.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>

namespace swardline {
namespace {

constexpr std::uint64_t classic_version = 42, big_version = 43;
/// More than any raster has overviews; a chain of directories that is longer runs in a circle.
constexpr std::size_t most_directories = 64;

/// Bytes of one value by TIFF's number of its type; 0 where there is no such type.
std::uint64_t bytes_of(std::uint64_t type) {
  constexpr std::array<std::uint8_t, 19> bytes{0, 1, 1, 2, 4, 8, 1, 1, 2, 4, 8, 4, 8, 4, 0, 0, 8, 8, 8};
  return type < bytes.size() ? bytes[type] : 0;
}

// The file is of this machine's byte order: the first bytes of a number are not always its lowest.
template <typename Whole>
std::uint64_t from_bytes(const std::uint8_t* bytes) {
  Whole value = 0;
  std::memcpy(&value, bytes, sizeof value);
  return value;
}

std::uint64_t decoded(const std::uint8_t* bytes, std::uint64_t width) {
  if (width == 1) return *bytes;
  if (width == 2) return from_bytes<std::uint16_t>(bytes);
  if (width == 4) return from_bytes<std::uint32_t>(bytes);
  return from_bytes<std::uint64_t>(bytes);
}

}  // namespace

TiffFile::TiffFile(const std::filesystem::path& file, bool to_write)
    : descriptor_(::open(file.c_str(), (to_write ? O_RDWR : O_RDONLY) | O_CLOEXEC)) {
  if (descriptor_ < 0) throw Unreadable{errno};
  try {
    struct stat status {};
    if (::fstat(descriptor_, &status) != 0) throw Unreadable{errno};
    size_ = std::uint64_t(status.st_size);
    read_directories();
  } catch (...) {
    ::close(descriptor_);
    throw;
  }
}

TiffFile::~TiffFile() {
  if (descriptor_ >= 0) ::close(descriptor_);
}

void TiffFile::close() {
  const int closed = ::close(descriptor_);
  descriptor_ = -1;
  if (closed != 0) throw Unreadable{errno};
}

void TiffFile::read_directories() {
  constexpr std::uint64_t after_order = 2, classic_first = 4, big_first = 8;
  const std::uint64_t version = number(after_order, 2);
  if (version != classic_version && version != big_version) throw Unreadable{};
  const bool big = version == big_version;
  std::uint64_t at = big ? number(big_first, 8) : number(classic_first, 4);
  while (at != 0 && directories_.size() < most_directories) {
    const std::uint64_t entries = number(at, big ? 8 : 2), first = at + (big ? 8 : 2), step = big ? 20 : 12;
    Directory& directory = directories_.emplace_back();
    for (std::uint64_t entry = first; entry < first + entries * step; entry += step)
      directory[number(entry, 2)] = numbers(entry, big);
    at = number(first + entries * step, big ? 8 : 4);
  }
  if (directories_.empty()) throw Unreadable{};
}

std::uint64_t TiffFile::number(std::uint64_t at, std::uint64_t bytes) const {
  std::uint8_t raw[8] = {};
  if (::pread(descriptor_, raw, bytes, off_t(at)) != ssize_t(bytes)) throw Unreadable{};
  return decoded(raw, bytes);
}

// An entry: tag, type, count, and the numbers themselves or, where they need more room, their place.
TiffFile::Numbers TiffFile::numbers(std::uint64_t entry, bool big) const {
  const std::uint64_t room = big ? 8 : 4;
  Numbers of;
  of.bytes = bytes_of(number(entry + 2, 2));
  of.count = number(entry + 4, room);
  if (of.bytes == 0 || of.count > size_) throw Unreadable{};
  const std::uint64_t value = entry + 4 + room;
  of.at = of.count * of.bytes <= room ? value : number(value, room);
  if (of.at + of.count * of.bytes > size_) throw Unreadable{};  // cut off
  return of;
}

std::vector<std::uint64_t> TiffFile::read(const Numbers& from) const {
  std::vector<std::uint8_t> raw(from.count * from.bytes);
  if (::pread(descriptor_, raw.data(), raw.size(), off_t(from.at)) != ssize_t(raw.size())) throw Unreadable{};
  std::vector<std::uint64_t> values(from.count);
  for (std::size_t i = 0; i < values.size(); ++i)
    values[i] = decoded(raw.data() + i * from.bytes, from.bytes);
  return values;
}

std::uint64_t TiffFile::first(const Directory& of, std::uint64_t tag, std::uint64_t otherwise) const {
  const auto found = of.find(tag);
  if (found == of.end()) return otherwise;
  if (found->second.count == 0) throw Unreadable{};
  return number(found->second.at, found->second.bytes);
}

}  // namespace swardline
