// Small seasons for the habitat tests: sheets, and rasters in a temporary folder.
#pragma once

#include <unistd.h>

#include <cstdint>
#include <filesystem>
#include <limits>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "swardline/habitat/model.hpp"
#include "swardline/season/season.hpp"

namespace habitat_test {

/// Removed with all it holds.
class Folder {
 public:
  Folder();
  ~Folder();
  Folder(const Folder&) = delete;
  [[nodiscard]] std::filesystem::path operator/(const std::string& name) const { return path_ / name; }
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

/// Cells in the north-west corner's order; x0 and y1 are the north-west corner.
struct Raster {
  int cols = 0, rows = 0;
  double x0 = 600000, y1 = 4200000, cell = 10;
  std::vector<double> values;
  double none = 255;
  enum class Type { byte, whole, real } type = Type::byte;
};
/// A GeoTIFF in EPSG:26914.
void write_raster(const std::filesystem::path& path, const Raster& raster);

/// Band 1 of a raster, whole.
[[nodiscard]] std::vector<double> read_raster(const std::filesystem::path& path);

inline constexpr double inf = std::numeric_limits<double>::infinity();

swardline::Factor limiting(const std::string& layer, swardline::Response response);
swardline::Factor modifying(const std::string& layer, swardline::Response response, double weight = 1);

/// The illustrative rule of Penstemon cobaea: moisture, cover and bedrock limit; canopy and heat modify.
swardline::Sheet pcob();
/// White wand beardtongue's: moisture, cover; canopy and heat; only below 260 m.
swardline::Sheet ptub();

/// Cover classes of the invented valley, by raster value.
const std::map<long long, std::string>& cover_classes();
const std::map<long long, std::string>& bedrock_classes();

/// A plan in EPSG:26914 over rasters "<layer>.tif" of the folder.
swardline::Season season_in(const Folder& folder, std::vector<swardline::Sheet> sheets,
                            const std::vector<std::string>& layers);

/// A sound season's layers, opened, and its rules compiled against them.
struct Compiled {
  explicit Compiled(const swardline::Season& season)
      : opened(swardline::Layers::open(season.plan, swardline::Crs::from_text(season.plan.crs),
                                       swardline::layers_needed(season), flags)),
        model(swardline::Model::compile(season, opened, flags)) {
    flags.throw_if_stopped();
  }
  swardline::Flags flags;
  swardline::Layers opened;
  swardline::Model model;
};

/// A few whole numbers that look random and are the same everywhere.
class Numbers {
 public:
  explicit Numbers(std::uint64_t seed) : state_(seed) {}
  std::uint64_t next() {
    state_ = state_ * 6364136223846793005U + 1442695040888963407U;
    return state_ >> 33;
  }
  int below(int n) { return int(next() % std::uint64_t(n)); }
  double share() { return double(next() % 1000001) / 1000000.0; }

 private:
  std::uint64_t state_;
};

}  // namespace habitat_test
