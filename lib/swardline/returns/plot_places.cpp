#include "swardline/returns/plot_places.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <numbers>

#include "swardline/base/text.hpp"

namespace swardline {
namespace {

constexpr double radians = std::numbers::pi / 180;
constexpr double equator_m = 6378137;              // WGS84
constexpr double eccentricity = 0.00669437999014;  // squared

/// What was typed may be any number, however large.
double round_the_globe(double degrees) { return std::remainder(degrees, 360); }

std::vector<Point> all_of(const std::vector<ExpectedPlot>& plots, double lon0, double across) {
  std::vector<Point> points;
  points.reserve(plots.size());
  for (const ExpectedPlot& plot : plots)
    points.push_back({round_the_globe(plot.lon - lon0) * across, plot.lat});
  return points;
}

}  // namespace

Offset offset_between(double from_lat, double from_lon, double to_lat, double to_lon) {
  const double middle = (from_lat + to_lat) / 2 * radians;
  const double sine = std::sin(middle);
  const double bend = 1 - eccentricity * sine * sine;
  const double north_radius = equator_m * (1 - eccentricity) / (bend * std::sqrt(bend));
  const double east_radius = equator_m / std::sqrt(bend);
  return {round_the_globe(to_lon - from_lon) * radians * east_radius * std::cos(middle),
          (to_lat - from_lat) * radians * north_radius};
}

// The tree compares distances among near plots only, so one scale for all of a survey will do.
PlotPlaces::PlotPlaces(const std::vector<ExpectedPlot>& plots)
    : plots_(plots),
      lat0_(plots.empty() ? 0 : plots.front().lat),
      lon0_(plots.empty() ? 0 : plots.front().lon),
      across_(std::cos(lat0_ * radians)),
      tree_(all_of(plots, lon0_, across_)) {}

Point PlotPlaces::on_plane(double lat, double lon) const {
  return {round_the_globe(lon - lon0_) * across_, lat};
}

Offset PlotPlaces::from_plot(std::int32_t plot, double lat, double lon) const {
  const ExpectedPlot& at = plots_[std::size_t(plot)];
  return offset_between(at.lat, at.lon, lat, lon);
}

NearPlot PlotPlaces::nearest(double lat, double lon) const {
  std::vector<std::uint32_t> found;
  tree_.all_nearest(on_plane(lat, lon), found);
  if (found.empty()) return {};
  const auto plot = std::int32_t(found.front());
  return {plot, from_plot(plot, lat, lon).metres()};
}

std::string metres_in_words(double metres) {
  if (metres < 1000) return fmt::format("{:.0f} m", metres);
  if (metres < 10000) return fmt::format("{:.1f} km", metres / 1000);
  return fmt::format("{} km", grouped(std::llround(metres / 1000)));
}

const char* towards(const Offset& offset) {
  constexpr std::array winds = {"north", "north-east", "east", "south-east",
                                "south", "south-west", "west", "north-west"};
  const double turn = std::atan2(offset.east, offset.north) / std::numbers::pi * 4;
  return winds.at(std::size_t(std::llround(turn + 8) % 8));
}

}  // namespace swardline
