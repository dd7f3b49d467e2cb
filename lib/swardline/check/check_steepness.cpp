#include <fmt/format.h>

#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/check/check_parts.hpp"
#include "swardline/grid/terrain.hpp"

namespace swardline::check_parts {
namespace {

constexpr double feet_in_a_metre = 1 / 0.3048;
constexpr double degrees_in_radian = 180 / 3.14159265358979323846;
// Gentle ground tells units apart badly: 3 % is 1.7 degrees, within what smoothing does.
constexpr double steep_enough_deg = 4;
constexpr std::int64_t enough_cells = 500;

double value_at(const LayerInfo& info, const LayerTile& tile, std::size_t cell) {
  if (!info.bytes) return info.value(double(tile.values[cell]));
  const std::uint8_t raw = tile.bytes[cell];
  return info.byte_none[raw] ? std::nan("") : info.value(double(raw));
}

// Sums of differences in degrees from the slope that elevation makes, by how the two layers are read.
struct Comparison {
  double as_declared = 0;
  double in_other_unit = 0;
  double elevation_in_feet = 0;
  std::int64_t cells = 0;

  void add(double declared_deg, double other_deg, double from_elevation_deg) {
    const double tangent = std::tan(from_elevation_deg / degrees_in_radian);
    const double from_feet = std::atan(tangent / feet_in_a_metre) * degrees_in_radian;
    as_declared += std::abs(declared_deg - from_elevation_deg);
    in_other_unit += std::abs(other_deg - from_elevation_deg);
    elevation_in_feet += std::abs(declared_deg - from_feet);
    ++cells;
  }
};

void compare_tile(const LayerInfo& slope, const LayerInfo& elevation, const Tile& tile, double cell_m,
                  Comparison& comparison) {
  const bool in_percent = slope.unit == "percent";
  const auto degrees_of_percent = [](double p) { return std::atan(p / 100) * degrees_in_radian; };
  const int cols = tile.window.cols;
  double z[9];
  for (int r = 1; r + 1 < tile.window.rows; ++r)
    for (int c = 1; c + 1 < cols; ++c) {
      const auto at = [&](int dr, int dc) {
        return std::size_t(r + dr) * std::size_t(cols) + std::size_t(c + dc);
      };
      const double value = value_at(slope, tile.layers[0], at(0, 0));
      if (std::isnan(value) || value < 0) continue;
      bool whole = true;
      for (int i = 0; i < 9; ++i) {
        z[i] = value_at(elevation, tile.layers[1], at(i / 3 - 1, i % 3 - 1));
        whole = whole && !std::isnan(z[i]);
      }
      if (!whole) continue;
      const double made = horn(z, cell_m, cell_m).slope_deg;
      if (made < steep_enough_deg) continue;
      if (in_percent)
        comparison.add(degrees_of_percent(value), value < 90 ? value : 90, made);
      else
        comparison.add(value, degrees_of_percent(value), made);
    }
}

}  // namespace

void check_steepness(const Plan& plan, const Layers& layers, const std::vector<LayerFacts>& facts,
                     const SiteGround& ground, Flags& flags) {
  const std::optional<std::size_t> elevation = layers.index("elevation");
  if (!elevation || plan.layer("elevation") == nullptr || !facts[*elevation].readable) return;
  for (std::size_t i = 0; i < facts.size(); ++i) {
    const LayerInfo& slope = layers.infos()[i];
    const bool is_slope = !slope.derived && slope.kind == LayerKind::measure &&
                          lower_ascii(slope.name).find("slope") != std::string::npos &&
                          (slope.unit == "degrees" || slope.unit == "percent");
    if (!is_slope || !facts[i].readable || facts[i].values == 0) continue;
    LayerReader reader(layers, {i, *elevation});
    Comparison comparison;
    Tile tile;
    const Window both =
        intersect(layers.extent(), intersect(slope.extent, layers.infos()[*elevation].extent));
    std::vector<Window> windows;
    if (ground.whole_layers())
      windows = layers.reading_windows(both);
    else
      for (const SiteGround::Looked& looked : ground.blocks())
        windows.push_back(intersect(both, looked.block.window()));
    for (const Window& window : windows) {
      if (window.empty()) continue;
      reader.read(window, tile);
      compare_tile(slope, layers.infos()[*elevation], tile, layers.grid().cell_m, comparison);
      if (comparison.cells > 200 * enough_cells) break;  // the mean will not change
    }
    if (comparison.cells < enough_cells) continue;
    const bool unit = comparison.in_other_unit < comparison.elevation_in_feet;
    const double best = unit ? comparison.in_other_unit : comparison.elevation_in_feet;
    if (best * 2 > comparison.as_declared) continue;
    const std::string words =
        unit ? fmt::format("it is in {}", slope.unit == "percent" ? "degrees" : "percent")
             : "elevation is in feet";
    flags.add(Severity::ask, "slope against elevation", slope.place,
              fmt::format("{} differs by {:.1f} degrees from the slope elevation makes, and by {:.1f} if {}.",
                          slope.name, comparison.as_declared / double(comparison.cells),
                          best / double(comparison.cells), words),
              "Settle the unit of both with who made them: 45 % is 24 degrees.");
  }
}

}  // namespace swardline::check_parts
