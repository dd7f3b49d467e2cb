// SVG pieces of a site's map. Private to this folder.
#pragma once

#include <string>
#include <vector>

#include "swardline/design/draw_season.hpp"
#include "swardline/geo/crs.hpp"
#include "swardline/habitat/band_colours.hpp"
#include "swardline/report/map_cells.hpp"

namespace swardline {

/// From plan coordinates to the picture, y downwards.
struct MapView {
  Box ground;
  Box core;  ///< of one part of several: its own ground, without what it shows of its neighbours
  double left = 24, top = 64;
  double pixels_per_m = 1;
  [[nodiscard]] double x(double east) const { return left + (east - ground.x0) * pixels_per_m; }
  [[nodiscard]] double y(double north) const { return top + (ground.y1 - north) * pixels_per_m; }
  [[nodiscard]] double width() const { return (ground.x1 - ground.x0) * pixels_per_m; }
  [[nodiscard]] double height() const { return (ground.y1 - ground.y0) * pixels_per_m; }
};

[[nodiscard]] std::string svg_path(const Geometry& polygons, const MapView& view);
[[nodiscard]] std::string svg_cells(const SiteCells& cells, const Grid& grid, const MapView& view,
                                    std::size_t bands);
/// Whose names a map shows, fewest first.
enum class NamesShown { none, planned, all };
/// Those of all plots, else of planned ones, where nine in ten keep off other names and marks and stay on the
/// sheet; a map black with names is no help.
[[nodiscard]] NamesShown readable_names(const std::vector<const Plot*>& plots, const MapView& view,
                                        const Geometry* clear = nullptr);
/// Marks, outlines where they are large enough to see, and names. Names keep off `clear` where they can (a
/// verge is no wider than its names are high). Marks and outlines are clipped to the clipping path `sheet`
/// where one is named: on a site no larger than a plot they would run over the legend.
[[nodiscard]] std::string svg_plots(const std::vector<const Plot*>& plots, const SampleSpec& sample,
                                    const MapView& view, const Geometry* clear = nullptr,
                                    NamesShown names = NamesShown::all, const std::string& sheet = {});
/// Names alone, beside marks that are drawn elsewhere.
[[nodiscard]] std::string svg_names(const std::vector<const Plot*>& plots, const MapView& view);
/// Transects as lines, each part for itself.
[[nodiscard]] std::string svg_transects(const std::vector<const Transect*>& transects, const MapView& view,
                                        const std::string& sheet);
/// What the fills and marks mean; `head` says whose score it is.
[[nodiscard]] std::string svg_legend(const std::vector<double>& bands, const std::string& head, double x,
                                     double y, const std::string& unit = "plot");
/// Meridian convergence as the sheet shows it: how far grid north lies clockwise of the meridian as drawn.
/// Where the projection is not conformal this is not the bearing of grid north on the ground.
[[nodiscard]] double drawn_convergence_deg(Point plane, const Route& to_wgs84);
/// Scale bar, and an arrow to true north with the angle from the grid's.
[[nodiscard]] std::string svg_scale_and_north(double pixels_per_m, double convergence_deg, double x,
                                              double y);
/// Patterns and styles every map shares.
[[nodiscard]] std::string svg_definitions();

}  // namespace swardline
