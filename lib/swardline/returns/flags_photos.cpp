// Pictures that carry the place they were taken at.
#include <fmt/format.h>
#include <gdal_priv.h>

#include <algorithm>
#include <memory>
#include <set>
#include <system_error>

#include "swardline/base/text.hpp"
#include "swardline/geo/gdal_errors.hpp"
#include "swardline/returns/flag_parts.hpp"
#include "swardline/season/days.hpp"

namespace swardline::return_parts {
namespace {

bool is_picture(const std::filesystem::path& file) {
  const std::string ending = lower_ascii(file.extension().string());
  return ending == ".jpg" || ending == ".jpeg" || ending == ".png" || ending == ".tif" || ending == ".tiff" ||
         ending == ".webp" || ending == ".heic" || ending == ".heif";
}

/// The picture's own record of a position (EXIF), as GDAL gives it.
bool carries_position(const std::filesystem::path& file) {
  const GdalErrors quiet;  // what cannot be opened is no picture
  const std::unique_ptr<GDALDataset> picture(
      GDALDataset::Open(file.c_str(), GDAL_OF_RASTER | GDAL_OF_READONLY));
  if (!picture) return false;
  for (const char* domain : {"", "EXIF"})
    for (const char* item : {"EXIF_GPSLatitude", "EXIF_GPSLongitude"})
      if (picture->GetMetadataItem(item, domain) != nullptr) return true;
  return false;
}

std::set<std::string> with_positions(const std::filesystem::path& folder) {
  std::set<std::string> names;
  std::error_code failed;
  auto at = std::filesystem::recursive_directory_iterator(folder, failed);
  for (; !failed && at != std::filesystem::recursive_directory_iterator(); at.increment(failed)) {
    std::error_code gone;
    if (at->is_regular_file(gone) && is_picture(at->path()) && carries_position(at->path()))
      names.insert(at->path().filename().string());
  }
  return names;
}

/// Names in a cell, set apart by semicolons, commas or blanks.
bool names_one_of(const std::string& cell, const std::set<std::string>& names) {
  std::size_t begin = 0;
  while (begin < cell.size()) {
    const std::size_t end = std::min(cell.find_first_of(";, ", begin), cell.size());
    const std::string name = std::filesystem::path(cell.substr(begin, end - begin)).filename().string();
    if (names.contains(name)) return true;
    begin = end + 1;
  }
  return false;
}

}  // namespace

void check_photos(const Material& material, Findings& findings) {
  const std::filesystem::path& folder = material.season.plan.returns.photos;
  if (folder.empty()) return;
  GDALAllRegister();
  const std::set<std::string> names = with_positions(folder);
  if (names.empty()) return;
  std::vector<std::uint32_t> rows;
  for (std::uint32_t i = 0; i < material.returns.rows.size(); ++i)
    if (material.row(i).has_photo && !material.row(i).left_out &&
        names_one_of(material.text(i, ReturnColumn::photos), names))
      rows.push_back(i);
  const bool one = names.size() == 1;
  findings.add({27, rows, -1, ReturnColumn::photos, some_of({names.begin(), names.end()}),
                fmt::format("{} {} position{} in the picture's own data.",
                            counted_words(names.size(), "photo", "photos"),
                            one ? "carries an exact" : "carry exact", one ? "" : "s"),
                "Strip them before anything is shared; a shared picture must not give the place away."});
}

}  // namespace swardline::return_parts
