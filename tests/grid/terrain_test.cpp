#include "swardline/grid/terrain.hpp"

#include <doctest/doctest.h>
#include <gdal_priv.h>
#include <gdal_utils.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <string>
#include <vector>

#include "swardline/base/random.hpp"
#include "swardline/grid/layers.hpp"

namespace terrain_test {

using namespace swardline;

namespace {

constexpr int side = 60;
constexpr double cell = 7.5;

std::vector<float> rough_ground(std::uint64_t seed) {
  RandomStream random(RandomKey(seed, "rough ground"));
  std::vector<float> z(side * side);
  for (float& height : z) height = float(std::floor(random.uniform() * 80) / 4);
  // A level part, so that flat ground is met.
  for (int r = 5; r < 15; ++r)
    for (int c = 20; c < 30; ++c) z[std::size_t(r * side + c)] = 12;
  return z;
}

std::vector<float> gdals(const std::vector<float>& z, const char* what) {
  set_up_gdal();
  const std::unique_ptr<GDALDataset> source(
      GetGDALDriverManager()->GetDriverByName("MEM")->Create("", side, side, 1, GDT_Float32, nullptr));
  double gt[6] = {600000, cell, 0, 4200000, 0, -cell};
  source->SetGeoTransform(gt);
  std::vector<float> copy = z;
  REQUIRE(source->GetRasterBand(1)->RasterIO(GF_Write, 0, 0, side, side, copy.data(), side, side, GDT_Float32,
                                             0, 0, nullptr) == CE_None);
  char of[] = "-of", mem[] = "MEM";
  char* arguments[] = {of, mem, nullptr};
  GDALDEMProcessingOptions* options = GDALDEMProcessingOptionsNew(arguments, nullptr);
  const std::unique_ptr<GDALDataset> made(
      static_cast<GDALDataset*>(GDALDEMProcessing("", source.get(), what, nullptr, options, nullptr)));
  GDALDEMProcessingOptionsFree(options);
  REQUIRE(made != nullptr);
  std::vector<float> out(z.size());
  REQUIRE(made->GetRasterBand(1)->RasterIO(GF_Read, 0, 0, side, side, out.data(), side, side, GDT_Float32, 0,
                                           0, nullptr) == CE_None);
  return out;
}

}  // namespace

TEST_CASE("slope and aspect are gdaldem's on a random raster") {
  const std::vector<float> z = rough_ground(11);
  const std::vector<float> slope = gdals(z, "slope");
  const std::vector<float> aspect = gdals(z, "aspect");
  int flat = 0;
  double worst_slope = 0, worst_aspect = 0;
  for (int r = 1; r < side - 1; ++r)
    for (int c = 1; c < side - 1; ++c) {
      double window[9];
      for (int i = 0; i < 9; ++i) window[i] = double(z[std::size_t((r + i / 3 - 1) * side + c + i % 3 - 1)]);
      const SlopeAspect ground = horn(window, cell, cell);
      const auto at = std::size_t(r * side + c);
      worst_slope = std::max(worst_slope, std::abs(ground.slope_deg - double(slope[at])));
      if (ground.aspect_deg < 0) {
        ++flat;
        CHECK(slope[at] == 0);
        CHECK(aspect[at] == -9999);  // gdaldem's mark for flat ground
      } else {
        CHECK(ground.aspect_deg < 360);
        const double off = std::abs(ground.aspect_deg - double(aspect[at]));
        worst_aspect = std::max(worst_aspect, std::min(off, 360 - off));
      }
    }
  CHECK(flat >= 8 * 8);
  CHECK(worst_slope < 1e-4);   // gdaldem counts in single precision
  CHECK(worst_aspect < 1e-3);  // and so does its arctangent
}

TEST_CASE("ground that falls to one side faces that side") {
  struct Fall {
    double east, south, aspect;
  };
  for (const Fall& fall :
       {Fall{0, 1, 0}, Fall{-1, 0, 90}, Fall{0, -1, 180}, Fall{1, 0, 270}, Fall{1, -1, 225}}) {
    const SlopeAspect ground = slope_of_rise(fall.east, fall.south);
    CHECK(ground.aspect_deg == doctest::Approx(fall.aspect));
    CHECK(ground.slope_deg == doctest::Approx(fall.aspect == 225 ? 54.7356103 : 45));
  }
}

TEST_CASE("cells longer one way than the other count each rise over its own length") {
  const double window[9] = {0, 10, 20, 0, 10, 20, 0, 10, 20};
  CHECK(horn(window, 10, 500).slope_deg == doctest::Approx(45));
  CHECK(horn(window, 20, 500).slope_deg == doctest::Approx(26.5650512));
}

TEST_CASE("heat load from the rise is heat load from slope and aspect") {
  RandomStream random(RandomKey(3, "rises"));
  for (int i = 0; i < 2000; ++i) {
    const double east = i % 7 == 0 ? 0 : random.uniform() * 4 - 2;
    const double south = i % 5 == 0 ? 0 : random.uniform() * 4 - 2;
    const double latitude = random.uniform() * 60;
    const double radians = latitude * 3.14159265358979323846 / 180;
    const SlopeAspect ground = slope_of_rise(east, south);
    CHECK(std::abs(heat_load_of_rise(std::cos(radians), std::sin(radians), east, south) -
                   heat_load(latitude, ground.slope_deg, ground.aspect_deg)) < 1e-12);
  }
}

TEST_CASE("slopes and aspects of many cells are those of the C library's arctangent, one by one") {
  RandomStream random(RandomKey(9, "rises"));
  std::vector<double> east, south;
  const auto add = [&](double e, double s) {
    east.push_back(e);
    south.push_back(s);
  };
  for (int i = 0; i < 100'000; ++i) {
    // From 10^-6, which nobody sees, to 10^4, which is a wall.
    const double steep = std::pow(10, 10 * random.uniform() - 6);
    const double turn = 2 * 3.14159265358979323846 * random.uniform();
    add(steep * std::cos(turn), steep * std::sin(turn));
  }
  for (const double rise : {1e-9, 0.4142135, 1.0, 2.4142136, 1e6}) {
    for (const int e : {-1, 0, 1})
      for (const int s : {-1, 0, 1}) add(e * rise, s * rise);
  }
  std::vector<float> slopes(east.size(), -9), aspects(east.size(), -9);
  slopes_of_rises(east.data(), south.data(), east.size(), slopes.data());
  aspects_of_rises(east.data(), south.data(), east.size(), aspects.data());
  double furthest_slope = 0, furthest_aspect = 0;
  for (std::size_t i = 0; i < east.size(); ++i) {
    const SlopeAspect plain = slope_of_rise(east[i], south[i]);
    furthest_slope =
        std::max(furthest_slope, std::abs(double(slopes[i]) - plain.slope_deg) / plain.slope_deg);
    if (plain.aspect_deg < 0) {
      CHECK(aspects[i] == -9);
      continue;
    }
    const double apart = std::abs(double(aspects[i]) - plain.aspect_deg);
    furthest_aspect = std::max(furthest_aspect, std::min(apart, 360 - apart));
  }
  // Half a step of a float: 6e-8 of a slope, 1.5e-5 degrees of an aspect.
  CHECK(furthest_slope < 6.1e-8);
  CHECK(furthest_aspect < 1.54e-5);

  const double none = std::nan("");
  float kept = 7, slope = 7;
  aspects_of_rises(&none, &none, 1, &kept);
  slopes_of_rises(&none, &none, 1, &slope);
  CHECK(kept == 7);
  CHECK(std::isnan(slope));
}

}  // namespace terrain_test
