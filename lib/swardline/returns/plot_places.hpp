// Where plots lie, and how far a fix is from them. Private to this folder.
#pragma once

#include <cmath>
#include <cstdint>
#include <string>
#include <vector>

#include "swardline/geo/point_tree.hpp"
#include "swardline/returns/expected.hpp"

namespace swardline {

/// Metres east and north from one place to another.
struct Offset {
  double east = 0, north = 0;
  [[nodiscard]] double metres() const { return std::sqrt(east * east + north * north); }
};

struct NearPlot {
  std::int32_t plot = -1;
  double metres = 0;
};

/// Plots in an index of places. Distances are on the WGS84 ellipsoid's own curvature at the middle latitude,
/// within 1e-5 of the geodesic up to 10 km (tests hold it against GeographicLib), which is all that a
/// fix near its plot needs; a hundred kilometres away they are good to a few per cent.
class PlotPlaces {
 public:
  explicit PlotPlaces(const std::vector<ExpectedPlot>& plots);
  [[nodiscard]] Offset from_plot(std::int32_t plot, double lat, double lon) const;
  /// The plot nearest to a place; -1 where there are no plots.
  [[nodiscard]] NearPlot nearest(double lat, double lon) const;

 private:
  [[nodiscard]] Point on_plane(double lat, double lon) const;
  const std::vector<ExpectedPlot>& plots_;
  double lat0_ = 0, lon0_ = 0, across_ = 1;
  PointTree tree_;
};

/// From one place to another, degrees.
[[nodiscard]] Offset offset_between(double from_lat, double from_lon, double to_lat, double to_lon);

/// "38 m", "1.2 km", "1,200 km"
[[nodiscard]] std::string metres_in_words(double metres);
/// "north", "south-west": one of eight.
[[nodiscard]] const char* towards(const Offset& offset);

}  // namespace swardline
