#include <fmt/format.h>

#include <algorithm>
#include <cmath>

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

}  // namespace swardline
