// Published values of slope, aspect and heat load.
#include <doctest/doctest.h>

#include <cmath>

#include "swardline/grid/terrain.hpp"

namespace terrain_test {

using namespace swardline;

TEST_CASE("slope and aspect of two windows used in teaching") {
  // Horn 1981, Proc. IEEE 69:14-47. The windows are widely used in teaching (75.25762 and 92.64 degrees);
  // further figures recomputed from the formula. GDAL's gdaldem, in single precision, gives 75.25766,
  // 180.75385, 82.99088 and 92.64255.
  const double a[9] = {50, 45, 50, 30, 30, 30, 8, 10, 10};
  const SlopeAspect first = horn(a, 5, 5);
  CHECK(std::abs(first.slope_deg - 75.2576577) < 1e-5);
  CHECK(std::abs(first.aspect_deg - 180.7538483) < 1e-5);
  const double b[9] = {101, 92, 85, 101, 92, 85, 101, 91, 84};
  const SlopeAspect second = horn(b, 1, 1);
  CHECK(std::abs(second.slope_deg - 82.9908853) < 1e-5);
  CHECK(std::abs(second.aspect_deg - 92.6425453) < 1e-5);
}

TEST_CASE("the rise of the first window is as its source gives it") {
  // The same window: dz/dx 0.05, dz/dy southwards -3.8.
  const SlopeAspect ground = slope_of_rise(0.05, -3.8);
  CHECK(std::abs(ground.slope_deg - 75.2576577) < 1e-5);
  CHECK(std::abs(ground.aspect_deg - 180.7538483) < 1e-5);
}

TEST_CASE("heat load, aspect folded about south-west") {
  // McCune & Keon 2002, J. Vegetation Science 13:603-606, Table 2, equation 3; its coefficients agree in
  // several public transcriptions, values recomputed from them.
  CHECK(std::abs(heat_load(45, 0, -1) - 0.910342) < 1e-6);
  CHECK(std::abs(heat_load(45, 0, 120) - 0.910342) < 1e-6);  // flat: whatever aspect is given
  CHECK(std::abs(heat_load(40, 30, 180) - 0.982458) < 1e-6);
  CHECK(std::abs(heat_load(40, 30, 225) - 1.053045) < 1e-6);
  CHECK(std::abs(heat_load(40, 30, 45) - 0.571045) < 1e-6);
  CHECK(std::abs(heat_load(45, 20, 270) - 0.945054) < 1e-6);
}

TEST_CASE("equation 3 folded about south, which is the same an eighth of a turn earlier") {
  // The same table with the fold about 180: an aspect 45 degrees further west reads the same.
  CHECK(std::abs(heat_load(40, 30, 180 + 45) - 1.053045) < 1e-6);
  CHECK(std::abs(heat_load(40, 30, 225 + 45) - 0.982458) < 1e-6);
  CHECK(std::abs(heat_load(40, 30, 45 + 45) - 0.641633) < 1e-6);
  CHECK(std::abs(heat_load(45, 20, 270 + 45) - 0.828485) < 1e-6);
}

}  // namespace terrain_test
