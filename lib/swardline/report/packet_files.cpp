#include "swardline/report/packet_files.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "swardline/base/error.hpp"
#include "swardline/base/file_names.hpp"
#include "swardline/base/files.hpp"
#include "swardline/base/workers.hpp"
#include "swardline/report/sheet_page.hpp"

namespace swardline {
namespace {

namespace fs = std::filesystem;

/// File names by code.
std::map<std::string, std::string> packet_names(const std::vector<std::string>& codes) {
  std::vector<std::string> texts = {"all", "cards"};
  texts.insert(texts.end(), codes.begin(), codes.end());
  const std::vector<std::string> names = unique_file_names(texts);
  std::map<std::string, std::string> of;
  for (std::size_t i = 0; i < codes.size(); ++i) of[codes[i]] = names[i + 2] + ".html";
  return of;
}

bool is_older_sheet(const std::filesystem::directory_entry& entry, const std::vector<fs::path>& keep) {
  if (!entry.is_regular_file() || entry.path().extension() != ".html") return false;
  if (std::find(keep.begin(), keep.end(), entry.path()) != keep.end()) return false;
  bool ours = false;
  read_in_blocks(entry.path(), [&](std::string_view block) {
    ours = is_sheets_document(block);
    return false;
  });
  return ours;
}

/// A printed page of an earlier draw leads to places that are no plots any more.
int remove_older_sheets(const fs::path& folder, const std::vector<fs::path>& keep) {
  std::vector<fs::path> older;
  for (const auto& entry : std::filesystem::directory_iterator(folder))
    if (is_older_sheet(entry, keep)) older.push_back(entry.path());
  for (const fs::path& file : older) {
    std::error_code problem;
    if (!std::filesystem::remove(file, problem) && problem)
      throw IoError(
          {file.string(), 0, {}},
          fmt::format("is a sheet of an earlier packet and could not be removed: {}", problem.message()),
          "Remove it, and run again.");
  }
  return int(older.size());
}

/// Parts that have not taken their names go with this.
struct PacketParts {
  std::vector<fs::path> paths;
  PacketParts() = default;
  PacketParts(const PacketParts&) = delete;
  PacketParts& operator=(const PacketParts&) = delete;
  ~PacketParts() {
    for (const fs::path& file : paths) discard_part(file);
  }
};

}  // namespace

PacketWritten write_packet(const fs::path& folder, const std::string& season,
                           const std::vector<SitePages>& sites, const std::vector<std::string>& codes,
                           PacketOf what, int threads) {
  make_folder(folder);
  const std::map<std::string, std::string> names = packet_names(codes);
  PacketParts parts;
  for (const SitePages& site : sites) parts.paths.push_back(folder / names.at(site.code));
  in_runs(sites.size(), threads, [&](int, std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i)
      write_part(
          parts.paths[i],
          sheets_document(fmt::format("{} {}, {}", sites[i].code, sites[i].name, season), sites[i].sheets));
  });
  if (what == PacketOf::season) {
    std::vector<std::string> all;
    for (const SitePages& site : sites) all.insert(all.end(), site.sheets.begin(), site.sheets.end());
    parts.paths.push_back(folder / "all.html");
    write_part(parts.paths.back(), sheets_document("All site sheets, " + season, all));
  }
  publish_parts(parts.paths);
  PacketWritten written;
  written.files = parts.paths;
  if (what == PacketOf::season) written.removed = remove_older_sheets(folder, written.files);
  return written;
}

}  // namespace swardline
