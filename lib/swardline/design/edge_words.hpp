// Edges of a plot in words and tape distances. Private to this folder.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "swardline/design/plot_area.hpp"

namespace swardline::edge_words {

/// What words about an edge are made from. `near` is the survey area about the pin.
struct PlotAtEdge {
  const Geometry& near;
  UnitShape shape;
  std::array<double, 2> size_m;
  Point pin;
  double grid_bearing_deg;
  double convergence_deg;  ///< true bearing minus grid bearing
};

/// Where the ray from `pin` crosses the rings, in metres, rising; up to `length`.
[[nodiscard]] std::vector<double> crossings(const Rings& rings, Point pin, Point along, double length);

[[nodiscard]] std::string of_walk_through(const PlotAtEdge& plot, const PlotArea& area);
[[nodiscard]] std::string of_fold_back(const PlotAtEdge& plot, const PlotArea& area);
/// Of rules that count what is inside, once.
[[nodiscard]] std::string of_inside(const PlotAtEdge& plot, const PlotArea& area);
/// Of plots whose pin may stand outside.
[[nodiscard]] std::string of_grown_frame(const PlotAtEdge& plot, const PlotArea& area);

}  // namespace swardline::edge_words
