// The directories of a TIFF, read past GDAL. Private to the stages that read or write tiles themselves.
#pragma once

#include <cstdint>
#include <filesystem>
#include <map>
#include <vector>

namespace swardline {

/// An open TIFF (classic or BigTIFF, of this machine's byte order) and the entries of its directories (TIFF
/// Revision 6.0, Adobe, 1992, section 2; BigTIFF widens counts and places to eight bytes).
class TiffFile {
 public:
  /// Thrown by everything here: an error of the system (errno), or 0 where the directories are not whole or
  /// it is no such TIFF.
  struct Unreadable {
    int code = 0;
  };
  /// Where a directory keeps the numbers of one tag.
  struct Numbers {
    std::uint64_t at = 0, count = 0;
    std::uint64_t bytes = 0;  ///< of one number
  };
  using Directory = std::map<std::uint64_t, Numbers>;  ///< by tag

  TiffFile(const std::filesystem::path& file, bool to_write);
  ~TiffFile();
  TiffFile(const TiffFile&) = delete;
  TiffFile& operator=(const TiffFile&) = delete;

  /// The raster, then its overviews.
  [[nodiscard]] const std::vector<Directory>& directories() const { return directories_; }
  [[nodiscard]] std::vector<std::uint64_t> read(const Numbers& from) const;
  /// The first number of a tag; `otherwise` where the directory has none.
  [[nodiscard]] std::uint64_t first(const Directory& of, std::uint64_t tag, std::uint64_t otherwise) const;
  [[nodiscard]] int descriptor() const { return descriptor_; }
  [[nodiscard]] std::uint64_t size() const { return size_; }  ///< bytes when it was opened
  /// Some file systems say only now that the disk is full.
  void close();

 private:
  void read_directories();
  [[nodiscard]] std::uint64_t number(std::uint64_t at, std::uint64_t bytes) const;
  [[nodiscard]] Numbers numbers(std::uint64_t entry, bool big) const;

  int descriptor_ = -1;
  std::uint64_t size_ = 0;
  std::vector<Directory> directories_;
};

/// Tags of TIFF Revision 6.0, sections 8, 14 and 15.
namespace tiff_tag {
inline constexpr std::uint64_t image_width = 256, image_length = 257, bits_per_sample = 258,
                               compression = 259, photometric = 262, fill_order = 266,
                               samples_per_pixel = 277, predictor = 317, tile_width = 322, tile_length = 323,
                               tile_offsets = 324, tile_byte_counts = 325, sample_format = 339;
}  // namespace tiff_tag

}  // namespace swardline
