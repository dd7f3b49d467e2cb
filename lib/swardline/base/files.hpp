// Files that appear whole or not at all, and the lock that keeps two runs apart.
#pragma once

#include <filesystem>
#include <functional>
#include <string>
#include <string_view>

namespace swardline {

/// "name.ext.part" beside `path`.
[[nodiscard]] std::filesystem::path part_path(const std::filesystem::path& path);

/// Flushes `part_path(path)` to disk and renames it to `path`. Throws IoError.
void publish(const std::filesystem::path& path);

/// Removes `part_path(path)` if it is there; never throws.
void discard_part(const std::filesystem::path& path) noexcept;

/// Writes the whole content beside, then renames. Throws IoError (full disk,
/// read-only folder) and leaves the old file as it was.
void write_whole(const std::filesystem::path& path, std::string_view content);

/// Reads a file whole (plans, sheets: small). Throws IoError.
[[nodiscard]] std::string read_whole(const std::filesystem::path& path);

/// Hands a file on block by block, so that one of any size needs one block of memory, until `take` returns
/// false. Throws IoError.
void read_in_blocks(const std::filesystem::path& path, const std::function<bool(std::string_view)>& take);

/// Copies a file block by block and flushes the copy to disk; returns the fingerprint of what was copied.
/// Throws IoError.
[[nodiscard]] std::string copy_flushed(const std::filesystem::path& from, const std::filesystem::path& to);

/// Renames within a disk and flushes the folder it is renamed into. Throws IoError.
void rename_flushed(const std::filesystem::path& from, const std::filesystem::path& to);

/// Makes the folder and its parents. Throws IoError naming the folder that cannot be written.
void make_folder(const std::filesystem::path& path);

/// One lock per season folder, held while the object lives; released by the system
/// when the process dies. Throws IoError when another process holds it.
class FolderLock {
 public:
  explicit FolderLock(const std::filesystem::path& folder);
  ~FolderLock();
  FolderLock(const FolderLock&) = delete;
  FolderLock& operator=(const FolderLock&) = delete;

 private:
  int descriptor_ = -1;
};

/// Size and modification time of a file against a fingerprint of its content:
/// 64-bit hash as 16 hex digits. `content_fingerprint` reads the file in blocks.
[[nodiscard]] std::string content_fingerprint(const std::filesystem::path& path);
[[nodiscard]] std::string text_fingerprint(std::string_view text);

}  // namespace swardline
