// Ticks on a map's frame: kilometres and hundreds of metres of the national grid, or minutes.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "swardline/geo/grid_reference.hpp"
#include "swardline/report/sheet_map.hpp"

namespace swardline {
namespace {

constexpr double tick_apart_mm = 21;
constexpr int tick_samples = 48;

/// Where a quantity that runs one way passes whole multiples of `step` along an edge of the frame.
template <class Text>
std::vector<FrameTick> passes(double from_mm, double to_mm, double step,
                              const std::function<double(double)>& value, const Text& text) {
  std::vector<FrameTick> ticks;
  double before = value(from_mm);
  for (int i = 1; i <= tick_samples; ++i) {
    const double at = from_mm + (to_mm - from_mm) * i / tick_samples;
    const double now = value(at);
    const double low = std::min(before, now), high = std::max(before, now);
    for (double k = std::ceil(low / step); k * step < high; ++k) {
      const double share = (k * step - before) / (now - before);
      ticks.push_back({at - (to_mm - from_mm) / tick_samples * (1 - share), text(k)});
    }
    before = now;
  }
  return ticks;
}

/// The least of 1, 2, 5 × 10^k that is no less.
double round_up_step(double least) {
  const double power = std::pow(10, std::floor(std::log10(least)));
  for (const double step : {1.0, 2.0, 5.0})
    if (step * power >= least * (1 - 1e-9)) return step * power;
  return 10 * power;
}

/// How a notation is read at a place: east and north, and their words.
struct Notation {
  std::function<double(Point lon_lat)> east, north;
  std::function<std::string(double)> east_text, north_text;
  double east_step = 1, north_step = 1;
  std::string says;
};

std::string minutes_words(double minutes, int decimals) {
  const double whole = std::floor(std::abs(minutes) / 60 + 1e-9);
  return fmt::format("{:.0f} {:0{}.{}f}", whole, std::abs(minutes) - 60 * whole, decimals + 3, decimals);
}

Notation in_minutes(double mm_per_m, double lat) {
  constexpr double metres_a_minute = 1852;
  const double shrink = std::max(0.05, std::cos(lat * 3.14159265358979323846 / 180));
  Notation minutes;
  minutes.east = [](Point at) { return at.x * 60; };
  minutes.north = [](Point at) { return at.y * 60; };
  minutes.east_step = round_up_step(tick_apart_mm / mm_per_m / metres_a_minute / shrink);
  minutes.north_step = round_up_step(tick_apart_mm / mm_per_m / metres_a_minute);
  const auto words = [](double step) {
    const int decimals = std::clamp(int(std::ceil(-std::log10(step) - 1e-9)), 1, 4);
    return [step, decimals](double k) { return minutes_words(k * step, decimals); };
  };
  minutes.east_text = words(minutes.east_step);
  minutes.north_text = words(minutes.north_step);
  minutes.says = "Ticks: degrees and minutes";
  return minutes;
}

Notation in_metres(double mm_per_m, double lat, double lon, bool national) {
  const Utm here = utm(lat, lon);
  Notation grid;
  grid.east = [zone = here.zone](Point at) { return utm(at.y, at.x, zone).easting; };
  grid.north = [zone = here.zone](Point at) { return utm(at.y, at.x, zone).northing; };
  const double step = std::max(10.0, round_up_step(tick_apart_mm / mm_per_m));
  grid.east_step = grid.north_step = step;
  grid.east_text = grid.north_text = [step, national](double k) {
    const long long metres = std::llround(k * step);
    return national ? fmt::format("{:05}", metres % 100000) : fmt::format("{}", metres);
  };
  const std::string square = usng(lat, lon, 5, here.zone);
  grid.says = national ? fmt::format("Ticks: USNG {}, metres, {:g} m apart",
                                     square.substr(0, square.find(' ', 4)), step)
                       : fmt::format("Ticks: UTM zone {}{}, metres, {:g} m apart", here.zone,
                                     here.north ? "N" : "S", step);
  return grid;
}

}  // namespace

FrameTicks frame_ticks(const SheetView& view, const Route& to_wgs84, const std::string& grid) {
  const Point middle = to_wgs84.forward(view.ground.middle());
  const Notation notation = grid == "degrees" ? in_minutes(view.mm_per_m, middle.y)
                                              : in_metres(view.mm_per_m, middle.y, middle.x, grid == "usng");
  const auto at = [&](double x, double y) { return to_wgs84.forward(view.ground_at(x, y)); };
  const double left = view.left, right = view.left + view.width();
  const double top = view.top, bottom = view.top + view.height();
  FrameTicks ticks;
  ticks.says = notation.says;
  const auto across = [&](double y) {
    return passes(
        left, right, notation.east_step, [&](double x) { return notation.east(at(x, y)); },
        notation.east_text);
  };
  const auto along = [&](double x) {
    return passes(
        top, bottom, notation.north_step, [&](double y) { return notation.north(at(x, y)); },
        notation.north_text);
  };
  ticks.top = across(top);
  ticks.bottom = across(bottom);
  ticks.left = along(left);
  ticks.right = along(right);
  return ticks;
}

}  // namespace swardline
