// Pictures that carry exact positions.
#include <gdal_priv.h>

#include <filesystem>
#include <fstream>
#include <iterator>

#include "made_returns.hpp"

namespace flags_photos_test {

using namespace swardline;
using namespace swardline::testing;

namespace {

const Day may_28 = day_of(2027, 5, 28);

std::string big_endian(unsigned value, int bytes) {
  std::string out;
  for (int i = bytes - 1; i >= 0; --i) out += char(value >> (8 * i) & 0xFFU);
  return out;
}

/// An EXIF block (TIFF 6.0 directories; Exif 2.3, section 4.6.6) with a latitude of 38 deg 0' 15".
std::string exif_with_latitude() {
  std::string tiff = "MM" + big_endian(42, 2) + big_endian(8, 4);
  tiff += big_endian(1, 2) + big_endian(0x8825, 2) + big_endian(4, 2) + big_endian(1, 4) + big_endian(26, 4) +
          big_endian(0, 4);
  tiff += big_endian(2, 2);
  tiff += big_endian(1, 2) + big_endian(2, 2) + big_endian(2, 4) + std::string("N\0\0\0", 4);
  tiff += big_endian(2, 2) + big_endian(5, 2) + big_endian(3, 4) + big_endian(56, 4) + big_endian(0, 4);
  for (const unsigned value : {38U, 0U, 15U}) tiff += big_endian(value, 4) + big_endian(1, 4);
  const std::string body = std::string("Exif\0\0", 6) + tiff;
  return "\xFF\xE1" + big_endian(unsigned(body.size()) + 2, 2) + body;
}

/// A picture of eight pixels; GDAL writes it, the block is put in behind its first two bytes.
void make_picture(const std::filesystem::path& file, bool position) {
  GDALAllRegister();
  GDALDriverManager* drivers = GetGDALDriverManager();
  GDALDataset* memory = drivers->GetDriverByName("MEM")->Create("", 8, 8, 1, GDT_Byte, nullptr);
  GDALClose(
      drivers->GetDriverByName("JPEG")->CreateCopy(file.c_str(), memory, FALSE, nullptr, nullptr, nullptr));
  GDALClose(memory);
  if (!position) return;
  std::ifstream in(file, std::ios::binary);
  std::string bytes((std::istreambuf_iterator<char>(in)), {});
  bytes.insert(2, exif_with_latitude());
  std::ofstream(file, std::ios::binary) << bytes;
}

}  // namespace

TEST_CASE("pictures with exact positions are counted, with the rows that name them") {
  const std::filesystem::path folder = std::filesystem::temp_directory_path() / "swardline_photos_test";
  std::filesystem::remove_all(folder);
  std::filesystem::create_directories(folder / "more");
  make_picture(folder / "a.jpg", true);
  make_picture(folder / "b.jpg", false);
  make_picture(folder / "more" / "c.JPG", true);
  std::ofstream(folder / "broken.jpg") << "no picture";
  std::ofstream(folder / "notes.txt") << "no picture";
  MadeReturns made;
  made.sound();
  made.season.plan.returns.photos = folder;
  for (const char* photo : {"b.jpg", "x.jpg; c.JPG"}) {
    ReturnRow& row = made.at(photo[0] == 'b' ? "QPR05Y" : "QPR07E", "PDIG");
    row.has_photo = true;
    made.write(row, ReturnColumn::photos, photo);
  }
  const ReturnFlag flag = only(made.flags(), 27);
  CHECK(flag.severity == Severity::note);
  CHECK(flag.reason == "2 photos carry exact positions in the picture's own data.");
  CHECK(flag.value == "a.jpg and c.JPG");
  CHECK(flag.rows == std::vector<RowAt>{made.at("QPR07E", "PDIG").at});
  std::filesystem::remove(folder / "a.jpg");
  std::filesystem::remove(folder / "more" / "c.JPG");
  none(made.flags());
  std::filesystem::remove_all(folder);
  none(made.flags());  // a folder that is not there
}

}  // namespace flags_photos_test
