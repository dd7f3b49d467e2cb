// Smooth noise that is a pure function of a key and a position. Only + - * / and floor, so that a
// landscape is the same bits on every machine.
//
// Gradient noise: Perlin 1985, An image synthesizer, SIGGRAPH; the fade curve is Perlin 2002,
// Improving noise.
#pragma once

#include <cmath>
#include <cstdint>
#include <vector>

#include "swardline/base/random.hpp"
#include "view.hpp"

namespace swardline::landscape {

/// The largest whole number that is not above `value`.
[[nodiscard]] inline std::int64_t floor_of(double value) {
  return static_cast<std::int64_t>(std::floor(value));
}

/// A smooth function of one coordinate, from -1 to 1, with bends about `wavelength` metres long.
[[nodiscard]] double wave(const RandomKey& key, double position, double wavelength);

/// Uniform in [0, 1), from the key and two whole numbers.
[[nodiscard]] double chance(const RandomKey& key, std::int64_t a, std::int64_t b, std::uint32_t which = 0);

/// Noise over a view: `octaves` layers, each half as long and half as strong as the one before.
/// Values lie mostly within ±1; the standard deviation is about 0.4.
[[nodiscard]] std::vector<double> noise(const RandomKey& key, double wavelength, int octaves,
                                        const View& view);

/// 0 at and below `from`, 1 at and above `to`, smooth between.
[[nodiscard]] double rise(double value, double from, double to);

/// 1 at distance 0, 0 at and beyond `reach`, smooth between.
[[nodiscard]] double near(double distance, double reach);

}  // namespace swardline::landscape
