#include "swardline/base/files.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>
#define XXH_INLINE_ALL  // the header alone: no library to link
#include <xxhash.h>

#include <array>
#include <cerrno>
#include <cstdint>
#include <cstring>
#include <set>
#include <span>
#include <system_error>

#include "swardline/base/error.hpp"

namespace swardline {
namespace {

namespace fs = std::filesystem;

// A descriptor that closes itself.
class Descriptor {
 public:
  explicit Descriptor(int number) : number_(number) {}
  ~Descriptor() {
    if (number_ >= 0) ::close(number_);
  }
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  [[nodiscard]] int get() const { return number_; }
  [[nodiscard]] bool good() const { return number_ >= 0; }
  // Closes now, because some file systems say only then that the disk was full.
  [[nodiscard]] int close_now() {
    const int result = ::close(number_);
    number_ = -1;
    return result;
  }

 private:
  int number_;
};

std::string reason(int code) { return std::generic_category().message(code); }

fs::path folder_of(const fs::path& path) {
  const fs::path folder = path.parent_path();
  return folder.empty() ? fs::path(".") : folder;
}

[[noreturn]] void cannot_write(const fs::path& path, int code) {
  const Place place{path.string(), 0, {}};
  switch (code) {
    case ENOSPC:
    case EDQUOT:
      throw IoError(place, "could not be written: the disk is full",
                    "Free some space, or write to another disk, and run again; what was there before is "
                    "unchanged.");
    case EACCES:
    case EPERM:
    case EROFS:
      throw IoError(
          place, fmt::format("could not be written: {}", reason(code)),
          fmt::format("Make {} writable for you, or name another output folder.", folder_of(path).string()));
    case ENOENT:
    case ENOTDIR:
      throw IoError(place, fmt::format("could not be written: {}", reason(code)),
                    fmt::format("Make the folder {} first.", folder_of(path).string()));
    case EISDIR:
    case ENOTEMPTY:
    case EEXIST:
      throw IoError(place, "could not be written: a folder of this name is in the way",
                    "Move the folder away, or name another output.");
    default:
      throw IoError(place, fmt::format("could not be written: {}", reason(code)),
                    "Check the disk and run again; what was there before is unchanged.");
  }
}

[[noreturn]] void cannot_read(const fs::path& path, int code) {
  const Place place{path.string(), 0, {}};
  if (code == ENOENT || code == ENOTDIR) {
    throw IoError(place, "is not there", "Check the name and the folder it is looked for in.");
  }
  if (code == EISDIR) throw IoError(place, "is a folder, not a file", "Name the file inside it.");
  throw IoError(place, fmt::format("could not be read: {}", reason(code)), "Check the file's permissions.");
}

// A rename reaches the disk only with its folder. Some file systems cannot flush a folder; they say EINVAL.
void flush_folder(const fs::path& path) {
  const fs::path folder = folder_of(path);
  const Descriptor file(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  if (!file.good()) {
    if (errno == EACCES) return;  // a folder one may write into but not list
    cannot_write(path, errno);
  }
  if (::fsync(file.get()) != 0 && errno != EINVAL && errno != ENOTSUP) cannot_write(path, errno);
}

void flush_part(const fs::path& path) {
  Descriptor file(::open(part_path(path).c_str(), O_RDONLY | O_CLOEXEC));
  if (!file.good()) cannot_write(path, errno);
  if (::fsync(file.get()) != 0) cannot_write(path, errno);
  if (file.close_now() != 0) cannot_write(path, errno);
}

void rename_part(const fs::path& path) {
  if (::rename(part_path(path).c_str(), path.c_str()) != 0) cannot_write(path, errno);
}

void write_all(int descriptor, std::string_view content, const fs::path& path) {
  while (!content.empty()) {
    const ssize_t written = ::write(descriptor, content.data(), content.size());
    if (written < 0) {
      if (errno == EINTR) continue;
      cannot_write(path, errno);
    }
    content.remove_prefix(static_cast<std::size_t>(written));
  }
}

// Calls `take` with one block after another, until it returns false: a file of any size needs one block of
// memory.
template <class Take>
void read_blocks(const fs::path& path, const Take& take) {
  const Descriptor file(::open(path.c_str(), O_RDONLY | O_CLOEXEC));
  if (!file.good()) cannot_read(path, errno);
  std::string block(std::size_t{1} << 20, '\0');
  while (true) {
    const ssize_t got = ::read(file.get(), block.data(), block.size());
    if (got < 0) {
      if (errno == EINTR) continue;
      cannot_read(path, errno);
    }
    if (got == 0 || !take(std::string_view(block.data(), static_cast<std::size_t>(got)))) return;
  }
}

// XXH64 (Collet, xxHash specification): tells edited files apart at the speed of reading them, and is no
// protection against somebody who wants two files to agree.
class Fingerprint {
 public:
  Fingerprint() { XXH64_reset(&state_, 0); }
  void add(std::string_view bytes) { XXH64_update(&state_, bytes.data(), bytes.size()); }
  [[nodiscard]] std::string text() const { return fmt::format("{:016x}", XXH64_digest(&state_)); }

 private:
  XXH64_state_t state_{};
};

// The number an earlier run left in the lock file; empty when there is none.
std::string process_in(int descriptor) {
  std::array<char, 20> digits{};
  const ssize_t got = ::pread(descriptor, digits.data(), digits.size(), 0);
  std::string out;
  for (ssize_t i = 0; i < got; ++i) {
    const char c = digits[static_cast<std::size_t>(i)];
    if (c < '0' || c > '9') break;
    out += c;
  }
  return out;
}

}  // namespace

fs::path part_path(const fs::path& path) {
  fs::path part = path;
  part += ".part";
  return part;
}

void publish(const fs::path& path) {
  flush_part(path);
  rename_part(path);
  flush_folder(path);
}

void discard_part(const fs::path& path) noexcept {
  try {
    std::error_code ignored;
    fs::remove(part_path(path), ignored);
  } catch (...) {  // NOLINT(bugprone-empty-catch): out of memory while tidying up changes nothing
  }
}

void write_part(const fs::path& path, std::string_view content) {
  try {
    Descriptor file(::open(part_path(path).c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666));
    if (!file.good()) cannot_write(path, errno);
    write_all(file.get(), content, path);
    if (::fsync(file.get()) != 0) cannot_write(path, errno);
    if (file.close_now() != 0) cannot_write(path, errno);
  } catch (...) {
    discard_part(path);
    throw;
  }
}

void publish_parts(const std::vector<fs::path>& paths) {
  std::set<fs::path> folders;
  for (const fs::path& path : paths) {
    rename_part(path);
    folders.insert(folder_of(path));
  }
  for (const fs::path& folder : folders) flush_folder(folder / "any");
}

void write_whole(const fs::path& path, std::string_view content) {
  write_part(path, content);
  try {
    rename_part(path);
    flush_folder(path);
  } catch (...) {
    discard_part(path);
    throw;
  }
}

std::string read_whole(const fs::path& path) {
  std::string content;
  read_blocks(path, [&content](std::string_view block) {
    content += block;
    return true;
  });
  return content;
}

void read_in_blocks(const fs::path& path, const std::function<bool(std::string_view)>& take) {
  read_blocks(path, take);
}

std::string copy_flushed(const fs::path& from, const fs::path& to) {
  Descriptor file(::open(to.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666));
  if (!file.good()) cannot_write(to, errno);
  Fingerprint print;
  read_blocks(from, [&](std::string_view block) {
    print.add(block);
    write_all(file.get(), block, to);
    return true;
  });
  if (::fsync(file.get()) != 0) cannot_write(to, errno);
  if (file.close_now() != 0) cannot_write(to, errno);
  return print.text();
}

void rename_flushed(const fs::path& from, const fs::path& to) {
  if (::rename(from.c_str(), to.c_str()) != 0) cannot_write(to, errno);
  flush_folder(to);
}

void make_folder(const fs::path& path) {
  if (path.empty()) return;
  fs::path here;
  for (const fs::path& step : path) {
    here /= step;
    if (::mkdir(here.c_str(), 0777) == 0) continue;
    const int code = errno;
    std::error_code ignored;
    if (fs::is_directory(here, ignored)) continue;
    if (code == EEXIST || code == ENOTDIR) {
      throw IoError({here.string(), 0, {}}, "a file of this name is in the way of the folder",
                    "Move the file away, or name another folder.");
    }
    cannot_write(here, code);
  }
  if (::access(path.c_str(), W_OK | X_OK) != 0) cannot_write(path / "", errno);
}

FolderLock::FolderLock(const fs::path& folder) {
  const fs::path path = folder / ".swardline.lock";
  descriptor_ = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0666);
  if (descriptor_ < 0) {
    const int code = errno;
    // Another output folder would not help: stores and lists are kept beside the plan.
    if (code == EACCES || code == EPERM || code == EROFS)
      throw IoError({folder.string(), 0, {}},
                    fmt::format("nothing can be written in the season's folder: {}", reason(code)),
                    "Make it writable for you, or copy the folder to where you may write, and work there.");
    cannot_write(path, code);
  }
  int result = 0;
  do {
    result = ::flock(descriptor_, LOCK_EX | LOCK_NB);
  } while (result != 0 && errno == EINTR);
  if (result == 0) {
    // Only to help a person find the run; that it fails on a full disk does not matter.
    const std::string process = std::to_string(::getpid()) + "\n";
    if (::ftruncate(descriptor_, 0) == 0) {
      [[maybe_unused]] const ssize_t written = ::pwrite(descriptor_, process.data(), process.size(), 0);
    }
    return;
  }
  const int code = errno;
  const std::string process = process_in(descriptor_);
  ::close(descriptor_);
  const Place place{folder.string(), 0, {}};
  if (code == EWOULDBLOCK) {
    throw IoError(place,
                  fmt::format("another run is working in this folder{}",
                              process.empty() ? std::string() : fmt::format(" (process {})", process)),
                  "Wait until it has finished, and run again.");
  }
  throw IoError(place, fmt::format("could not be locked: {}", reason(code)),
                "Copy the season to a disk of this machine; some network disks know no locks.");
}

FolderLock::~FolderLock() {
  // Closing releases the lock. The file stays: removing it would let two runs hold "the" lock.
  ::close(descriptor_);
}

std::string content_fingerprint(const fs::path& path) {
  Fingerprint print;
  read_blocks(path, [&print](std::string_view block) {
    print.add(block);
    return true;
  });
  return print.text();
}

std::string text_fingerprint(std::string_view text) {
  Fingerprint print;
  print.add(text);
  return print.text();
}

}  // namespace swardline
