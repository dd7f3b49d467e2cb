// A season of a few made files that `check` finds nothing wrong with, to be spoilt one way at a time.
#pragma once

#include <doctest/doctest.h>

#include <filesystem>
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "swardline/check/check_season.hpp"
#include "swardline/geo/geometry.hpp"

namespace check_test {

/// A raster of float, byte or 16-bit cells; `value(col, row)`, row 0 in the north.
struct MadeRaster {
  std::function<double(int, int)> value;
  std::string kind = "Byte";  ///< GDAL's name of the cell type
  std::string crs = "EPSG:26914";
  double west = 0, north = 0;  ///< filled with the season's own where 0
  double cell = 10;
  int cols = 160, rows = 160;
  bool has_nodata = true;
  double nodata = 255;
  std::string unit;  ///< written in the file
};

struct MadeFeature {
  std::string wkt;
  std::map<std::string, std::string> fields;
};

struct MadeVectors {
  std::vector<MadeFeature> features;
  std::string crs = "EPSG:26914";  ///< empty: none
};

/// Layers over 760,000–761,600 E, 4,209,400–4,211,000 N (zone 14, NAD83); sites QPR and SKP well inside, each
/// with a parking place 10 m west of it. Moisture 10–57 percent, cover meadow (MP) with a pond (OW) at
/// 760,600–760,700 E, 4,210,200–4,210,400 N, elevation a plane that rises 15 m per 100 m eastwards from 250
/// m.
class MadeSeason {
 public:
  static constexpr double west = 760000, north = 4211000;

  MadeSeason();
  ~MadeSeason();
  MadeSeason(const MadeSeason&) = delete;
  MadeSeason& operator=(const MadeSeason&) = delete;

  std::map<std::string, MadeRaster> rasters;   ///< by file name
  std::map<std::string, MadeVectors> vectors;  ///< by file name
  std::string plan;
  std::map<std::string, std::string> sheets;  ///< by file name

  /// The text with `from` replaced once; the test fails where it is not there.
  void change_plan(const std::string& from, const std::string& to);
  void add_to_plan(const std::string& text) { plan += text; }
  [[nodiscard]] std::filesystem::path operator/(const std::string& name) const { return folder_ / name; }
  void write() const;
  /// Writes everything and checks it.
  [[nodiscard]] swardline::CheckResult check(int threads = 1) const;

 private:
  std::filesystem::path folder_;
};

/// "POLYGON((…))" of a square by its south-west corner.
std::string square(double x, double y, double side);
std::string point(double x, double y);
void write_raster(const std::filesystem::path& file, const MadeRaster& raster);
void write_vectors(const std::filesystem::path& file, const MadeVectors& vectors);

/// Every finding as "SEVERITY place: meaning remedy", one a line.
std::string all(const swardline::CheckResult& result);
/// The findings of this check.
std::vector<swardline::Flag> of(const swardline::CheckResult& result, const std::string& check);
bool has(const std::string& text, const std::string& piece);

}  // namespace check_test

/// One finding of this check and severity, and it holds the piece.
#define CHECK_FOUND(result, level, check_name, piece)                              \
  do {                                                                             \
    const auto checked = (result);                                                 \
    const auto found_flags = check_test::of(checked, check_name);                  \
    REQUIRE_MESSAGE(found_flags.size() == 1, check_test::all(checked));            \
    CHECK(found_flags[0].severity == swardline::Severity::level);                  \
    const std::string said = found_flags[0].meaning + " " + found_flags[0].remedy; \
    CHECK_MESSAGE(check_test::has(said, piece), said);                             \
  } while (false)
