#include "plants.hpp"

#include <gdal_priv.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <memory>

#include "swardline/base/error.hpp"
#include "swardline/base/random.hpp"
#include "valley.hpp"

namespace swardline::landscape {
namespace {

const char* const cover_codes[] = {"",   "OW", "WW", "WM", "MP", "DP", "GL",
                                   "WD", "CF", "OF", "RD", "CR", "DV"};
const char* const bedrock_codes[] = {"", "DOL", "SST", "CHT", "SND", "ALL", "LOE"};

double rises_and_falls(const TrueHabitat& s, double x) {
  if (x <= s.a || x >= s.d) return 0;
  if (x < s.b) return (x - s.a) / (s.b - s.a);
  return x <= s.c ? 1 : (s.d - x) / (s.d - s.c);
}

double looked_up(const std::map<std::string, double>& table, const char* code) {
  const auto found = table.find(code);
  return found == table.end() ? 0 : found->second;
}

/// Normal in one direction: the sum of twelve uniform numbers less six, which needs no logarithm.
double normal(RandomStream& stream) {
  double sum = -6;
  for (int i = 0; i < 12; ++i) sum += stream.uniform();
  return sum;
}

/// A whole number of this mean: of many trials with a small chance each.
int about(RandomStream& stream, double mean) {
  constexpr int trials = 1024;
  int number = 0;
  for (int i = 0; i < trials; ++i) number += stream.uniform() < mean / trials ? 1 : 0;
  return number;
}

}  // namespace

const std::vector<TrueHabitat>& true_habitats() {
  // PTUB stands on wet glade edges where its sheet gives glades 0.3; PCAL in the closed woods of Dusk Hollow,
  // which its sheet scores low; PDIG stops at 40 % moisture, where its sheet lets it go on to 44.
  static const std::vector<TrueHabitat> all = {
      {"PALU",
       128,
       18,
       4,
       30,
       36,
       50,
       58,
       {{"WW", 1}, {"WM", 0.6}, {"CF", 0.3}},
       {{"ALL", 1}, {"LOE", 0.4}},
       85},
      {"PARK", 240, 16, 2, 5, 9, 18, 26, {{"GL", 1}, {"WD", 0.7}}, {{"SST", 1}, {"CHT", 0.6}}, 75},
      {"PCAL", 112, 12, 3, 18, 24, 36, 44, {{"WD", 1}, {"CF", 0.12}, {"WW", 0.4}}, {}},
      {"PCOB", 132, 16, 3, 4, 8, 16, 24, {{"GL", 1}, {"DP", 0.7}}, {{"DOL", 1}, {"LOE", 0.5}}, 60},
      {"PDIG",
       84,
       22,
       4,
       16,
       22,
       33,
       40,
       {{"MP", 1}, {"OF", 0.7}, {"RD", 0.9}, {"WD", 0.4}, {"WM", 0.4}},
       {},
       75},
      {"PGRA", 180, 12, 3, 4, 7, 14, 22, {{"DP", 1}, {"OF", 0.2}}, {{"SND", 1}, {"LOE", 0.9}}, 40},
      {"PHIR", 126, 14, 3, 8, 13, 24, 32, {{"GL", 1}, {"WD", 0.8}, {"DP", 0.4}}, {}, 85},
      {"PPAL", 96, 16, 3, 8, 12, 22, 30, {{"WD", 1}, {"GL", 0.8}, {"DP", 0.5}}, {}, 80},
      {"PTEN", 112, 14, 3, 28, 34, 48, 56, {{"WM", 1}, {"WW", 0.5}, {"RD", 0.5}, {"MP", 0.4}}, {}, 70},
      {"PTUB", 144, 18, 3, 18, 24, 40, 50, {{"WM", 1}, {"MP", 0.9}, {"GL", 0.8}, {"RD", 0.4}}, {}, 60},
  };
  return all;
}

TrueGround::TrueGround(const std::filesystem::path& layers) {
  const auto read = [&](const char* name, Band& band) {
    const std::filesystem::path file = layers / name;
    const std::unique_ptr<GDALDataset> set(
        GDALDataset::Open(file.c_str(), GDAL_OF_RASTER | GDAL_OF_READONLY));
    double to_map[6] = {};
    if (!set || set->GetGeoTransform(to_map) != CE_None)
      throw IoError(Place{file.string(), 0, {}}, "cannot be read.", "Make the valley's layers first.");
    band.cols = set->GetRasterXSize();
    band.rows = set->GetRasterYSize();
    band.west = to_map[0];
    band.north = to_map[3];
    band.cell_m = to_map[1];
    band.values.resize(std::size_t(band.cols) * std::size_t(band.rows));
    GDALRasterBand* source = set->GetRasterBand(1);
    if (source->RasterIO(GF_Read, 0, 0, band.cols, band.rows, band.values.data(), band.cols, band.rows,
                         GDT_Float32, 0, 0, nullptr) != CE_None)
      throw IoError(Place{file.string(), 0, {}}, "cannot be read.", "Make the valley's layers again.");
    int has = 0;
    const auto none = static_cast<float>(source->GetNoDataValue(&has));
    if (has != 0)
      std::replace(band.values.begin(), band.values.end(), none, std::numeric_limits<float>::quiet_NaN());
  };
  read("cover.tif", cover_);
  read("moisture.tif", moisture_);
  read("bedrock.tif", bedrock_);
  read("canopy.tif", canopy_);
}

std::optional<double> TrueGround::Band::at(Spot spot) const {
  const int col = static_cast<int>(std::floor((spot.x - west) / cell_m));
  const int row = static_cast<int>(std::floor((north - spot.y) / cell_m));
  if (col < 0 || row < 0 || col >= cols || row >= rows) return {};
  const float value = values[std::size_t(row) * std::size_t(cols) + std::size_t(col)];
  if (std::isnan(value)) return {};
  return value;
}

double TrueGround::fitness(const TrueHabitat& species, Spot at) const {
  const auto cover = cover_.at(at), moisture = moisture_.at(at), bedrock = bedrock_.at(at),
             canopy = canopy_.at(at);
  if (!cover || !moisture || *cover < 1 || *cover > 12 || (canopy && *canopy >= species.most_canopy))
    return 0;
  double fit = rises_and_falls(species, *moisture) * looked_up(species.cover, cover_codes[int(*cover)]);
  if (!species.bedrock.empty())
    fit *= bedrock && *bedrock >= 1 && *bedrock <= 6
               ? looked_up(species.bedrock, bedrock_codes[int(*bedrock)])
               : 0;
  return fit;
}

std::vector<Plant> plants_on(const TrueHabitat& species, const TrueGround& ground, const OGRGeometry& area) {
  OGREnvelope box;
  area.getEnvelope(&box);
  const std::unique_ptr<OGRPreparedGeometry, OGRPreparedGeometryUniquePtrDeleter> inside(
      OGRCreatePreparedGeometry(OGRGeometry::ToHandle(const_cast<OGRGeometry*>(&area))));
  // Squares of a hectare of the whole valley, so that a site redrawn keeps the plants it had.
  constexpr double side = 100;
  std::vector<Plant> plants;
  const RandomKey key = RandomKey(kValleySeed, "plants").under(species.code);
  const auto first = [&](double low) {
    return std::int64_t(std::floor((low - 4 * species.spread_m) / side));
  };
  for (std::int64_t ix = first(box.MinX); double(ix) * side < box.MaxX + 4 * species.spread_m; ++ix)
    for (std::int64_t iy = first(box.MinY); double(iy) * side < box.MaxY + 4 * species.spread_m; ++iy) {
      RandomStream clusters(key.under(std::uint64_t(ix)).under(std::uint64_t(iy)));
      const int number = about(clusters, species.clusters_per_ha);
      for (int c = 0; c < number; ++c) {
        const Spot middle{(double(ix) + clusters.uniform()) * side, (double(iy) + clusters.uniform()) * side};
        const bool grows = clusters.uniform() < ground.fitness(species, middle);
        const int many = about(clusters, species.plants);
        for (int p = 0; p < many; ++p) {
          const Spot at{middle.x + species.spread_m * normal(clusters),
                        middle.y + species.spread_m * normal(clusters)};
          const std::uint64_t own = clusters();
          OGRPoint point(at.x, at.y);
          if (grows && ground.fitness(species, at) > 0 &&
              OGRPreparedGeometryContains(inside.get(), OGRGeometry::ToHandle(&point)) != FALSE)
            plants.push_back({at, own});
        }
      }
    }
  return plants;
}

double vigour(const std::string& species, int year) {
  const std::uint64_t lot = RandomKey(kValleySeed, "vigour").under(species).under(std::uint64_t(year)).at(0);
  return 0.75 + 0.5 * double(lot >> 11) * 0x1.0p-53;
}

int stems_of(const Plant& plant, const std::string& species, int year, double vigour) {
  const RandomKey key = RandomKey(kValleySeed, "stems").under(species).under(plant.number);
  RandomStream lasting(key), passing(key.under(std::uint64_t(year)));
  const double share = 0.5 + 0.4 * lasting.uniform();  // of seasons in which it flowers
  if (passing.uniform() >= share * vigour) return 0;
  return 1 + int(passing.below(3));
}

}  // namespace swardline::landscape
