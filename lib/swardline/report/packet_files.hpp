// A season's packet as files: a page for each site, and one of all.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace swardline {

/// The sheets of one site, as sheet_markup makes them.
struct SitePages {
  std::string code, name;
  std::vector<std::string> sheets;
};

/// What is written beside the sites' pages.
enum class PacketOf {
  season,  ///< all.html too; pages of sites that are no longer there are removed
  sites    ///< these sites' pages alone: all.html and the others stay
};

struct PacketWritten {
  std::vector<std::filesystem::path> files;
  int removed = 0;
};

/// Writes `folder`/CODE.html, or as near to it as a file name comes; "all" and "cards" are taken. `codes` are
/// all of the season's, so that one site alone gets the name it has among all. All files are written beside
/// first and then take their names; only pages that this library wrote are ever removed. Throws IoError.
PacketWritten write_packet(const std::filesystem::path& folder, const std::string& season,
                           const std::vector<SitePages>& sites, const std::vector<std::string>& codes,
                           PacketOf what, int threads);

}  // namespace swardline
