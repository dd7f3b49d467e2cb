#include "noise.hpp"

#include <array>
#include <cmath>
#include <cstdint>

namespace swardline::landscape {
namespace {

double fade(double t) { return t * t * t * (t * (t * 6 - 15) + 10); }

double unit(std::uint64_t bits) { return static_cast<double>(bits >> 11) * 0x1p-53; }

// Sixteen directions, written out because sin and cos differ between machines.
constexpr double kC1 = 0.92387953251128674, kC2 = 0.70710678118654752, kC3 = 0.38268343236508977;
constexpr std::array<std::array<double, 2>, 16> kDirections = {{{1, 0},
                                                                {kC1, kC3},
                                                                {kC2, kC2},
                                                                {kC3, kC1},
                                                                {0, 1},
                                                                {-kC3, kC1},
                                                                {-kC2, kC2},
                                                                {-kC1, kC3},
                                                                {-1, 0},
                                                                {-kC1, -kC3},
                                                                {-kC2, -kC2},
                                                                {-kC3, -kC1},
                                                                {0, -1},
                                                                {kC3, -kC1},
                                                                {kC2, -kC2},
                                                                {kC1, -kC3}}};

// Where a run of cell centres falls between lattice lines.
struct Axis {
  std::int64_t first = 0;
  std::size_t lines = 0;
  std::vector<std::size_t> line;  // lattice line at or before the centre
  std::vector<double> offset;     // 0 to 1 from that line
  std::vector<double> blend;
};

template <typename Centre>
Axis make_axis(int count, double wavelength, Centre centre) {
  Axis axis;
  const double one = centre(0) / wavelength;
  const double other = centre(count - 1) / wavelength;
  axis.first = static_cast<std::int64_t>(std::floor(one < other ? one : other));
  axis.lines = static_cast<std::size_t>(static_cast<std::int64_t>(std::floor(one < other ? other : one)) -
                                        axis.first + 2);
  for (int i = 0; i < count; ++i) {
    const double u = centre(i) / wavelength;
    const double below = std::floor(u);
    axis.line.push_back(static_cast<std::size_t>(static_cast<std::int64_t>(below) - axis.first));
    axis.offset.push_back(u - below);
    axis.blend.push_back(fade(u - below));
  }
  return axis;
}

void add_octave(const RandomKey& key, double wavelength, double strength, const View& view,
                std::vector<double>& out) {
  const Axis across = make_axis(view.cols, wavelength, [&](int c) { return view.x(c); });
  const Axis down = make_axis(view.rows, wavelength, [&](int r) { return view.y(r); });
  std::vector<std::array<double, 2>> lattice(across.lines * down.lines);
  for (std::size_t j = 0; j < down.lines; ++j) {
    for (std::size_t i = 0; i < across.lines; ++i) {
      const auto ix = static_cast<std::uint32_t>(across.first + static_cast<std::int64_t>(i));
      const auto iy = static_cast<std::uint32_t>(down.first + static_cast<std::int64_t>(j));
      lattice[j * across.lines + i] = kDirections[key.at(ix, iy) >> 60];
    }
  }
  constexpr double kFull = 1.4142135623730951;  // brings the greatest value to 1
  std::size_t cell = 0;
  for (std::size_t r = 0; r < static_cast<std::size_t>(view.rows); ++r) {
    const auto* south = &lattice[down.line[r] * across.lines];
    const auto* north = south + across.lines;
    const double fy = down.offset[r];
    for (std::size_t c = 0; c < static_cast<std::size_t>(view.cols); ++c, ++cell) {
      const std::size_t i = across.line[c];
      const double fx = across.offset[c];
      const double sw = south[i][0] * fx + south[i][1] * fy;
      const double se = south[i + 1][0] * (fx - 1) + south[i + 1][1] * fy;
      const double nw = north[i][0] * fx + north[i][1] * (fy - 1);
      const double ne = north[i + 1][0] * (fx - 1) + north[i + 1][1] * (fy - 1);
      const double low = sw + across.blend[c] * (se - sw);
      const double high = nw + across.blend[c] * (ne - nw);
      out[cell] += strength * kFull * (low + down.blend[r] * (high - low));
    }
  }
}

}  // namespace

double wave(const RandomKey& key, double position, double wavelength) {
  const double u = position / wavelength;
  const double below = std::floor(u);
  const auto i = static_cast<std::int64_t>(below);
  const double one = 2 * unit(key.at(static_cast<std::uint32_t>(i))) - 1;
  const double two = 2 * unit(key.at(static_cast<std::uint32_t>(i + 1))) - 1;
  return one + fade(u - below) * (two - one);
}

double chance(const RandomKey& key, std::int64_t a, std::int64_t b, std::uint32_t which) {
  return unit(key.at(static_cast<std::uint32_t>(a), static_cast<std::uint32_t>(b), which));
}

std::vector<double> noise(const RandomKey& key, double wavelength, int octaves, const View& view) {
  std::vector<double> out(view.cells(), 0.0);
  double strength = 1;
  for (int octave = 0; octave < octaves; ++octave) {
    add_octave(key.under(static_cast<std::uint64_t>(octave)), wavelength, strength, view, out);
    wavelength /= 2;
    strength /= 2;
  }
  return out;
}

double rise(double value, double from, double to) {
  const double t = (value - from) / (to - from);
  return t <= 0 ? 0 : t >= 1 ? 1 : t * t * (3 - 2 * t);
}

double near(double distance, double reach) { return 1 - rise(distance, 0, reach); }

}  // namespace swardline::landscape
