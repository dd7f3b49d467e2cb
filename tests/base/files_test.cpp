#include "swardline/base/files.hpp"

#include <doctest/doctest.h>
#include <sys/mount.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <optional>
#include <string>

#include "swardline/base/error.hpp"

namespace files_test {

using namespace swardline;
namespace fs = std::filesystem;

namespace {

// A folder of this test's own that goes with it.
class Folder {
 public:
  Folder() {
    std::string name = (fs::temp_directory_path() / "swardline-files-XXXXXX").string();
    path_ = ::mkdtemp(name.data());
  }
  ~Folder() {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  [[nodiscard]] fs::path operator/(const char* name) const { return path_ / name; }
  [[nodiscard]] const fs::path& path() const { return path_; }

 private:
  fs::path path_;
};

// What the IoError says, or nothing when none is thrown.
template <class Action>
std::string io_problem(const Action& action) {
  try {
    action();
  } catch (const IoError& error) {
    CHECK(error.status() == Status::io);
    return error.what();
  }
  return {};
}

bool says(const std::string& text, const char* part) { return text.find(part) != std::string::npos; }

// Runs `action` as a user without root's right to write anywhere; false when the test
// is not run by root and thus has no such right to give up.
template <class Action>
bool as_nobody(const Action& action) {
  if (::geteuid() != 0) {
    action();
    return true;
  }
  if (::seteuid(65534) != 0) return false;
  action();
  return ::seteuid(0) == 0;
}

// A file system of 64 KiB in memory; empty where this process may not mount one.
class SmallDisk {
 public:
  explicit SmallDisk(const fs::path& where) : where_(where) {
    fs::create_directory(where_);
    mounted_ = ::mount("tmpfs", where_.c_str(), "tmpfs", 0, "size=64k") == 0;
  }
  ~SmallDisk() {
    if (mounted_) ::umount2(where_.c_str(), MNT_DETACH);
  }
  SmallDisk(const SmallDisk&) = delete;
  SmallDisk& operator=(const SmallDisk&) = delete;
  [[nodiscard]] bool mounted() const { return mounted_; }

 private:
  fs::path where_;
  bool mounted_ = false;
};

}  // namespace

TEST_CASE("a file is written whole and read back") {
  const Folder folder;
  const std::string content("one\0two\n", 8);
  write_whole(folder / "a.txt", content);
  CHECK(read_whole(folder / "a.txt") == content);
  write_whole(folder / "a.txt", "");
  CHECK(read_whole(folder / "a.txt").empty());
  CHECK_FALSE(fs::exists(folder / "a.txt.part"));
}

TEST_CASE("a part file takes the name of the whole one only when published") {
  const Folder folder;
  const fs::path path = folder / "map.tif";
  CHECK(part_path(path) == folder / "map.tif.part");
  write_whole(path, "old");
  std::ofstream(part_path(path)) << "new";
  CHECK(read_whole(path) == "old");
  publish(path);
  CHECK(read_whole(path) == "new");
  CHECK_FALSE(fs::exists(part_path(path)));
  std::ofstream(part_path(path)) << "unwanted";
  discard_part(path);
  CHECK_FALSE(fs::exists(part_path(path)));
  discard_part(path);
  CHECK(read_whole(path) == "new");
  CHECK(says(io_problem([&] { publish(path); }), "could not be written"));
}

TEST_CASE("a relative name without a folder is published in the working folder") {
  const Folder folder;
  const fs::path before = fs::current_path();
  fs::current_path(folder.path());
  write_whole("plain.txt", "x");
  fs::current_path(before);
  CHECK(read_whole(folder / "plain.txt") == "x");
}

TEST_CASE("a full disk is said and leaves the old file") {
  const Folder folder;
  const SmallDisk disk(folder / "disk");
  if (!disk.mounted()) {
    MESSAGE("skipped: mounting a small disk needs root");
    return;
  }
  const fs::path path = folder / "disk" / "table.csv";
  write_whole(path, "old");
  const std::string problem = io_problem([&] { write_whole(path, std::string(200000, 'x')); });
  CHECK(says(problem, "table.csv: could not be written: the disk is full. Free some space"));
  CHECK(read_whole(path) == "old");
  CHECK_FALSE(fs::exists(part_path(path)));
}

TEST_CASE("a device that takes nothing is a full disk too") {
  if (!fs::exists("/dev/full")) return;
  const Folder folder;
  fs::create_symlink("/dev/full", folder / "a.txt.part");
  CHECK(says(io_problem([&] { write_whole(folder / "a.txt", "x"); }), "the disk is full"));
  CHECK_FALSE(fs::exists(folder / "a.txt"));
}

TEST_CASE("a read-only folder is said with its remedy") {
  const Folder folder;
  write_whole(folder / "a.txt", "old");
  fs::permissions(folder.path(), fs::perms::owner_read | fs::perms::owner_exec | fs::perms::others_read |
                                     fs::perms::others_exec);
  std::string writing;
  std::string making;
  std::string locking;
  const bool tried = as_nobody([&] {
    writing = io_problem([&] { write_whole(folder / "a.txt", "new"); });
    making = io_problem([&] { make_folder(folder / "out/score"); });
    locking = io_problem([&] { const FolderLock lock(folder.path()); });
  });
  fs::permissions(folder.path(), fs::perms::owner_all);
  REQUIRE(tried);
  CHECK(says(writing, "a.txt: could not be written: Permission denied. Make "));
  CHECK(says(writing, (folder.path().string() + " writable for you").c_str()));
  CHECK(says(making, "out: could not be written: Permission denied."));
  CHECK(says(locking, "nothing can be written in the season's folder: Permission denied."));
  CHECK(says(locking, "copy the folder to where you may write"));
  CHECK(read_whole(folder / "a.txt") == "old");
}

TEST_CASE("a missing folder, a folder in the way and a file in the way are said") {
  const Folder folder;
  CHECK(says(io_problem([&] { write_whole(folder / "no/a.txt", "x"); }), "Make the folder"));
  fs::create_directory(folder / "b");
  CHECK(says(io_problem([&] { write_whole(folder / "b", "x"); }), "a folder of this name is in the way"));
  CHECK_FALSE(fs::exists(folder / "b.part"));
  write_whole(folder / "c", "x");
  CHECK(says(io_problem([&] { make_folder(folder / "c/d"); }), "c: a file of this name is in the way"));
}

TEST_CASE("reading what is not there or is a folder is said") {
  const Folder folder;
  CHECK(says(io_problem([&] { (void)read_whole(folder / "none"); }), "none: is not there."));
  CHECK(says(io_problem([&] { (void)read_whole(folder.path()); }), "is a folder, not a file."));
  CHECK(says(io_problem([&] { (void)content_fingerprint(folder / "none"); }), "is not there."));
}

TEST_CASE("folders are made with their parents and may be there already") {
  const Folder folder;
  make_folder(folder / "out/held-down");
  CHECK(fs::is_directory(folder / "out/held-down"));
  CHECK_NOTHROW(make_folder(folder / "out/held-down/"));
  CHECK_NOTHROW(make_folder(""));
}

TEST_CASE("one lock per folder, free again when its holder is gone") {
  const Folder folder;
  std::optional<FolderLock> lock(std::in_place, folder.path());
  const std::string problem = io_problem([&] { const FolderLock second(folder.path()); });
  CHECK(says(problem, "another run is working in this folder (process "));
  CHECK(says(problem, std::to_string(::getpid()).c_str()));
  lock.reset();
  CHECK_NOTHROW(FolderLock(folder.path()));
}

TEST_CASE("a killed holder leaves no lock behind") {
  const Folder folder;
  int pipe_ends[2] = {-1, -1};
  REQUIRE(::pipe(pipe_ends) == 0);
  const pid_t child = ::fork();
  REQUIRE(child >= 0);
  if (child == 0) {
    try {
      const FolderLock lock(folder.path());
      (void)!::write(pipe_ends[1], "x", 1);
      while (true) ::pause();
    } catch (...) {
      ::_exit(1);
    }
  }
  char byte = 0;
  REQUIRE(::read(pipe_ends[0], &byte, 1) == 1);
  CHECK_THROWS_AS(FolderLock(folder.path()), IoError);
  ::kill(child, SIGKILL);
  ::waitpid(child, nullptr, 0);
  CHECK_NOTHROW(FolderLock(folder.path()));
  ::close(pipe_ends[0]);
  ::close(pipe_ends[1]);
}

TEST_CASE("fingerprints follow the content only") {
  // XXH64 with seed 0, by `xxhsum -H1` of Debian's package xxhash 0.8.1.
  CHECK(text_fingerprint("") == "ef46db3751d8e999");
  CHECK(text_fingerprint("a") == "d24ec4f1a98c6e5b");
  CHECK(text_fingerprint("foobar") == "a2aa05ed9085aaf9");
  const Folder folder;
  std::string large(3 * (std::size_t{1} << 20) + 17, 'x');
  write_whole(folder / "large", large);
  CHECK(content_fingerprint(folder / "large") == text_fingerprint(large));
  large.back() = 'y';
  CHECK(content_fingerprint(folder / "large") != text_fingerprint(large));
}

TEST_CASE("parts of many files are not seen until they take their names together") {
  const Folder folder;
  const fs::path a = folder / "a.txt", b = folder / "b.txt";
  write_whole(a, "old");
  write_part(a, "new a");
  write_part(b, "new b");
  CHECK(read_whole(a) == "old");
  CHECK_FALSE(fs::exists(b));
  publish_parts({a, b});
  CHECK(read_whole(a) == "new a");
  CHECK(read_whole(b) == "new b");
  CHECK_FALSE(fs::exists(part_path(a)));
  CHECK_THROWS_AS(publish_parts({a}), IoError);  // there is no part any more
  CHECK(read_whole(a) == "new a");
}

TEST_CASE("a copy is the same, flushed, and its fingerprint is told; blocks stop when asked") {
  const Folder folder;
  const std::string large(2 * (std::size_t{1} << 20) + 5, 'x');
  write_whole(folder / "from", large);
  CHECK(copy_flushed(folder / "from", folder / "to") == text_fingerprint(large));
  CHECK(read_whole(folder / "to") == large);
  rename_flushed(folder / "to", folder / "there");
  CHECK_FALSE(fs::exists(folder / "to"));
  CHECK(read_whole(folder / "there") == large);
  std::size_t bytes = 0;
  int blocks = 0;
  read_in_blocks(folder / "there", [&](std::string_view block) {
    bytes += block.size();
    return ++blocks < 2;
  });
  CHECK(blocks == 2);
  CHECK(bytes < large.size());
  CHECK_THROWS_AS((void)copy_flushed(folder / "none", folder / "to"), IoError);
}

}  // namespace files_test
