#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/habitat/band_colours.hpp"
#include "swardline/habitat/score_season.hpp"

namespace swardline {
namespace {

/// Lower edge of band `index` in whole percent; one past the last band it is 100.
int edge(const std::vector<double>& bands, std::size_t index) {
  if (index == 0) return 0;
  return index > bands.size() ? 100 : int(std::lround(100.0 * bands[index - 1]));
}

}  // namespace

std::string band_text(const std::vector<double>& bands, std::size_t index) {
  return fmt::format("{:.2f}–{:.2f}", edge(bands, index) / 100.0, edge(bands, index + 1) / 100.0);
}

std::string band_id(const std::vector<double>& bands, std::size_t index) {
  return fmt::format("{}-{}", edge(bands, index), edge(bands, index + 1));
}

std::size_t band_of(const std::vector<double>& bands, int percent) {
  std::size_t band = 0;
  while (band < bands.size() && percent >= edge(bands, band + 1)) ++band;
  return band;
}

std::string band_fill(std::size_t band, std::size_t bands) {
  const double share = bands > 1 ? double(band) / double(bands - 1) : 1;
  const auto mix = [&](double light, double dark) { return int(light + (dark - light) * share + 0.5); };
  return fmt::format("#{:02x}{:02x}{:02x}", mix(240, 56), mix(246, 112), mix(251, 162));
}

}  // namespace swardline
